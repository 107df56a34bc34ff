"""What holds for every figure of every study, whatever its names and numbers."""

import re
from dataclasses import replace
from functools import cache
from pathlib import Path

import made_up
import made_up_studies
import pytest
from matplotlib.text import Text
from study_cases import CASES, ONLY, at_once
from study_pictures import cut_off, laid_out, texts

from bankSim.scenario.read import parse_scenario
from bankSim.show.study_figures import study_figures
from bankSim.show.sweep_maps import BESIDE
from bankSim.study.answers import BANK
from bankSim.study.blocks import threads
from bankSim.study.matters import study_matters
from bankSim.study.plan import make_plan
from bankSim.study.spread import study_spread
from bankSim.study.sums import study_sums
from bankSim.study.sweep import study_sweep
from bankSim.study.swept_keys import read_swept
from bankSim.study.traced import Fan, Traced
from bankSim.study.versus import study_versus


@cache
def figures_of(case):
    """The figures of a case, laid out; tests only look at them."""
    result = CASES[case]()
    if case in ONLY:
        figures = {name: draw(result) for name, draw in ONLY[case]}
    else:
        figures = study_figures(result)
    return {name: laid_out(figure) for name, figure in figures.items()}


@pytest.fixture(scope="module", params=CASES)
def drawn(request):
    return figures_of(request.param)


def test_nothing_is_cut_off_at_the_edge(drawn):
    for figure in drawn.values():
        assert max(cut_off(figure)) <= 1e-6


def test_panels_keep_room(drawn):
    for figure in drawn.values():
        for axes in figure.axes:
            place = axes.get_position()
            assert place.width > (0.01 if axes.get_label() == BESIDE else 0.3)
            assert place.height > 0.04


def test_no_text_is_read_as_a_formula(drawn):
    for figure in drawn.values():
        for text in figure.findobj(Text):
            shown = text.get_visible() and "$" in text.get_text()
            assert not (shown and text.get_parse_math())


def test_every_figure_tells_its_draws_and_seed(drawn):
    for figure in drawn.values():
        told = figure._supxlabel.get_text()
        assert "draw" in told
        assert ", seed " in told


def is_number(text):
    return re.fullmatch(r"[-\N{MINUS SIGN}]?[\d.,]+", text) is not None


def test_every_number_along_an_axis_has_a_unit(drawn):
    both = [(axes, axis) for figure in drawn.values() for axes in figure.axes
            for axis in (axes.xaxis, axes.yaxis) if axes.get_label() != BESIDE]  # fmt: skip
    for axes, axis in both:
        told = [text.get_text() for text in axis.get_ticklabels() if text.get_visible()]
        if any(is_number(text) for text in told):
            assert axis.label.get_visible(), axes.get_title(loc="left")
            label = axis.label.get_text()
            assert "[" in label or label in ("cell", "number of draws"), axes.get_title(loc="left")


def test_figures_of_each_kind_have_their_names():
    assert list(figures_of("plain")) == ["fan", "chances", "shares"]
    assert list(figures_of("sweep")) == ["sweep"]
    assert list(figures_of("versus")) == ["versus"]
    assert list(figures_of("sums")) == ["sums"]
    assert list(figures_of("matters")) == ["tornado"]


def test_what_is_no_study_is_refused():
    with pytest.raises(TypeError, match="Result; expected the result of a study"):
        study_figures(made_up.pair())


def test_hostile_names_stand_as_written():
    cases = ("hostile", "versus, hostile", "sweep, hostile")
    figures = [figure for case in cases for figure in figures_of(case).values()]
    assert len(figures) == 5
    for figure in figures:
        told = " | ".join(texts(figure))
        assert "$\\frac{1}{0$ _x_ <b>&" in told
        assert "_hidden" in told
        assert "a?b?[1mw" in told


def test_draws_that_end_at_once_have_no_lines():
    result = made_up_studies.spread(traced=Traced(at_once(), ()))
    assert list(study_figures(result)) == ["chances", "shares"]


def test_seed_and_draws_are_those_of_the_result():
    told = [figure._supxlabel.get_text() for figure in figures_of("plain").values()]
    assert told[0] == "the first 100 of 400 draws, seed 7"
    assert told[1].endswith("; 400 draws, seed 7")
    assert told[2] == "400 draws, seed 7"
    assert figures_of("sweep")["sweep"]._supxlabel.get_text() == "50 draws at every value, seed 3"
    assert figures_of("matters")["tornado"]._supxlabel.get_text().endswith("4,096 draws, seed 11")
    single = figures_of("one draw")["shares"]
    assert single._supxlabel.get_text() == "1 draw, seed 7"


TEXT = """
title = "Two on one bus"
[simulation]
duration_h = 12.0
[[battery]]
name = "$x_1$"
chemistry = "LFP"
cells_in_series = 4
rated_capacity_Ah = 20.0
lead_mohm = 2.0
[[battery]]
name = "b"
chemistry = "LFP"
cells_in_series = 4
rated_capacity_Ah = 30.0
lead_mohm = 2.0
[[load]]
name = "lamp"
power_W = 200.0
"""


def test_results_of_real_studies_are_drawn():
    scenario = parse_scenario(TEXT, Path())
    other = parse_scenario(TEXT.replace("lead_mohm = 2.0", "lead_mohm = 9.0", 1), Path())
    keys = read_swept(["battery[b].lead_mohm=1:9:3"], scenario)
    with threads(2) as workers:
        plan = make_plan(scenario)
        results = (
            study_spread(replace(plan, block=20), workers, most=20, traced=4),
            study_sweep(scenario, keys, workers, draws=8, in_full=2),
            study_versus(scenario, other, workers, most=6),
            study_sums(plan, workers, draws=4),
            study_matters(plan, workers, BANK, base=8, trajectories=2),
        )
    names = [name for result in results for name in study_figures(result)]
    assert names == ["fan", "chances", "shares", "sweep", "versus", "sums", "tornado"]
    assert isinstance(results[0].traced.fan, Fan)

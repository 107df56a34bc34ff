"""The ranked chart of what matters."""

from dataclasses import replace

import made_up_studies as studies
import numpy as np
import pytest
from study_pictures import bars, one, whole

from bankSim.show.study_figures import study_figures
from bankSim.study.answers import BANK
from bankSim.study.statistics import Estimate


def test_tornado_bars_are_total_and_first_in_percent():
    figure = one(studies.matters())
    axes = figure.axes[0]
    widths = [bar.get_width() for bar in bars(axes)]
    totals = 100.0 * 0.5 ** np.arange(1, 6)
    assert widths[::2] == pytest.approx(list(totals))
    assert widths[1::2] == pytest.approx(list(0.9 * totals))
    # 160 to 180 Ah, evenly
    assert "9 of 10 cases between 161 and 179 Ah; about 36 % as wide when the 2 " in (whole(figure))
    assert [text.get_text().endswith("measure") for text in axes.texts] == [True] * 2 + [False] * 3
    named = [tick.get_text().replace("\n", " ") for tick in axes.get_yticklabels()]
    assert named[1] == 'capacities of the cells of "battery 2"'


def test_the_rest_has_a_bar_of_its_own_and_hidden_groups_are_counted():
    figure = one(studies.matters(40, 1, dropped=7))
    named = [tick.get_text() for tick in figure.axes[0].get_yticklabels()]
    assert len(named) == 12 + 1
    assert named[-1] == "all the rest (7 groups)"
    assert bars(figure.axes[0])[-2].get_width() == pytest.approx(2.0)
    assert figure._supxlabel.get_text().startswith("28 more groups below these; ")


def test_where_nothing_halves_the_spread_nothing_is_marked():
    figure = one(studies.matters(8, 8, halves=False))
    assert not any(text.get_text().endswith("measure") for text in figure.axes[0].texts)
    assert "no few measurements halve that" in whole(figure)


def test_of_a_chance_no_standard_deviation_is_told():
    answer = replace(BANK, text='whether "old" cuts out first', unit="", equals=1)
    sure = Estimate(0.16, 0.15, 0.17)
    chance = {"answer": answer, "mean": Estimate(0.8, 0.78, 0.82), "sd": Estimate(0.4, 0.4, 0.4)}
    found = studies.matters(**chance)
    found = replace(found, to_measure=replace(found.to_measure, remaining_sd=sure))
    told = whole(one(found))
    # by hand: 1 - 2 x 0.16^2 = 0.949
    assert 'whether "old" cuts out first: best guess right in 80 of 100 cases (78 to 82)' in told
    assert "settled in at least 95 of 100 cases (93 to 97) when the 2 marked groups" in told
    assert "standard deviation" not in told
    none = whole(one(studies.matters(halves=False, **chance)))
    assert "no few measurements halve the doubt" in none


def test_a_spread_like_rounding_marks_nothing_to_measure():
    # 0.05 Ah of 169 Ah: 3.0e-4, what the solver itself errs
    figure = one(studies.matters(sd=Estimate(0.05, 0.04, 0.06)))
    assert "the ranking may be rounding of the solver" in whole(figure).replace("\n", " ")
    assert not any(text.get_text().endswith("measure") for text in figure.axes[0].texts)


def test_parts_in_the_figure_end_at_the_whole():
    beyond = Estimate(1.04, 0.9, 1.2)
    (first, *others) = studies.matters().matters
    figure = one(studies.matters(matters=(replace(first, total=beyond), *others)))
    assert bars(figure.axes[0])[0].get_width() == pytest.approx(100.0)


def test_an_answer_that_nothing_moves_has_no_figure():
    assert study_figures(studies.matters(0, 0)) == {}


@pytest.mark.parametrize(("part", "few"), [(0.98, False), (0.99, True)])
def test_a_good_guess_marks_nothing(part, few):
    # 2 of 100 of 1,024 cases are 20
    answer = replace(BANK, text='whether "old" cuts out first', unit="", equals=1)
    figure = one(studies.matters(answer=answer, mean=Estimate(part, part, part), to_measure=None))
    told = whole(figure)
    assert "nothing needs measuring" in told
    assert ("too few cases differ to rank" in told) == few
    assert not any(text.get_text().endswith("measure") for text in figure.axes[0].texts)


def test_without_anything_sure_nothing_is_marked():
    figure = one(studies.matters(to_measure=None))
    assert "so few draws do not tell what to measure" in whole(figure)

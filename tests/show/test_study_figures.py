import warnings
from dataclasses import replace
from pathlib import Path

import made_up
import made_up_studies as studies
import numpy as np
import pytest
from matplotlib.container import BarContainer
from matplotlib.text import Text

from bankSim.scenario.read import parse_scenario
from bankSim.show.bands import averaged, switching_width
from bankSim.show.chances_figure import chances_figure
from bankSim.show.fan_figure import fan_figure
from bankSim.show.fitting import fitted, fold, text_in
from bankSim.show.shares_figure import shares_figure
from bankSim.show.study_figures import study_figures
from bankSim.show.sweep_letters import letter, likeliest
from bankSim.show.sweep_maps import BESIDE
from bankSim.show.words import shortened
from bankSim.study.answers import BANK
from bankSim.study.blocks import threads
from bankSim.study.matters import study_matters
from bankSim.study.plan import make_plan
from bankSim.study.spread import study_spread
from bankSim.study.statistics import Estimate, chance
from bankSim.study.sums import study_sums
from bankSim.study.sweep import study_sweep
from bankSim.study.swept_keys import read_swept
from bankSim.study.traced import Fan, Traced
from bankSim.study.versus import CHARGED, study_versus

CROWD = tuple(f"battery number {k + 1} on the left shelf" for k in range(64))
SPREADS = {
    "plain": studies.spread,
    "one draw": lambda: studies.spread(("only",), draws=1),
    "equal draws": lambda: studies.spread(width=0.0),
    "no cut-out": lambda: studies.spread(outs=False),
    "hostile": lambda: studies.spread(studies.HOSTILE, cells=16),
    "eight": lambda: studies.spread(tuple(studies.names(8)), cells=24),
    "crowd": lambda: studies.spread(CROWD),
    "many cells": lambda: studies.spread(cells=100),
    "many cautions": lambda: studies.spread(traced=Traced(studies.fan(2), studies.cautions(20))),
    "no caution": lambda: studies.spread(traced=Traced(studies.fan(2, ending=False), ())),
    "duty": lambda: studies.spread(traced=Traced(studies.fan(2, duty=True), ())),
    "daily": lambda: studies.spread(about=studies.scenario(("old", "new"), daily=True)),
    "at once": lambda: studies.spread(traced=Traced(at_once(), ())),
    "far single run": lambda: far_single_run(studies.spread()),
}
OTHERS = {
    "sweep": studies.sweep,
    "sweep of words": lambda: studies.sweep(("a", "$b_" + "x" * 40, True), given=("a",)),
    "sweep, hostile": lambda: studies.sweep(called=studies.HOSTILE),
    "sweep, crowd": lambda: studies.sweep(called=CROWD, given=(None,)),
    "sweep of one value": lambda: studies.sweep((2.0, 2.0), called=("only",)),
    "map": lambda: studies.sweep(more=(5.0, 6.0, 7.0), given=(2.5, 6.0)),
    "map of words": lambda: studies.sweep(
        more=("x", "$y"), called=studies.HOSTILE, given=(None, {})
    ),
    "large map": lambda: studies.sweep(
        tuple(range(30)), tuple(range(14)), called=studies.names(30), given=(3, 99)
    ),
    "versus": studies.versus,
    "versus, hostile": lambda: studies.versus(studies.HOSTILE, (*studies.HOSTILE[1:], "z")),
    "versus, alike": lambda: studies.versus(gap_Ah=0.0, width=0.0, outs=False),
    "versus, one draw": lambda: studies.versus(draws=1),
    "versus, crowd": lambda: studies.versus(CROWD, CROWD[:20]),
    "sums": studies.sums,
    "sums, alike": lambda: studies.sums((100.0,) * 6, width=0.0),
    "sums, nothing": lambda: studies.sums((0.0,) * 6, width=0.0),
    "sums, one large step": lambda: studies.sums((200.0, 50.0, 49.0, 48.5, 48.0, 48.0)),
    "matters": studies.matters,
    "matters, hostile": lambda: studies.matters(called=list(studies.HOSTILE)),
    "matters, many": lambda: studies.matters(40, 40, halves=False, dropped=3),
    "matters, nothing": lambda: studies.matters(0, 0),
}


def at_once():
    """Half of the draws end within the first step."""
    fan = studies.fan(2, steps=3)
    voltage = np.full((5, 3), np.nan)
    voltage[:, 0] = 12.0
    return replace(fan, running=np.array([1.0, 0.1, 0.1]), voltage_V=voltage)


def far_single_run(result):
    """The single run gives more than twice what any draw gives."""
    return replace(result, bank=replace(result.bank, central=500.0))


def charge_only():
    about = studies.scenario(("old", "new"))
    about = replace(about, bank=replace(about.bank, loads=()))
    columns = studies.table(("old", "new"), 50, outs=False)
    for name, middle in (("bank", 120.0), ("old", 70.0), ("new", 50.0)):
        columns[f"{name}.charged_Ah"] = np.linspace(middle - 5.0, middle + 5.0, 50)
    return studies.spread(draws=50, outs=False, about=about, columns=columns)


CASES = {**SPREADS, "charge only": charge_only, **OTHERS}


ONLY = {
    "many cells": chances_figure, "many cautions": chances_figure, "far single run": shares_figure,
    "duty": fan_figure, "daily": fan_figure, "charge only": shares_figure,
}  # fmt: skip


@pytest.fixture(scope="module", params=CASES)
def drawn(request):
    with warnings.catch_warnings():
        warnings.simplefilter("error")  # a layout that collapses is a warning
        warnings.filterwarnings("ignore", message="Glyph")
        result = CASES[request.param]()
        draw = ONLY.get(request.param)
        figures = {"": draw(result)} if draw else study_figures(result)
        for figure in figures.values():
            figure.draw_without_rendering()
    return figures


def texts(figure):
    return [text.get_text() for text in figure.findobj(Text) if text.get_visible()]


def whole(figure):
    return " | ".join(text.replace("\n", " ") for text in texts(figure))


def bars(axes):
    return [bar for one in axes.containers if isinstance(one, BarContainer) for bar in one]


def one(result):
    (figure,) = study_figures(result).values()
    return figure


def test_nothing_is_cut_off_at_the_edge(drawn):
    for figure in drawn.values():
        box = figure.get_tightbbox()  # of all that is drawn, in inches
        width, height = figure.get_size_inches()
        assert min(box.x0, box.y0) >= -1e-6
        assert box.x1 <= width + 1e-6
        assert box.y1 <= height + 1e-6


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


def test_every_number_along_an_axis_has_a_unit(drawn):
    for figure in drawn.values():
        for axes in figure.axes:
            if axes.get_label() != BESIDE:
                labels = f"{axes.get_xlabel()} {axes.get_ylabel()}"
                assert "[" in labels or labels.strip() in ("", "cell") or "word" in labels


def test_figures_of_each_kind_have_their_names():
    assert list(study_figures(studies.spread())) == ["fan", "chances", "shares"]
    assert list(study_figures(studies.sweep())) == ["sweep"]
    assert list(study_figures(studies.versus())) == ["versus"]
    assert list(study_figures(studies.sums())) == ["sums"]
    assert list(study_figures(studies.matters())) == ["tornado"]


def test_what_is_no_study_is_refused():
    with pytest.raises(TypeError, match="Result; expected the result of a study"):
        study_figures(made_up.pair())


def test_hostile_names_stand_as_written():
    figures = study_figures(SPREADS["hostile"]())
    figures |= {name: one(OTHERS[f"{name}, hostile"]()) for name in ("versus", "sweep")}
    for figure in figures.values():
        told = " | ".join(texts(figure))
        assert "$\\frac{1}{0$ _x_ <b>&" in told
        assert "_hidden" in told
        assert "a?b?[1mw" in told


def test_draws_that_end_at_once_have_no_lines():
    assert "fan" not in study_figures(SPREADS["at once"]())


def test_seed_and_draws_are_those_of_the_result():
    told = [figure._supxlabel.get_text() for figure in study_figures(studies.spread()).values()]
    assert told[0] == "the first 100 of 400 draws, seed 7"
    assert told[1].endswith("; 400 draws, seed 7")
    assert told[2] == "400 draws, seed 7"
    assert one(studies.sweep())._supxlabel.get_text() == "50 draws at every value, seed 3"
    assert one(studies.matters())._supxlabel.get_text().endswith("4,096 draws, seed 11")
    single = shares_figure(SPREADS["one draw"]())
    assert single._supxlabel.get_text() == "1 draw, seed 7"


# --- over time -------------------------------------------------------------------------------


def lines_of(axes):
    return [line for line in axes.lines if len(line.get_xdata()) > 2]


def test_fan_draws_the_percentiles_of_the_result():
    result = studies.spread()
    voltage, running, old, new = fan_figure(result).axes
    low, high, middle = lines_of(voltage)
    fan = result.traced.fan
    for line, place in ((low, 0), (high, 4), (middle, 2)):
        np.testing.assert_allclose(line.get_ydata(), fan.voltage_V[place])
        np.testing.assert_allclose(line.get_xdata(), fan.time_h)
    np.testing.assert_allclose(lines_of(running)[0].get_ydata(), 100.0 * fan.running)
    for axes, place in ((old, 0), (new, 1)):
        np.testing.assert_allclose(lines_of(axes)[2].get_ydata(), fan.current_A[place, 2])
    assert voltage.get_ylabel() == "bus voltage [V]"
    assert old.get_xlabel() == "time [h]"


def test_rings_stand_where_lines_end_because_draws_end():
    result = studies.spread()
    voltage = fan_figure(result).axes[0]
    fan = result.traced.fan
    ends = {
        round(float(fan.time_h[np.flatnonzero(np.isfinite(fan.voltage_V[k]))[-1]]), 6)
        for k in (0, 2, 4)
    }
    rings = {
        round(float(line.get_xdata()[0]), 6) for line in voltage.lines if line.get_marker() == "o"
    }
    assert rings == ends
    assert len(ends) == 3
    quiet = fan_figure(SPREADS["no caution"]()).axes[0]
    all_end = replace(studies.spread().traced.fan, running=np.ones(120))
    assert len(all_end.time_h) == 120
    assert [line.get_marker() for line in quiet.lines].count("o") == 3  # 16 of 20 h: all have ended
    whole_run = studies.fan(2, ending=False, span_h=20.0)
    to_the_end = fan_figure(studies.spread(traced=Traced(whole_run, ())))
    assert "o" not in [line.get_marker() for line in to_the_end.axes[0].lines]
    assert "Voltage at the bus; all draws run to the end" in texts(to_the_end)


@pytest.mark.parametrize(
    ("out_A", "into_A", "told"),
    [
        (30.0, 0.0, '"old" gives up to 30.0 A'),
        (30.0, 12.0, '"old" gives up to 30.0, takes up to 12.0 A'),
        (1.0, 12.0, '"old" takes up to 12.0 A'),
        (0.0, 0.0, '"old" rests'),
    ],
)
def test_titles_tell_the_peaks_that_averages_hide(out_A, into_A, told):
    columns = studies.table(("old",), 20)
    columns["old.peak_discharge_A"] = np.full(20, out_A)
    columns["old.peak_charge_A"] = np.full(20, into_A)
    assert told in texts(fan_figure(studies.spread(("old",), draws=20, columns=columns)))


def test_cut_outs_of_hardly_any_draw_have_no_hours():
    result = studies.spread()
    rare = replace(result.batteries[0], at_all=chance(1, 1000))
    told = texts(shares_figure(replace(result, batteries=(rare, result.batteries[1]))))
    assert "old cuts out" not in told
    assert "new cuts out" in told


def test_where_a_load_switches_often_lines_are_averages():
    result = SPREADS["duty"]()
    figure = fan_figure(result)
    line = lines_of(figure.axes[2])[2].get_ydata()
    known = line[np.isfinite(line)]
    assert np.ptp(known) < 1e-6  # 1.8 and 0.2 times 2 A by turns are 2 A on average
    assert known[0] == pytest.approx(2.0)
    assert "lines are averages over 16 min" in figure._supxlabel.get_text()
    assert "averages" not in fan_figure(studies.spread())._supxlabel.get_text()


def test_average_is_that_of_whole_periods():
    x = np.arange(200.0)
    y = np.where(x % 4 < 1, 8.0, 0.0) + x
    assert switching_width(x, [y]) is None  # a slope that hides the switching
    assert switching_width(x, [y - x]) == pytest.approx(4.0)
    mean = averaged(x, y, 4.0)
    inner = np.isfinite(mean)
    np.testing.assert_allclose((mean - x)[inner], 2.0)
    assert inner.sum() == 200 - 4


def test_no_average_reaches_across_a_dead_bus():
    x = np.arange(60.0)
    y = np.where((x >= 20) & (x < 40), 0.0, 12.0)
    mean = averaged(x, y, 6.0, apart=0.0)
    assert set(np.unique(mean[np.isfinite(mean)])) == {0.0, 12.0}
    assert np.isnan(mean[19])
    assert 0.0 < averaged(x, y, 6.0)[19] < 12.0


def test_the_clock_stands_above_where_the_scenario_tells_it():
    assert any("time of day" in text for text in texts(fan_figure(SPREADS["daily"]())))
    assert not any("time of day" in text for text in texts(fan_figure(studies.spread())))


def test_of_a_crowd_eight_have_a_panel_and_the_rest_is_counted():
    figure = fan_figure(SPREADS["crowd"]())
    assert len(figure.axes) == 2 + 8
    assert "56 batteries with less current are not drawn" in figure._supxlabel.get_text()
    assert sum(text.startswith('"battery number 64') for text in texts(figure)) == 1


# --- chances ---------------------------------------------------------------------------------


def test_bars_are_the_chances_of_the_result():
    result = studies.spread()
    first, _, cautions = chances_figure(result).axes
    values = [100.0 * b.first.value for b in result.batteries] + [100.0 * result.nobody.value]
    assert [bar.get_width() for bar in bars(first)] == pytest.approx(values)
    assert [bar.get_width() for bar in bars(cautions)] == pytest.approx([80.0, 79.0, 78.0])
    whiskers = [line.get_xdata() for line in first.lines if line.get_marker() == "|"]
    expected = [(100.0 * b.first.low, 100.0 * b.first.high) for b in result.batteries]
    np.testing.assert_allclose(whiskers[:2], expected)
    named = [tick.get_text() for tick in first.get_yticklabels()]
    assert named == ["old", "new", "nobody"]


def test_chances_are_told_of_a_hundred():
    figure = chances_figure(studies.spread(draws=400))
    rows = [text for text in texts(figure) if text.endswith(" of 100")]
    assert "80 of 100" in rows
    assert "0 of 100" in rows
    rare = replace(studies.spread(), nobody=chance(1, 3000))
    assert "0.03 of 100" in texts(chances_figure(rare))


def test_cells_of_a_battery_add_up_to_its_cut_outs():
    result = studies.spread()
    cells = chances_figure(result).axes[1]
    field = cells.collections[0].get_array().reshape(2, 6)
    assert field[0, 0] == pytest.approx(100.0 * result.batteries[0].at_all.value)
    assert field[1, 1] == pytest.approx(100.0 * result.batteries[1].at_all.value)
    assert field[0, 4] == pytest.approx(0.0)  # no other cause
    written = [text.get_text() for text in cells.texts]
    stays = round(100.0 * (1.0 - result.batteries[0].at_all.value))
    assert written[5] == f"{stays}"


def test_without_a_cut_out_there_are_no_cells_and_nobody_is_all():
    figure = chances_figure(SPREADS["no cut-out"]())
    assert len(figure.axes) == 2
    assert "Nobody cuts out in 100 of 100 cases" in texts(figure)


def test_severity_is_told_by_word_and_hatch_too():
    axes = chances_figure(studies.spread()).axes[2]
    named = [tick.get_text() for tick in axes.get_yticklabels()]
    assert [name.partition(":")[0] for name in named] == ["danger", "warning", "note"]
    assert len({bar.get_hatch() for bar in bars(axes)}) == 3
    assert "Cautions in 100 draws that were looked at in full" in axes.get_title(loc="left")
    many = chances_figure(SPREADS["many cautions"]()).axes[2]
    assert "6 more are less severe or rarer" in many.get_title(loc="left").replace("\n", " ")


def test_unlikely_firsts_of_a_crowd_are_added_up():
    result = SPREADS["crowd"]()
    axes = chances_figure(result).axes[0]
    named = [tick.get_text() for tick in axes.get_yticklabels()]
    assert len(named) == 13
    assert named[-2:] == ["53 others", "nobody"]
    assert sum(bar.get_width() for bar in bars(axes)) == pytest.approx(100.0)


def test_who_is_first_is_open_where_intervals_meet():
    close = replace(
        studies.spread(),
        batteries=tuple(
            replace(battery, first=Estimate(value, value - 0.1, value + 0.1))
            for battery, value in zip(studies.spread().batteries, (0.45, 0.5), strict=True)
        ),
    )
    assert any("is open" in text for text in texts(chances_figure(close)))
    apart = replace(close, batteries=(close.batteries[0],
                    replace(close.batteries[1], first=Estimate(0.9, 0.85, 0.95))))  # fmt: skip
    assert 'Cuts out first: "new" in 90 of 100 cases' in texts(chances_figure(apart))


# --- Ah --------------------------------------------------------------------------------------


def test_histogram_counts_every_draw_and_marks_the_points():
    result = studies.spread()
    axes = shares_figure(result).axes[0]
    assert sum(bar.get_height() for bar in bars(axes)) == pytest.approx(400)
    marked = sorted(line.get_xdata()[0] for line in axes.lines)
    points = [result.bank.percentiles[k].value for k in (0, 2, 4)]
    assert marked == pytest.approx(sorted([*points, result.bank.central]))


def test_intervals_are_those_of_the_result():
    result = studies.spread()
    axes = shares_figure(result).axes[1]
    thin, thick, middle, ring, label = (line.get_xdata() for line in axes.lines[:5])
    points = [point.value for point in result.batteries[0].delivered.percentiles]
    assert list(thin) == pytest.approx([points[0], points[4]])
    assert list(thick) == pytest.approx([points[1], points[3]])
    assert list(middle) == pytest.approx([points[2]])
    assert list(ring) == pytest.approx([result.batteries[0].delivered.central])
    assert list(label) == [100.0]
    assert axes.get_xlabel() == "charge [Ah]"


def test_the_labels_and_the_hours_stand_beside():
    told = texts(shares_figure(studies.spread()))
    assert any(text.endswith("; the labels say 210 Ah") for text in told)
    assert {"loads fed", "old cuts out", "new cuts out"} <= set(told)
    assert any(" h, in " in text for text in told)


def test_without_a_load_it_is_told_what_is_taken():
    figure = shares_figure(charge_only())
    assert len(figure.axes) == 2
    assert figure.axes[0].get_xlabel() == "charge the bank takes [Ah]"
    assert figure.axes[1].lines[2].get_xdata()[0] == pytest.approx(70.0)


# --- what matters ----------------------------------------------------------------------------


def test_tornado_bars_are_total_and_first_in_percent():
    figure = one(studies.matters())
    axes = figure.axes[0]
    widths = [bar.get_width() for bar in bars(axes)]
    totals = 100.0 * 0.5 ** np.arange(1, 6)
    assert widths[::2] == pytest.approx(list(totals))
    assert widths[1::2] == pytest.approx(list(0.9 * totals))
    assert "9 of 10 cases within 5.8 Ah, 2.1 Ah when the 2 marked groups are measured" in whole(
        figure
    )
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
    chance = {"answer": answer, "mean": Estimate(0.8, 0.7, 0.9), "sd": Estimate(0.4, 0.4, 0.4)}
    found = studies.matters(**chance)
    found = replace(found, to_measure=replace(found.to_measure, remaining_sd=sure))
    told = whole(one(found))
    # by hand: 1 - 2 x 0.16^2 = 0.949
    assert 'What decides whether "old" cuts out first: settled in 95 of 100 cases or more' in told
    assert "(best guess now: 80)" in told
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


def test_an_answer_that_nothing_moves_says_so():
    figure = one(studies.matters(0, 0))
    assert "Ah the bank delivers: nothing that was drawn changes it" in texts(figure)


# --- sweeps ----------------------------------------------------------------------------------


def test_sweep_draws_bands_batteries_and_chances():
    result = studies.sweep()
    bank, batteries, first = one(result).axes
    middle = next(line for line in bank.lines if line.get_linewidth() == 1.6)
    assert list(middle.get_ydata()) == pytest.approx([101.0, 102.0, 103.0, 104.0])
    rings = next(line for line in bank.lines if line.get_marker() == "o")
    assert list(rings.get_ydata()) == pytest.approx([102.0, 103.0, 104.0, 105.0])
    assert list(batteries.lines[1].get_ydata()) == pytest.approx([52.0, 53.0, 54.0, 55.0])
    assert list(first.lines[0].get_ydata()) == pytest.approx([60.0, 0.0, 60.0, 0.0])
    assert list(first.lines[2].get_ydata()) == pytest.approx([40.0] * 4)  # nobody
    names = [text.get_text() for text in one(result).legends[0].get_texts()]
    assert names == ["old", "new", "nobody"]


def test_the_value_of_the_file_is_marked():
    result = studies.sweep()
    for axes in one(result).axes:
        assert 2.5 in [line.get_xdata()[0] for line in axes.lines if len(line.get_xdata()) == 2]
    assert "in the file" in texts(one(result))
    assert one(result).axes[2].get_xlabel() == "battery[1].lead_mohm [mohm]; in the file: 2.5"
    assert "in the file" not in texts(one(studies.sweep(given=(None,))))


def test_words_stand_in_cells():
    axes = one(studies.sweep(("a", "$b_" + "x" * 40, True), given=("a",))).axes[2]
    assert [tick.get_text() for tick in axes.get_xticklabels()] == [
        "a", shortened("$b_" + "x" * 40, 16), "true",
    ]  # fmt: skip
    assert all(line.get_linestyle() == "None" for line in axes.lines if len(line.get_xdata()) == 3)


def test_values_out_of_order_are_joined_in_order():
    bank = one(studies.sweep((3.0, 1.0, 2.0))).axes[0]
    middle = next(line for line in bank.lines if line.get_linewidth() == 1.6)
    assert list(middle.get_xdata()) == [1.0, 2.0, 3.0]
    assert list(middle.get_ydata()) == pytest.approx([101.0, 102.0, 103.0])
    battery = one(studies.sweep((3.0, 1.0, 2.0))).axes[1].lines[0]
    assert list(battery.get_xdata()) == [1.0, 2.0, 3.0]
    assert list(battery.get_ydata()) == pytest.approx([51.0, 52.0, 53.0])


def test_a_value_of_the_file_between_two_cells_is_pointed_at_between_them():
    result = studies.sweep((1.0, 2.0, 4.0), (30.0, 10.0), given=(3.0, 25.0))
    marks = [line for line in one(result).axes[0].lines if line.get_marker() in ("^", ">")]
    assert [marks[0].get_xdata()[0], marks[1].get_ydata()[0]] == [1.5, 0.25]
    outside = studies.sweep((1.0, 2.0, 4.0), (30.0, 10.0), given=(5.0, None))
    assert not [line for line in one(outside).axes[0].lines if line.get_marker() in ("^", ">")]
    assert "in the file: 5" in one(outside).axes[0].get_xlabel()


def test_map_has_the_first_key_to_the_right_and_its_numbers_written():
    result = studies.sweep((1.0, 2.0, 3.0), (10.0, 30.0), given=(2.0, 10.0))
    top, bottom = one(result).axes[:2]
    amounts = top.images[0].get_array()
    np.testing.assert_allclose(amounts, [[111.0, 112.0, 113.0], [131.0, 132.0, 133.0]])
    assert [text.get_text() for text in top.texts][:3] == ["111.0", "112.0", "113.0"]
    assert [text.get_text() for text in bottom.texts] == ["A 60", "B 60", "A 60"] * 2
    marks = [line for line in top.lines if line.get_marker() in ("^", ">")]
    assert [line.get_xdata()[0] for line in marks] == [1.0, 0.0]
    assert [line.get_ydata()[0] for line in marks] == [0.0, 0.0]
    assert {"A  old", "B  new"} <= set(texts(one(result)))


def test_nobody_is_likeliest_where_rather_nobody_cuts_out():
    result = studies.sweep((1.0, 2.0), (1.0, 2.0))
    quiet = tuple(
        replace(point, first=(chance(20, 100), chance(20, 100)), nobody=chance(60, 100))
        for point in result.points
    )
    likely, part = likeliest(replace(result, points=quiet))
    assert np.all(likely == -1)
    np.testing.assert_allclose(part, 0.6)
    assert [letter(number) for number in (-1, 0, 25, 26, 63)] == ["-", "A", "Z", "AA", "BL"]


def test_several_at_once_are_likeliest_where_they_are():
    result = studies.sweep((1.0, 2.0), (1.0, 2.0))
    equal = tuple(
        replace(
            point, first=(chance(20, 100),) * 2, nobody=chance(0, 100), together=chance(60, 100)
        )
        for point in result.points
    )
    likely, part = likeliest(replace(result, points=equal))
    assert np.all(likely == -2)
    np.testing.assert_allclose(part, 0.6)
    assert letter(-2) == "="


def test_next_to_no_difference_stays_pale():
    points = studies.sweep((1.0, 1.01), (1.0, 1.01), given=(None, None))
    low, high = one(points).axes[0].images[0].get_clim()
    assert high - low == pytest.approx(0.02 * 102.02)


# --- one against another ---------------------------------------------------------------------


def test_versus_counts_the_differences_of_the_same_draws():
    result = studies.versus()
    top, middle, _ = one(result).axes
    gap = result.other.column("bank.delivered_Ah") - result.one.column("bank.delivered_Ah")
    assert sum(bar.get_height() for bar in bars(top)) == gap.size == 300
    assert min(bar.get_x() for bar in bars(top)) == pytest.approx(gap.min())
    assert 0.0 in [line.get_xdata()[0] for line in top.lines]
    low, high = top.get_xlim()
    assert low < 0.0 < gap.max() < high
    named = [tick.get_text() for tick in middle.get_yticklabels()]
    assert named == ["One way", "Another way to wire"]
    assert top.get_xlabel() == '"Another way to wire" less "One way", of the same draw [Ah]'


def test_versus_names_both_sides_by_files_where_titles_do_not():
    result = studies.versus()
    sides = []
    for draws, file in ((result.one, "old.toml"), (result.other, "new.toml")):
        scenario = replace(draws.plan.scenario, title="The same", file=file)
        sides.append(replace(draws, plan=replace(draws.plan, scenario=scenario)))
    figure = one(replace(result, one=sides[0], other=sides[1]))
    named = [tick.get_text() for tick in figure.axes[1].get_yticklabels()]
    assert named == ["old: The same", "new: The same"]
    assert 'plain bars "old", hatched bars "new"' in whole(figure)


def test_versus_without_loads_draws_the_charge_taken_in():
    result = studies.versus()
    for draws, middle in ((result.one, 100.0), (result.other, 120.0)):
        table = {name: draws.store.column(name, 1) for name in draws.store.names()}
        table["bank.charged_Ah"] = np.linspace(middle - 1.0, middle + 1.0, 300)
        draws.store.write(0, table)
    gap = studies.difference(CHARGED, result.one, result.other)
    figure = one(replace(result, differences=(gap,)))
    (full,) = (bar for bar in bars(figure.axes[0]) if bar.get_height())
    assert full.get_height() == 300
    assert full.get_x() < 20.0 < full.get_x() + full.get_width()
    assert "What each bank takes in" in whole(figure)


def test_versus_draws_both_chances_and_says_who_is_not_there():
    result = studies.versus()
    axes = one(result).axes[2]
    named = [tick.get_text() for tick in axes.get_yticklabels()]
    assert named == ["old", "new", "third", "nobody"]
    assert [text.get_text() for text in axes.texts].count("not in this bank") == 2
    shown = [bar.get_width() for bar in bars(axes)]
    firsts = [100.0 * one.value for b in result.batteries for one in b.first if one is not None]
    assert shown[:4] == pytest.approx(firsts)
    assert len({bar.get_hatch() for bar in bars(axes)}) == 2


# --- sums ------------------------------------------------------------------------------------


def test_waterfall_starts_at_zero_and_tells_every_step():
    result = studies.sums()
    left, right = one(result).axes
    assert left.get_xlim()[0] == 0.0
    medians = [part.Ah.percentiles[2].value for part in result.parts]
    told = [text.get_text() for text in left.texts]
    assert told == [f"{median:.1f} Ah" for median in medians]
    changes = [part.change.percentiles[2].value for part in result.parts[1:]]
    assert [bar.get_width() for bar in bars(right)] == pytest.approx(changes)
    assert right.texts[0].get_text().startswith("\N{MINUS SIGN}20.0 (")
    assert right.texts[3].get_text().startswith("+0.5 (")
    assert "Labels 200.0 Ah, bank 170.0 Ah" in whole(one(result))


def test_a_bar_that_is_cut_off_says_so():
    cut = one(OTHERS["sums, one large step"]())
    assert "bar is cut off" in texts(cut)
    assert cut.axes[1].get_xlim()[0] > -20.0  # of a change of -150 Ah
    assert "bar is cut off" not in texts(one(studies.sums()))


# --- texts -----------------------------------------------------------------------------------


def test_texts_are_measured_by_their_letters():
    assert text_in("WWWW", 10.0) > 3.0 * text_in("iiii", 10.0)
    assert text_in("a" * 8, 10.0) == pytest.approx(2.0 * text_in("aaaa", 10.0), rel=0.05)


def test_lines_are_broken_where_they_are_full():
    lines = fold("one two " + "W" * 40, 1.5, 10.0)
    assert all(text_in(line, 10.0) <= 1.5 for line in lines)
    assert "".join(lines).replace(" ", "") == "onetwo" + "W" * 40


def test_a_text_that_does_not_fit_loses_its_middle():
    short = fitted("first " + "W" * 60 + " last", 1.0, lines=2)
    assert len(short.split("\n")) <= 2
    assert short.startswith("first")
    assert short.endswith("last")
    assert "..." in short
    assert fitted("short", 1.0) == "short"


# --- the real thing --------------------------------------------------------------------------

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
            study_sweep(scenario, keys, workers, draws=8),
            study_versus(scenario, other, workers, most=20),
            study_sums(plan, workers, draws=4),
            study_matters(plan, workers, BANK, base=8, trajectories=2),
        )
    names = [name for result in results for name in study_figures(result)]
    assert names == ["fan", "chances", "shares", "sweep", "versus", "sums", "tornado"]
    assert isinstance(results[0].traced.fan, Fan)

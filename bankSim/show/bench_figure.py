"""Figures of capacity tests: voltage and current against Ah; Ah of every test against the label."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from bankSim.measured.capacity_test import CapacityAnswer, Course
from bankSim.measured.discharge import COMPLETE
from bankSim.show.bench_rate import apart, apart_still, no_repeats
from bankSim.show.bench_words import rounded, sure
from bankSim.show.fitting import name_of
from bankSim.show.looks import INK, QUIET, dress, halo, label, line_look, new_figure, side_legend
from bankSim.show.study_marks import sign, top_legend
from bankSim.show.words import whole_or

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

MOST_LEGEND = 24
ROW_IN = 0.32
END_LOOK: dict[str, Any] = {
    "marker": "X", "color": INK, "markersize": 8, "linestyle": "none", "zorder": 5,
}  # fmt: skip
OPEN_LOOK: dict[str, Any] = {
    "marker": "o", "markerfacecolor": "white", "markeredgecolor": INK, "markersize": 7,
    "linestyle": "none", "zorder": 5,
}  # fmt: skip
LABEL_LOOK: dict[str, Any] = {"color": INK, "linestyle": (0, (1, 1.5)), "linewidth": 2.0}


def course_figure(answer: CapacityAnswer, courses: Sequence[Course]) -> "Figure":
    """Voltage and current of all tests against Ah delivered, with a mark where each ended.

    Parameters
    ----------
    answer : CapacityAnswer
    courses : sequence of Course

    Returns
    -------
    figure : matplotlib Figure
    """
    figure = new_figure(6.6)
    top, bottom = figure.subplots(2, 1, sharex=True, height_ratios=(3, 2))
    handles = []
    for place, one in enumerate(courses):
        handles += top.plot(one.charge_Ah, one.voltage_V, **line_look(place))
        bottom.plot(one.charge_Ah, one.current_A, **line_look(place))
        look = END_LOOK if one.ending in COMPLETE else OPEN_LOOK
        top.plot(one.charge_Ah[-1], one.voltage_V[-1], **look)
    dress(top, "Voltage of each test up to its end", "", "voltage [V]")
    dress(bottom, "Current", "charge delivered [Ah]", "current [A]")
    bottom.set_ylim(bottom=min(0.0, *(float(one.current_A.min()) for one in courses)))
    bottom.margins(y=0.15)
    rated = answer.question.rated_Ah
    if rated is not None:
        for axes in (top, bottom):
            axes.axvline(rated, **LABEL_LOOK)
    bottom.set_xlim(left=0.0)
    _limit(top, courses)
    if 1 < len(courses) <= MOST_LEGEND:
        side_legend(figure, handles, [label(one.name) for one in courses])
    top_legend(figure, _entries(rated, courses))
    return figure


def charge_figure(answer: CapacityAnswer) -> "Figure":
    """Ah of every test and every mean with its interval, against the label.

    Parameters
    ----------
    answer : CapacityAnswer
    """
    rows = _rows(answer)
    figure = new_figure(1.7 + ROW_IN * len(rows))
    axes = figure.subplots()
    for place, (_, value, reach, look) in enumerate(rows):
        axes.errorbar(value, place, xerr=reach, capsize=4, ecolor=INK, elinewidth=1.2, **look)
        halo(
            axes.annotate(
                rounded(value, reach), (value, place), (0, 6), textcoords="offset points",
                ha="center", fontsize=7.5, color=INK,
            )
        )  # fmt: skip
    rated = answer.question.rated_Ah
    if rated is not None:
        axes.axvline(rated, **LABEL_LOOK)
    dress(axes, "Ah of each test and of the means", "charge delivered [Ah]", "")
    axes.set_yticks(range(len(rows)), [name for name, *_ in rows])
    for tick in axes.get_yticklabels():
        tick.set_parse_math(False)
    axes.set_ylim(len(rows) - 0.4, -0.8)
    axes.margins(x=0.12)
    entries = _marks(rated, corrected=answer.corrected is not None)
    if not any(look is MEAN_LOOK for *_, look in rows):
        del entries["mean"]
    top_legend(figure, entries)
    confidence = sure(answer.question.confidence)
    sign(figure, f"bars: {confidence}, two-sided; of single tests: meter and log alone")
    return figure


def _limit(axes: "Axes", courses: Sequence[Course]) -> None:
    """Keep the plateau legible when a single sample fell very far."""
    low = min(float(np.percentile(one.voltage_V, 1.0)) for one in courses)
    high = max(float(one.voltage_V.max()) for one in courses)
    deepest = min(float(one.voltage_V.min()) for one in courses)
    if deepest < low - 2.0 * (high - low):
        axes.set_ylim(low - 1.0 * (high - low), high + 0.1 * (high - low))


def _entries(rated: float | None, courses: Sequence[Course]) -> dict[str, Any]:
    from matplotlib.lines import Line2D

    entries: dict[str, Any] = {}
    if any(one.ending in COMPLETE for one in courses):
        entries["end of the test"] = Line2D([], [], **END_LOOK)
    if any(one.ending not in COMPLETE for one in courses):
        entries["broken off before its end"] = Line2D([], [], **OPEN_LOOK)
    if rated is not None:
        entries[f"label, {whole_or(rated, 4)} Ah"] = Line2D([], [], **LABEL_LOOK)
    return entries


Row = tuple[str, float, float, dict[str, Any]]
TEST_LOOK: dict[str, Any] = {"marker": "o", "color": QUIET, "markersize": 6}
MEAN_LOOK: dict[str, Any] = {"marker": "D", "color": "#0072B2", "markersize": 7}
FIXED_LOOK: dict[str, Any] = {"marker": "s", "color": "#E69F00", "markersize": 7}


def _rows(answer: CapacityAnswer) -> list[Row]:
    confidence, rows = answer.question.confidence, []
    for one in answer.trials:
        mark = "" if one.whole else " (at least)"
        reach = one.counted.Ah.expanded(confidence)
        rows.append((f"{name_of(one.name)}{mark}", one.counted.Ah.value, reach, TEST_LOOK))
    for evaluation, look, word in (
        (answer.measured, MEAN_LOOK, ""), (answer.corrected, FIXED_LOOK, ", corrected"),
    ):  # fmt: skip
        if evaluation is None:
            continue
        alone = apart(answer) if evaluation is answer.measured else apart_still(answer)
        mixed = no_repeats(answer) if alone else ()
        for unit in (one for one in evaluation.units if one.name not in mixed):
            name = f"unit {unit.name}" if unit.name else "the unit"
            name = name_of(name) + (" (at least)" if unit.verdict.at_least else "")
            rows.append((name + word, unit.budget.value, unit.budget.expanded(confidence), look))
        if len(evaluation.units) > 1 and not alone:
            budget = evaluation.budget
            name = f"all {len(evaluation.units)} units"
            name += word + (" (at least)" if evaluation.together.at_least else "")
            rows.append((name, budget.value, budget.expanded(confidence), look))
    return rows


def _marks(rated: float | None, *, corrected: bool) -> dict[str, Any]:
    from matplotlib.lines import Line2D

    entries = {
        "one test": Line2D([], [], linestyle="none", **TEST_LOOK),
        "mean": Line2D([], [], linestyle="none", **MEAN_LOOK),
    }
    if corrected:
        entries["corrected mean"] = Line2D([], [], linestyle="none", **FIXED_LOOK)
    if rated is not None:
        entries[f"label, {whole_or(rated, 4)} Ah"] = Line2D([], [], **LABEL_LOOK)
    return entries

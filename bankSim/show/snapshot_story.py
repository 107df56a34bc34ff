"""Tells a cut-out snapshot, and puts it into files."""

from typing import TYPE_CHECKING, Any

from bankSim.measured.snapshot import DRAWS, Snapshot
from bankSim.measured.snapshot_answer import Answered
from bankSim.measured.snapshot_hints import Stopped, behind_others_V
from bankSim.show.answer import Answer
from bankSim.show.blocks import Grid, Section, Story
from bankSim.show.snapshot_words import (
    amount,
    catch_lines,
    cell_decided,
    danger_line,
    decider_line,
    failing_line,
    left_words,
    repeat_lines,
    size_lines,
    stopped_line,
    sum_line,
    won_line,
)
from bankSim.show.study_files import study_summary
from bankSim.sim.numbers import number, span
from bankSim.sim.summary import SAFETY_TEXT

if TYPE_CHECKING:
    from matplotlib.figure import Figure

FIGURE = "snapshot"
MOST_TABLES = 6  # of repeats that are printed; story.txt has all
CAUTION = (
    "Deeper discharge costs life, and a cell below its maker's limit can be harmed for good: the "
    "maker's limits decide, not this estimate."
)


def snapshot_answer(answered: Answered) -> Answer:
    """Return story, JSON and figure of snapshots."""
    return Answer(
        story=tell_snapshot(answered, MOST_TABLES),
        full_story=tell_snapshot(answered, len(answered.shots), with_safety=True),
        summary=_summary(answered),
        figures=lambda: _figures(answered),
    )


def _figures(answered: Answered) -> "dict[str, Figure]":
    from bankSim.show.snapshot_figure import snapshot_figure

    return {FIGURE: snapshot_figure(answered)}


def _summary(answered: Answered) -> dict[str, Any]:
    summary = study_summary("snapshot", answered)
    summary["interval"] = "low and high are the 5 and 95 % ends"
    summary["danger"] = danger_line(answered) or None
    summary["caution"] = CAUTION
    return summary


def tell_snapshot(answered: Answered, most: int, *, with_safety: bool = False) -> Story:
    """Return the story of snapshots.

    Parameters
    ----------
    answered : Answered
    most : int
        Repeats whose cells are listed.
    with_safety : bool
        With the long safety text.
    """
    around, many = answered.around, len(answered.shots) > 1
    kind = f"{len(answered.shots[0].cells)} cells" if len(answered.shots[0].cells) > 1 else "1 cell"
    size = "" if answered.percent_only else f", {number(around.rated_Ah)} Ah"
    title = f"Cut-out snapshot: {kind}, {around.chemistry}{size}"
    sections = [_cells(answered, place, many) for place in range(min(most, len(answered.shots)))]
    sections += [Section("What stopped it", tuple(_stops(answered)))]
    if answered.repeats is not None:
        sections.append(Section("Repeats", tuple(repeat_lines(answered))))
    if len(answered.shots[0].cells) > 1:
        sections.append(Section("Less charge, or a smaller cell?", tuple(size_lines(answered))))
    if answered.sums:
        lines = tuple(dict.fromkeys(sum_line(answered, n) for n in range(len(answered.sums))))
        sections.append(Section("Cells against the battery's voltage", lines))
    sections.append(Section("How it was read", tuple(_read_lines(answered))))
    sections.append(Section("Assumed", answered.assumed))
    sections.append(Section("Beware", (CAUTION, *((SAFETY_TEXT,) if with_safety else ()))))
    return Story(title, _headline(answered), tuple(sections))


def _headline(answered: Answered) -> tuple[str, ...]:
    danger, many = danger_line(answered), len(answered.shots) > 1
    behind_V = behind_others_V(answered.shots[0], answered.around)
    lines = [repeat_lines(answered)[0] if many else decider_line(answered.shots[0])]
    if danger:
        lines.insert(0, danger)  # what a balance would win is no headline then
    elif behind_V is None:
        lines.append(f"First snapshot: {won_line(answered)}" if many else won_line(answered))
        lines += catch_lines(answered)
    if (
        len(answered.shots[0].cells) > 1
        and not cell_decided(answered, 0)
        and (answered.stopped[0] is not Stopped.RESTED)
    ):
        lines.append(
            "It was probably no cell that stopped it: see below."
            if behind_V is None
            else f"Cell {answered.shots[0].decider} lies {behind_V:.2f} V below the mean of the "
            "others, which are not at their end: a weak or failing cell, see below."
        )
    if any(not check.fits for check in answered.sums):
        lines.append("The cells do not add up to the battery's voltage: see below before trusting "
                     "this.")  # fmt: skip
    if any(shot.flat for shot in answered.shots):
        lines.append("Some cells stand above the knee, where the curve is flat: what they had left "
                     "is told as \"at least\".")  # fmt: skip
    return tuple(lines)


def _cells(answered: Answered, place: int, many: bool) -> Section:
    """Return the table of one snapshot."""
    shot = answered.shots[place]
    unit = "%" if answered.percent_only else "Ah"
    floor = answered.around.facts.floor_V
    columns = (
        "Cell", "V", f"{unit} to {shot.limit_V:.2f}V",
        f"{unit} to {floor:.2f}V", "Chance lowest",
    )  # fmt: skip
    mark = " (decided)" if cell_decided(answered, place) else " (lowest)"
    rows = tuple(
        (
            f"cell {cell.cell}"
            + (mark if cell.cell == shot.decider and len(shot.cells) > 1 else ""),
            f"{cell.voltage_V:.3f}",
            left_words(cell.left_Ah, cell.flat),
            left_words(cell.to_floor_Ah, cell.flat),
            f"{100 * cell.chance_lowest:.0f} %",
        )
        for cell in shot.cells
    )
    title = (
        f"What each cell still had, snapshot {place + 1}" if many else "What each cell still had"
    )
    # of cells that must not be charged again nothing is won
    lines = [won_line(answered, place)] if many and not danger_line(answered) else []
    return Section(title, (*lines, *_limit_lines(shot, answered)), Grid(columns, rows))


def _limit_lines(shot: Snapshot, answered: Answered) -> list[str]:
    """Say to which voltage charge is counted."""
    told = {
        "given": f"Counted down to the limit given, {shot.limit_V:.2f} V under load.",
        "lowest reading": f"Counted down to {shot.limit_V:.3f} V, where the lowest cell stood "
        "when the current stopped (no --limit-V was given): what the others could still have "
        "given.",
        "usual": f"Counted down to {shot.limit_V:.2f} V, a usual limit, under load: the lowest "
        "cell does not show where its own limit is.",
    }
    floor = answered.around.facts.floor_V
    lines = [f"{told[shot.limit_from]} Beside it down to {floor:.2f} V, the least that makers "
             "usually allow (below 0: past it). In brackets: 90 %."]  # fmt: skip
    chance = shot.cells[shot.decider - 1].chance_lowest
    if len(shot.cells) > 1 and chance < 0.995:
        lines.append(
            "If these are the readings of the battery's own electronics, its lowest reading "
            "decided, whatever the error; the chance is for another meter."
        )
    if answered.percent_only:
        lines.append("No capacity was given (--rated-Ah): percent of it instead of Ah.")
    return lines


def _stop(answered: Answered, place: int) -> str:
    """Say what stopped it, before that which cell fails; a cell that fails says enough."""
    failing = failing_line(answered, place)
    if failing and answered.stopped[place] is Stopped.OTHER:
        return failing
    return f"{failing} {stopped_line(answered, place)}".lstrip()


def _stops(answered: Answered) -> list[str]:
    told = [_stop(answered, place) for place in range(len(answered.shots))]
    lines = list(dict.fromkeys(told))
    if len(lines) > 3:
        lines = [*lines[:3], "Other snapshots tell otherwise; all are in summary.json."]
    if Stopped.BATTERY_RULE in answered.stopped or Stopped.EITHER in answered.stopped:
        lines.append("Where the whole battery's voltage decides, a perfect balance wins less: it "
                     "moves the sum only a little.")  # fmt: skip
    return lines


def _read_lines(answered: Answered) -> list[str]:
    lines = list(answered.told)
    for shot in answered.logs:
        warm = "" if shot.temperature_C is None else f", {shot.temperature_C:.0f} degC"
        lines.append(
            f"{shot.file}, row {shot.row}, after {span(shot.at_s)}: the last sample before the "
            f"discharge current stops, {number(shot.current_A)} A{warm}; "
            f"{number(shot.given_Ah, 4)} Ah given since the log began; "
            f"{'the only such end' if shot.ends == 1 else f'of {shot.ends} such ends the lowest'}."
        )
    if answered.knee is not None:
        knee = answered.knee
        lines.append(
            f"The log shows the knee of the deciding cell: from {knee.from_V:.2f} to "
            f"{knee.to_V:.2f} V it gave {amount(knee.counted_Ah)} Ah, {number(knee.stretch, 2)} "
            "times what the program's curve has; all cells are read with that."
        )
    lines.append(
        "Each cell's voltage under the current is turned into charge by the program's own typical "
        f"cell, {DRAWS} times with what is not known varied; intervals hold 90 % of these."
    )
    return lines

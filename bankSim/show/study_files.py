"""Result files of a study: its story, its numbers, its figures, its draws."""

import csv
import dataclasses
import json
import math
from collections.abc import Callable
from enum import Enum
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from bankSim.scenario.record import Scenario
from bankSim.show.blocks import Section, Story
from bankSim.show.files import save_figure, write_folder
from bankSim.show.printing import story_text
from bankSim.show.sheets import guarded
from bankSim.sim.numbers import listing
from bankSim.sim.run import END_REASON
from bankSim.sim.summary import SAFETY_TEXT, program_version
from bankSim.study.blocks import Draws
from bankSim.study.outcomes import END
from bankSim.study.plan import Design, Plan
from bankSim.whole import as_bytes

if TYPE_CHECKING:
    from matplotlib.figure import Figure

STORY, SUMMARY, TABLE = "story.txt", "summary.json", "draws.csv"
TABLE_ONE, TABLE_OTHER = "draws-one.csv", "draws-other.csv"
UNKNOWNS = "unknowns.csv"  # goes with draws.csv, row by row
RESULT_FILES = (STORY, SUMMARY, TABLE, TABLE_ONE, TABLE_OTHER, UNKNOWNS)
MOST_ROWS = 100_000  # of each table; all draws are in the folder of blocks
PORTION = 2_000  # rows written at a time


def write_study(
    folder: Path,
    story: Story,
    summary: dict[str, Any],
    figures: Callable[[], dict[str, "Figure"]] | None,
    tables: dict[str, Draws],
) -> list[Path]:
    """Write story.txt, summary.json, one CSV for each table of draws, and the figures.

    Beside draws.csv, which is that of the question spread, stand the values drawn: unknowns.csv.

    Parameters
    ----------
    folder : Path
    story : Story
    summary : dict
        From `study_summary`.
    figures : callable or None
        Makes the figures; None for none.
    tables : dict
        From file name to draws.

    Returns
    -------
    files : list of Path

    Raises
    ------
    OutputError
        When the folder cannot be written; earlier files are then untouched.
    """

    def write_all(workshop: Path) -> list[str]:
        drawn = {f"{name}.png": one for name, one in (figures() if figures else {}).items()}
        for name, figure in drawn.items():
            save_figure(figure, workshop / name)
        texts = {STORY: story_text(_with_cut(story, tables))}
        beside = [UNKNOWNS] if TABLE in tables else []
        names = [STORY, SUMMARY, *tables, *beside, *drawn]
        texts[SUMMARY] = summary_text({**summary, "files": names})
        for name, draws in tables.items():
            write_draws(draws, workshop / name)
        if beside:
            write_unknowns(tables[TABLE].plan, tables[TABLE].count, workshop / UNKNOWNS)
        for name, text in texts.items():
            (workshop / name).write_bytes(as_bytes(text))
        return names

    return write_folder(folder, write_all)


def write_draws(draws: Draws, file: Path) -> None:
    """Write the first draws as CSV, with the words for why each ended."""
    import pandas as pd

    names = draws.store.names()
    frame = pd.DataFrame({name: draws.column(name)[:MOST_ROWS] for name in names})
    frame[END] = frame[END].map(END_REASON)
    frame = frame.rename(columns={END: "end_reason"})
    header = [guarded(name) for name in frame.columns]
    frame.to_csv(file, index=False, header=header, lineterminator="\n")


def write_unknowns(plan: Plan, count: int, file: Path) -> None:
    """Write what was drawn as CSV, a row a draw and a column an unknown, headed by its label.

    Parameters
    ----------
    plan : Plan
    count : int
        Draws that were made; the first `MOST_ROWS` are written, a portion at a time.
    file : Path
    """
    rows = min(count, MOST_ROWS)
    with file.open("w", encoding="utf-8", newline="") as page:
        sheet = csv.writer(page, lineterminator="\n")
        sheet.writerow(["draw", *(guarded(unknown.label) for unknown in plan.unknowns)])
        for first in range(0, rows, PORTION):
            values = plan.values(first, min(first + PORTION, rows))
            for draw, row in enumerate(values.tolist(), first):
                sheet.writerow([draw, *(f"{value:.9g}" for value in row)])


def _with_cut(story: Story, tables: dict[str, Draws]) -> Story:
    """Say at the end of a story that tables do not hold all draws, if so."""
    most = max((draws.count for draws in tables.values()), default=0)
    if most <= MOST_ROWS:
        return story
    names = listing([*tables, *([UNKNOWNS] if TABLE in tables else [])])
    line = (
        f"{names} hold the first {MOST_ROWS:,} of {most:,} draws; what all of them did is in the "
        "folder draws."
    )
    return dataclasses.replace(story, sections=(*story.sections, Section("Files", (line,))))


def study_summary(question: str, result: Any) -> dict[str, Any]:
    """Return the result of any study as plain dictionaries; intervals as value, low, high."""
    return {
        "question": question,
        **plain(result),
        "version": program_version(),
        "safety": SAFETY_TEXT,
    }


def summary_text(summary: dict[str, Any]) -> str:
    """Return a summary as JSON in plain ASCII, without NaN."""
    return json.dumps(summary, indent=2, allow_nan=False) + "\n"


def plain(value: Any) -> Any:
    """Return records, arrays and enums as plain dictionaries, lists and words; no NaN."""
    for kind, tell in _TOLD.items():
        if isinstance(value, kind):
            return tell(value)
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {one.name: plain(getattr(value, one.name)) for one in dataclasses.fields(value)}
    if isinstance(value, np.ndarray):
        return plain(value.tolist())
    if isinstance(value, list | tuple):
        return [plain(item) for item in value]
    if isinstance(value, float) and not math.isfinite(value):
        return None
    return value if isinstance(value, str | int | float | bool) or value is None else str(value)


def _scenario(scenario: Scenario) -> dict[str, Any]:
    changes = plain(scenario.changes)
    return {"title": scenario.title, "file": scenario.file, "changes": changes}


def _draws(draws: Draws) -> dict[str, Any]:
    return {**_plan(draws.plan), "count": draws.count}


def _plan(plan: Plan) -> dict[str, Any]:
    drawn = [
        {
            "label": one.label,
            "group": one.group,
            "key": one.key,
            "unit": one.unit,
            "shape": one.spread.shape.value,
            "value": one.spread.value,
            "sd": one.spread.sd,
            "low": plain(one.spread.low),
            "high": plain(one.spread.high),
            "goes_with": one.follows,
            "correlation": one.correlation,
            "weakest_is_as_given": one.pinned,
            "source": one.source,
        }
        for one in plan.unknowns
    ]
    return {
        **plain(plan.scenario),
        "design": _design(plan.design),
        "seed": getattr(plan.design, "seed", None),
        "relative_tolerance": plan.tolerance,
        "unknowns": drawn,
    }


def _design(design: Design) -> dict[str, Any]:
    """How draws are made; the labels are those of the unknowns."""
    own = plain(design)
    own.pop("labels", None)
    return {"kind": type(design).__name__, **own}


_TOLD: dict[type, Callable[[Any], Any]] = {
    Draws: _draws,
    Plan: _plan,
    Scenario: _scenario,
    Enum: lambda value: value.value,
}

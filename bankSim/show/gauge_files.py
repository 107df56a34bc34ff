"""What a gauge check writes: the course as CSV, the numbers for JSON."""

import csv
import io
from collections.abc import Sequence
from typing import Any

from bankSim.measured.gauge import Judged
from bankSim.measured.gauge_typed import Typed
from bankSim.show.study_files import study_summary
from bankSim.sim.summary import SAFETY_TEXT, program_version

COLUMNS = (
    "time_s", "counted_Ah", "voltage_V", "current_A", "counted_percent", "table_percent",
    "table_low_percent", "table_high_percent", "error_points", "straight_line_percent",
)  # fmt: skip


def course_csv(judged: Judged, line: Judged | None) -> str:
    """Return the course of one battery, a row a sample."""
    page = io.StringIO()
    sheet = csv.writer(page, lineterminator="\n")
    sheet.writerow(COLUMNS)
    course = judged.course
    columns = [
        course.time_s, course.counted_Ah, course.voltage_V, course.current_A, course.true_percent,
        judged.reading_percent, judged.low_percent, judged.high_percent, judged.error_points,
    ]  # fmt: skip
    lines = [""] * course.time_s.size
    if line is not None:
        lines = [f"{one:.9g}" for one in line.reading_percent.tolist()]
    for *row, last in zip(*(column.tolist() for column in columns), lines, strict=True):
        sheet.writerow([*(f"{value:.9g}" for value in row), last])
    return page.getvalue()


def gauge_summary(
    pairs: Sequence[tuple[Judged, Judged | None]], remarks: Sequence[str]
) -> dict[str, Any]:
    """Return the check as plain dictionaries, without the samples."""
    batteries = [
        {
            "name": judged.course.name,
            "capacity_Ah": judged.course.capacity_Ah,
            "resistance_ohm": judged.course.ohm,
            "taken_for_granted": list(judged.course.basis),
            "table": _gauge(judged),
            "straight_line": None if line is None else _gauge(line),
        }
        for judged, line in pairs
    ]
    frame = {"version": program_version(), "safety": SAFETY_TEXT}
    return {"question": "gauge", "batteries": batteries, "remarks": list(remarks), **frame}


def _gauge(judged: Judged) -> dict[str, Any]:
    plain = study_summary("", judged.over), study_summary("", judged.under)
    over, under = ({k: v for k, v in one.items() if k not in _FRAME} for one in plain)
    return {
        "name": judged.table.name,
        "sources": list(judged.table.sources),
        "largest_over": over,
        "largest_under": under,
        "part_of_time_within_10_points": judged.within_10_points,
        "mean_error_points": judged.mean_points,
    }


_FRAME = ("question", "version", "safety")


def typed_summary(typed: Typed, remarks: Sequence[str]) -> dict[str, Any]:
    """Return what one voltage says as plain dictionaries."""
    return {**study_summary("gauge", typed), "remarks": list(remarks)}

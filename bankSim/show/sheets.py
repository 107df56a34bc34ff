"""The CSV files. A spreadsheet takes a text that begins with = + - @ for a formula: it is guarded.

Such texts, headings with a battery's name included, get an apostrophe in front. Numbers are plain.
"""

import csv
import io
import re
from collections.abc import Mapping, Sequence

import numpy as np

from bankSim.model.curve import Floats
from bankSim.sim.result import Event, Result
from bankSim.sim.timeline import timeline_columns

# At the start, or behind a mark at which a spreadsheet of another country splits lines.
_FORMULA = re.compile(r"(^|[;\t\r\n|])(?=[\"\s]*[=+\-@\uff1d\uff0b\uff0d\uff20])")
LINES_AT_ONCE = 10_000
EVENT_COLUMNS = (
    "time_h",
    "battery",
    "what",
    "watches",
    "cell",
    "value",
    "threshold",
    "unit",
    "blocks",
    "battery_voltage_V",
    "bus_voltage_V",
    "source",
)


def guarded(text: str) -> str:
    """Put an apostrophe before a text that a spreadsheet would run as a formula."""
    if text.startswith(("\t", "\r", "\n")):
        text = f"'{text}"
    return _FORMULA.sub(r"\1'", text)


def timeline_csv(result: Result) -> str:
    """Return the timeline; columns are those of `Result.timeline`.

    pandas is not needed for it, so that a program that draws nothing starts sooner.
    """
    return numbers_csv(timeline_columns(result, jumps=False))


def numbers_csv(columns: Mapping[str, Floats]) -> str:
    """Return columns of numbers as a sheet, 9 significant digits.

    What is not there stays empty. Line by line: a third of the time that a table of pandas takes.

    Parameters
    ----------
    columns : mapping from heading to array (rows,)
        [units of the headings]
    """
    table = np.column_stack(list(columns.values()))
    page = io.StringIO()
    csv.writer(page, lineterminator="\n").writerow([guarded(str(name)) for name in columns])
    line = ",".join(["%.9g"] * len(columns)) + "\n"
    for rows in np.array_split(table, len(table) // LINES_AT_ONCE + 1):
        page.write("".join([line % tuple(row) for row in rows.tolist()]).replace("nan", ""))
    return page.getvalue()


def events_csv(result: Result) -> str:
    """Return the events, one row each, with every cell of the battery and every current.

    Cell columns reach to the longest battery; cells that a battery does not have stay empty, as
    does everything that does not apply.
    """
    names = [battery.name for battery in result.batteries]
    cells = max((len(event.cell_voltages_V or ()) for event in result.events), default=0)
    page = io.StringIO()
    sheet = csv.writer(page, lineterminator="\n")
    sheet.writerow([guarded(heading) for heading in _headings(names, cells)])
    for event in result.events:
        sheet.writerow([_cell(value) for value in _row(event, cells)])
    return page.getvalue()


def _headings(names: Sequence[str], cells: int) -> list[str]:
    return [
        *EVENT_COLUMNS,
        *(f"cell{place}_voltage_V" for place in range(1, cells + 1)),
        *(f"{name}.current_before_A" for name in names),
        *(f"{name}.current_after_A" for name in names),
        "text",
    ]


def _row(event: Event, cells: int) -> list[float | str | None]:
    readings = event.cell_voltages_V or ()
    return [
        event.time_s / 3600.0,
        *(getattr(event, field) for field in EVENT_COLUMNS[1:]),
        *readings,
        *([None] * (cells - len(readings))),
        *event.currents_A,
        *event.currents_after_A,
        event.text,
    ]


def _cell(value: float | str | None) -> str:
    if value is None:
        return ""
    return guarded(value) if isinstance(value, str) else f"{value:.9g}"

"""Options that all commands share that read measured logs."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from bankSim.measured.log import Asked

LogFile = Annotated[Path, typer.Argument(metavar="LOG", help="Measured log (CSV).")]
LogFiles = Annotated[list[Path], typer.Argument(metavar="LOG...", help="Measured logs (CSV).")]
TimeColumn = Annotated[
    str | None,
    typer.Option("--time", metavar="COLUMN", help="Header or number of the column.",
                 show_default=False),
]  # fmt: skip
VoltageColumn = Annotated[
    str | None,
    typer.Option("--voltage", metavar="COLUMN", help="Likewise, of the whole battery or bank.",
                 show_default=False),
]  # fmt: skip
CurrentColumn = Annotated[
    str | None,
    typer.Option("--current", metavar="COLUMN", help="Likewise.", show_default=False),
]
TemperatureColumn = Annotated[
    str | None,
    typer.Option("--temperature", metavar="COLUMN", help="Likewise.", show_default=False),
]
CellColumns = Annotated[
    str | None,
    typer.Option("--cells", metavar="COLUMN,COLUMN,...", help="Cell voltages, cell 1 first.",
                 show_default=False),
]  # fmt: skip
SignOption = Annotated[
    str,
    typer.Option(
        "--sign",
        help="What the log writes as positive: auto (from how the voltage answers), discharge or "
        "charge.",
    ),
]


def asked_of(
    time: str | None,
    voltage: str | None,
    current: str | None,
    temperature: str | None,
    cells: str | None,
    sign: str,
    *,
    keep_others: bool = False,
) -> "Asked":
    """Return what the options say about the columns of a log."""
    from bankSim.measured.log import AUTO, CHARGE_POSITIVE, DISCHARGE_POSITIVE, Asked, LogError

    words = {"auto": AUTO, "discharge": DISCHARGE_POSITIVE, "charge": CHARGE_POSITIVE}
    if sign not in words:
        raise LogError(f"--sign = {sign!r}; expected one of: {', '.join(words)}")
    columns = tuple(word.strip() for word in cells.split(",")) if cells is not None else ()
    if cells is not None and not all(columns):
        raise LogError(f"--cells = {cells!r}; expected columns with commas between them")
    return Asked(time, voltage, current, temperature, columns, words[sign], keep_others)


def about_columns(asked: "Asked") -> dict[str, bool]:
    """Return for each option of `asked_of` whether it was given."""
    from bankSim.measured.log import Asked

    names = ("time", "voltage", "current", "temperature", "cells", "sign")
    usual = Asked()
    return {f"--{name}": getattr(asked, name) != getattr(usual, name) for name in names}

"""Which cell decides when a battery cuts out: a field of chances, one row a battery."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from bankSim.kernels.arrays import Floats
from bankSim.show.fitting import heading, name_of
from bankSim.show.looks import INK, dress, halo
from bankSim.show.study_marks import name_rows
from bankSim.study.spread import SpreadResult

if TYPE_CHECKING:
    from matplotlib.axes import Axes

MOST_NUMBERED = 24  # cells; of more only the likeliest is written
DARK = 55.0  # of 100: white figures on it
MAP = "Greys"
TITLE = "Which cell decides when it cuts out, in how many of 100 cases"
FEW, CELLS_A_WORD = 6, 9.0
REACH = 130.0  # of 100: so that 100 is not black


@dataclass(frozen=True, slots=True)
class CellRow:
    """One battery: of 100 cases, which cell decided, another cause, and how often it stays in.

    A chance each. [1]
    """

    name: str
    cells: tuple[float, ...]
    other: float
    stays: float


def cell_rows(result: SpreadResult, most: int) -> list[CellRow]:
    """Return the batteries that cut out at all; of too many the likeliest to be the first."""
    out = [one for one in result.batteries if one.at_all.value > 0.0]
    if len(result.batteries) > most:
        out = sorted(out, key=lambda one: -one.first.value)[:most]
    if not any(cell.value > 0.0 for one in out for cell in one.cells):
        return []
    rows = []
    for one in out:
        cells = tuple(100.0 * cell.value for cell in one.cells)
        other = max(100.0 * one.at_all.value - sum(cells), 0.0)
        rows.append(CellRow(name_of(one.name), cells, other, 100.0 * (1.0 - one.at_all.value)))
    return rows


def field_of(rows: list[CellRow]) -> Floats:
    """Return the chances in columns: cells, then other causes, then "stays in"; NaN for none.

    A pure number. [1]
    """
    wide = max(len(row.cells) for row in rows)
    field = np.full((len(rows), wide + 2), np.nan)
    for place, row in enumerate(rows):
        field[place, : len(row.cells)] = row.cells
        field[place, wide:] = row.other, row.stays
    return field


def draw_cells(axes: "Axes", rows: list[CellRow], inches: float) -> None:
    """Draw the field: the darker the likelier, with the number of 100 cases in it."""
    field = field_of(rows)
    wide = field.shape[1] - 2
    edges = column_edges(wide)
    shaded = np.ma.masked_invalid(field)
    shaded[:, -1] = np.ma.masked  # that it stays in is no cause
    axes.pcolormesh(
        edges, np.arange(len(rows) + 1) - 0.5, shaded, cmap=MAP, vmin=0.0, vmax=REACH,
        edgecolors="white", linewidth=1.0,
    )  # fmt: skip
    middles = 0.5 * (edges[1:] + edges[:-1])
    _numbers(axes, field, middles)
    dress(axes, heading(TITLE, inches), "", "")
    name_rows(axes, [row.name for row in rows])
    axes.set_ylim(len(rows) - 0.5, -0.5)
    axes.grid(False)
    _name_columns(axes, wide, middles)


def _numbers(axes: "Axes", field: Floats, middles: Floats) -> None:
    """Write every chance into its place; of very many cells only the likeliest, beside it."""
    wide = field.shape[1] - 2
    size = 8.0 if wide <= 12 else 6.5
    for (row, column), value in np.ndenumerate(field):
        if np.isfinite(value) and (wide <= MOST_NUMBERED or column >= wide):
            colour = "white" if value > DARK and column <= wide else INK
            axes.text(
                float(middles[column]), row, _written(value), ha="center", va="center",
                fontsize=size, color=colour,
            )  # fmt: skip
    for row, cells in enumerate(field[:, :wide] if wide > MOST_NUMBERED else ()):
        best = int(np.nanargmax(cells))
        words = f"cell {best + 1}: {_written(float(cells[best]))}"
        left = best > wide / 2
        note = axes.annotate(
            words, (float(middles[best]), row), xytext=(-5 if left else 5, 0), va="center",
            textcoords="offset points", ha="right" if left else "left", fontsize=8.0, color=INK,
        )  # fmt: skip
        halo(note)


def column_edges(wide: int) -> Floats:
    """Return the edges of the columns: cells 1 wide, the two behind them wide enough for words.

    Unit: [cells]
    """
    last = max(1.0, wide / CELLS_A_WORD)
    return np.concatenate([np.arange(wide + 1.0), [wide + last, wide + 2.0 * last]])


def _written(value: float) -> str:
    return "<1" if 0.0 < value <= 0.5 else f"{value:.0f}"


def _name_columns(axes: "Axes", wide: int, middles: Floats) -> None:
    step = max(1, -(-wide // MOST_NUMBERED))
    cells = list(range(0, wide, step))
    names = [f"cell {place + 1}" if wide <= FEW else str(place + 1) for place in cells]
    axes.set_xticks([*middles[cells], *middles[-2:]], [*names, "other\ncause", "stays\nin"])
    axes.set_xlabel("" if wide <= FEW else "cell", fontsize=9.5, color=INK)
    axes.axvline(wide, color=INK, linewidth=1.0)

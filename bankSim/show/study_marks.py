"""Marks that all figures of studies share: intervals, whiskers, rows with names, the seed."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from bankSim.show.looks import INK, halo, plain
from bankSim.study.spread import Band
from bankSim.study.statistics import Estimate

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

SMALL_PRINT = "#555555"
WHISKERS = "whiskers hold the true chance in 95 of 100 studies"
THIN_PT, THICK_PT = 1.4, 5.0
CROWD = 16
ASIDE = 0.3  # of a row: marks that stand above or below a line


def sign(figure: "Figure", text: str) -> None:
    """Write how many draws there were, small, in the lower right corner."""
    plain(figure.supxlabel(text, x=0.985, ha="right", fontsize=7.5, color=SMALL_PRINT))


def interval_mark(axes: "Axes", band: Band, y: float, colour: str) -> None:
    """Draw 5-95 % thin, 25-75 % thick, the median as a stroke; below a ring at the single run.

    `y` is the place of the row. [rows]
    """
    if not band.percentiles:
        return
    low, quarter, middle, three, high = (point.value for point in band.percentiles)
    axes.plot([low, high], [y, y], color=colour, linewidth=THIN_PT, solid_capstyle="butt")
    axes.plot([quarter, three], [y, y], color=colour, linewidth=THICK_PT, solid_capstyle="butt")
    axes.plot([middle], [y], marker="|", color=INK, markersize=13, markeredgewidth=2.0, zorder=4)
    if band.central is not None:
        axes.plot([band.central], [y + ASIDE], zorder=5, **RING)


RING: dict[str, Any] = {
    "marker": "o",
    "markerfacecolor": "white",
    "markeredgecolor": INK,
    "markeredgewidth": 1.2,
    "markersize": 5.0,
    "linestyle": "none",
}


def interval_legend(figure: "Figure", *, with_label: bool) -> None:
    """Explain the marks of `interval_mark` in a row above everything."""
    from matplotlib.lines import Line2D

    grey = "#777777"
    entries = {
        "5 to 95 % of the draws": Line2D([], [], color=grey, linewidth=THIN_PT),
        "25 to 75 %": Line2D([], [], color=grey, linewidth=THICK_PT, solid_capstyle="butt"),
        "median": Line2D(
            [], [], color=INK, marker="|", linestyle="none", markersize=11, markeredgewidth=2
        ),
        "the single run": Line2D([], [], **RING),
    }
    if with_label:
        entries["label"] = Line2D([], [], **LABEL_MARK)
    top_legend(figure, entries)


LABEL_MARK: dict[str, Any] = {
    "marker": "v",
    "color": INK,
    "markersize": 6.0,
    "linestyle": "none",
    "markeredgewidth": 0.0,
}


def top_legend(figure: "Figure", entries: dict[str, Any]) -> None:
    """Explain marks in one row at the top of the figure."""
    figure.legend(
        list(entries.values()), list(entries), loc="outside upper left", ncols=len(entries),
        frameon=False, fontsize=8.0, handlelength=2.2, columnspacing=1.4,
    )  # fmt: skip


def whisker(axes: "Axes", estimate: Estimate, y: float, scale: float = 100.0) -> None:
    """Draw the interval of an estimate with a cap at both ends.

    `y` is the place of the row [rows], `scale` a factor [1].
    """
    ends = [scale * estimate.low, scale * estimate.high]
    axes.plot(
        ends, [y, y], color=INK, linewidth=1.0, marker="|", markersize=5, markeredgewidth=1.0,
        zorder=5,
    )  # fmt: skip


def name_rows(axes: "Axes", names: Sequence[str], *, first: float = 0.0) -> None:
    """Name rows from the top down; any name is shown as written.

    `first` is the place of the first. [rows]
    """
    crowd = len(names) > CROWD
    axes.set_yticks([first + place for place in range(len(names))], list(names))
    for tick in axes.get_yticklabels():
        plain(tick)
    axes.tick_params(axis="y", labelsize=6.5 if crowd else 8.5)
    axes.set_ylim(first + len(names) - 0.45, first - 0.6)
    axes.grid(False, axis="y")


def beside_row(axes: "Axes", x: float, y: float, text: str, size: float = 8.0) -> None:
    """Write behind a mark. x in the unit of the axis, y the row [rows], size [pt]."""
    note = axes.annotate(
        text, (x, y), xytext=(6, 0), textcoords="offset points", va="center", fontsize=size,
        color=INK, zorder=6,
    )  # fmt: skip
    halo(plain(note))

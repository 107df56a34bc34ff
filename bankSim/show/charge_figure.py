"""Bars per battery: what the label says, what was given, what stayed behind."""

from typing import TYPE_CHECKING, Any

import numpy as np

from bankSim.model.curve import Floats
from bankSim.show.looks import COLOURS, FAINT, INK, dress, label, new_figure, plain
from bankSim.show.words import beside, whole_or
from bankSim.sim.result import BatteryOutcome, Result

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

BAR_IN = 0.42
BAR_IN_A_CROWD_IN = 0.2
CROWD = 16
SHOWN_SHARE = 0.001
MORE = 1.005


def charge_figure(result: Result) -> "Figure":
    """Label, delivered, stranded and left charge of every battery, in Ah.

    Where a battery was charged too, its bar shows the net charge and the text names both.

    Returns
    -------
    figure : matplotlib Figure
        One bar a battery, first battery on top; it grows with their number.
    """
    count = len(result.batteries)
    crowd = count > CROWD
    figure = new_figure(1.7 + count * (BAR_IN_A_CROWD_IN if crowd else BAR_IN))
    axes = figure.add_subplot()
    places = np.arange(count)
    start = np.zeros(count)
    for name, amounts, look in _parts(result):
        axes.barh(places, amounts, left=start, height=0.62, label=name, **look)
        start = start + amounts
    rated = np.array([battery.rated_Ah for battery in result.batteries])
    axes.barh(places, rated, height=0.86, fill=False, edgecolor=INK, linewidth=1.1, label="label")
    dress(axes, "What each battery gave, and what stayed behind", "charge [Ah]", "battery")
    axes.grid(False, axis="y")
    axes.set_yticks(places, [label(battery.name) for battery in result.batteries])
    for tick in axes.get_yticklabels():
        plain(tick)
    axes.tick_params(axis="y", labelsize=6.5 if crowd else 8.5)
    axes.set_ylim(count - 0.4, -0.6)
    _amounts(result, axes, np.maximum(start, rated), 6.0 if crowd else 8.0)
    figure.legend(loc="outside lower center", ncols=4, frameon=False, fontsize=8.5)
    return figure


def _parts(result: Result) -> list[tuple[str, Floats, dict[str, Any]]]:
    """The parts of a bar in the order in which they are stacked, with their look."""
    given = np.array([max(b.delivered_Ah - b.charged_Ah, 0.0) for b in result.batteries])
    word = "delivered, net of charge taken" if _charged(result) else "delivered"
    stranded = np.array([battery.stranded_Ah for battery in result.batteries])
    left = np.array([max(battery.remaining_Ah, 0.0) for battery in result.batteries])
    edge = {"edgecolor": INK, "linewidth": 0.5}
    return [
        (word, given, {"color": COLOURS[0], **edge}),
        ("stranded in stronger cells", stranded, {"color": COLOURS[4], "hatch": "////", **edge}),
        ("left in the weakest cell", left, {"color": FAINT, "hatch": "..", **edge}),
    ]


def _charged(result: Result) -> bool:
    return any(_took(battery) for battery in result.batteries)


def _took(battery: BatteryOutcome) -> bool:
    return battery.charged_Ah > SHOWN_SHARE * battery.rated_Ah


def _amounts(result: Result, axes: "Axes", ends: Floats, size: float) -> None:
    """Write "84.2 of 100" behind each bar."""
    scale = max(battery.rated_Ah for battery in result.batteries)
    for place, (battery, end) in enumerate(zip(result.batteries, ends, strict=True)):
        axes.annotate(
            _amount(battery, scale), (end, place), xytext=(5, 0), textcoords="offset points",
            va="center", fontsize=size, color=INK,
        )  # fmt: skip
    longest = max(len(_amount(battery, scale)) for battery in result.batteries)
    axes.set_xlim(0.0, (1.03 + 0.0115 * longest) * float(ends.max()))


def _amount(battery: BatteryOutcome, scale: float) -> str:
    """Delivered of the label; what was taken, and what exceeds the label, is said."""
    of_label = f"of {whole_or(battery.rated_Ah, 4)}"
    given = beside(battery.delivered_Ah, scale)
    net_Ah = battery.delivered_Ah - battery.charged_Ah
    beyond = ", more than the label" if net_Ah > MORE * battery.rated_Ah else ""
    if not _took(battery):
        return f"{given} {of_label}{beyond}"
    taken = beside(battery.charged_Ah, scale)
    return f"{beside(net_Ah, scale)} {of_label} ({given} out, {taken} in){beyond}"

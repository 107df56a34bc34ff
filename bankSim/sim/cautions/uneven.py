"""Cells that make their battery block its charge early: by their charge or by their resistance."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from bankSim.model.rule import Watch
from bankSim.sim.cautions.heads import cell_ohms_at
from bankSim.sim.numbers import after, listing, number, quoted
from bankSim.sim.result import TRIP, Caution, Event, Result
from bankSim.sim.returns import column

AHEAD_V = 0.03  # of a cell above the mean of the others, when it blocks charge
HALF = 0.5


@dataclass(frozen=True, slots=True)
class Ahead:
    """A trip at which one cell reads far above the others.

    Parameters
    ----------
    event : Event
    ahead_V : float
        The highest reading above the mean of the others. [V]
    still_V : tuple of float
        Readings of all cells less the drop of the current over their resistance. [V]
    current_A : float
        Charge current. [A]
    level : float
        State of charge of the battery, the mean of its cells. [1]
    """

    event: Event
    ahead_V: float
    still_V: tuple[float, ...]
    current_A: float
    level: float

    @property
    def by_resistance(self) -> bool:
        """Whether most of the lead is gone without the current."""
        volts = self.event.cell_voltages_V or ()
        return _above_others(self.still_V, int(np.argmax(volts))) < HALF * self.ahead_V


def of_uneven(result: Result) -> Iterator[Caution]:
    """Tell the worst time of each battery at which one cell blocks the charge of all."""
    worst: dict[str, Ahead] = {}
    for event in result.events:
        if event.what != TRIP or event.watches != Watch.HIGHEST_CELL.value:
            continue
        volts = event.cell_voltages_V or ()
        if event.battery is None or event.blocks == "discharge" or len(volts) < 2:
            continue
        ahead_V = _above_others(volts, int(np.argmax(volts)))
        known = worst.get(event.battery)
        if ahead_V > max(AHEAD_V, 0.0 if known is None else known.ahead_V):
            worst[event.battery] = _ahead(result, event, ahead_V)
    for one in worst.values():
        yield _resists(one) if one.by_resistance else _uneven(one.event, one.ahead_V)


def _above_others(volts: tuple[float, ...], cell: int) -> float:
    """Voltage of a cell above the mean of the others. [V]"""
    return volts[cell] - (sum(volts) - volts[cell]) / (len(volts) - 1)


def _ahead(result: Result, event: Event, ahead_V: float) -> Ahead:
    number_of = [one.name for one in result.batteries].index(event.battery or "")
    row = int(np.searchsorted(result.trace[:, 0], event.time_s, side="left"))
    row, current_A = min(row, result.trace.shape[0] - 1), event.currents_A[number_of]
    ohms, volts = cell_ohms_at(result, number_of, row), event.cell_voltages_V or ()
    still_V = tuple(volt + current_A * ohm for volt, ohm in zip(volts, ohms, strict=True))
    level = float(column(result.trace, number_of, 2)[row])
    return Ahead(event, ahead_V, still_V, -current_A, level)


def _resists(one: Ahead) -> Caution:
    """Name the cells that read high only as long as a current flows."""
    volts, name = one.event.cell_voltages_V or (), quoted(str(one.event.battery))
    high = [k for k, volt in enumerate(volts) if volt > max(volts) - AHEAD_V]
    low = [k for k in range(len(volts)) if k not in high]
    high_V, low_V = (sum(volts[k] for k in group) / len(group) for group in (high, low))
    alone, still = len(high) == 1, f"all would read about {sum(one.still_V) / len(volts):.2f} V"
    if max(one.still_V) - min(one.still_V) > AHEAD_V:
        still_V = _above_others(one.still_V, int(np.argmax(volts)))
        still = f"only {max(still_V, 0.0):.3f} V of that difference would stay"
    return Caution(
        "cell of high resistance",
        "warning",
        one.ahead_V,
        AHEAD_V,
        "V",
        f"Cell{'' if alone else 's'} {listing([str(k + 1) for k in high])} of {name} "
        f"{'reads' if alone else 'read'} {high_V:.3f} V, the others {low_V:.3f} V, while "
        f"{number(one.current_A)} A flow in: it is {'its' if alone else 'their'} higher "
        f"resistance, without current {still}. Charge is blocked early, "
        f"{after(one.event.time_s)}, with {name} at {number(100.0 * one.level, 2)} %.",
        f"Charge {name} with less current; a cell that resists so much more than the others is "
        "worn or has a bad joint: have it looked at.",
    )


def _uneven(event: Event, ahead_V: float) -> Caution:
    """Name the cells that run ahead or, where those are most of all, the ones that lag behind."""
    volts, name = event.cell_voltages_V or (), quoted(str(event.battery))
    high = [k for k, volt in enumerate(volts) if volt > max(volts) - AHEAD_V]
    low = [k for k in range(len(volts)) if k not in high]
    lag = len(high) > len(low)
    odd, rest = (low, high) if lag else (high, low)
    odd_V, rest_V = (sum(volts[k] for k in group) / len(group) for group in (odd, rest))
    which = f"Cell{'' if len(odd) == 1 else 's'} {listing([str(k + 1) for k in odd])} of {name}"
    does = {(False, 1): "runs ahead", (True, 1): "lags behind"}.get((lag, len(odd)))
    does = does or ("lag behind" if lag else "run ahead")
    cure = (
        f"Charge {'that cell by itself' if len(odd) == 1 else 'those cells by themselves'} to "
        "where the others are, or have the battery repaired or replaced; a balancer takes days to "
        "weeks for that much."
        if lag
        else f"Balance the cells of {name} first: charge it by itself, slowly, until its balancer "
        "has evened them out."
    )
    return Caution(
        "cell lags behind" if lag else "cell runs ahead",
        "warning",
        ahead_V,
        AHEAD_V,
        "V",
        f"{which} {does} ({odd_V:.3f} V, the others {rest_V:.3f} V): charge is blocked early, "
        f"{after(event.time_s)}, before all are full.",
        cure,
    )

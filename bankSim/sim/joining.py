"""What flows when the batteries, as they are, are first bolted together."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from bankSim.kernels import arrays as k
from bankSim.kernels.arrays import FIXED, PER_BATTERY
from bankSim.model.bank import Bank
from bankSim.model.battery import Battery
from bankSim.model.cell import Cell
from bankSim.model.curve import Curve
from bankSim.model.rule import Watch
from bankSim.sim.at_rest import rest_voltage
from bankSim.sim.engine import Engine
from bankSim.sim.events import read_events
from bankSim.sim.giving_up import GivenUpError
from bankSim.sim.joining_pairs import join_pairs
from bankSim.sim.joining_result import JoinedBattery, Joining
from bankSim.sim.result import TRIP, Event

LOOKED_AT_S = 24.0 * 3600.0
ROW_EVERY_S = 300.0
QUIET_PER_H = 0.01  # of the label capacity, as a current
AN_INSTANT_S = 1e-6
HALF = 0.5  # state of charge


def join(
    bank: Bank,
    looked_at_s: float = LOOKED_AT_S,
    progress: Callable[[float], None] | None = None,
) -> Joining | None:
    """Join the batteries at rest, without loads and chargers, and follow them.

    Their rules act: electronics do not know that this is not yet the real run. Heaters are off.

    Parameters
    ----------
    bank : Bank
    looked_at_s : float
        How long. [s]
    progress : callable, optional
        Told the part of that time that is done, 0 to 1; what it raises ends the look.

    Returns
    -------
    joining : Joining or None
        None for a single battery.
    """
    if len(bank.batteries) < 2:
        return None
    alone = left_alone(bank, looked_at_s)
    try:
        engine = Engine(alone).finish(progress)
    except GivenUpError as error:
        raise error.within("joined at rest, without loads and chargers") from error
    events, first = read_events(alone, engine.events), first_currents_A(alone)
    at_most = without_rise(alone)
    most = first if at_most is alone else first_currents_A(at_most)
    return Joining(
        looked_at_s=looked_at_s,
        quiet_after_s=_quiet_after(bank, engine),
        batteries=tuple(
            _joined(bank, engine, events, number, currents_A)
            for number, currents_A in enumerate(zip(first, most, strict=True))
        ),
        pairs=join_pairs(bank),
    )


def left_alone(bank: Bank, duration_s: float) -> Bank:
    """Return the bank without loads, chargers and heaters."""
    return replace(
        bank,
        batteries=tuple(replace(battery, heater=None) for battery in bank.batteries),
        loads=(),
        chargers=(),
        duration_s=duration_s,
        stop_when_empty=False,
        output_every_s=ROW_EVERY_S,
    )


def first_currents_A(bank: Bank) -> tuple[float, ...]:  # noqa: N802 - the unit as printed
    """Return the currents in the first instant, before any rule acts; discharge positive. [A]"""
    bare = tuple(replace(battery, rules=()) for battery in bank.batteries)
    alone = replace(left_alone(bank, AN_INSTANT_S), batteries=bare)
    engine = Engine(alone, keep_trace=False).finish()
    return tuple(engine.run.now[: len(bare), k.CURRENT].tolist())


def without_rise(bank: Bank) -> Bank:
    """Return the bank with no cell below half charge resisting more than when it is there.

    A bank without such a cell comes back itself.
    """
    if not any(_rises(cell) for battery in bank.batteries for cell in battery.cells):
        return bank
    return replace(
        bank,
        batteries=tuple(
            replace(battery, cells=tuple(_without_rise(cell) for cell in battery.cells))
            for battery in bank.batteries
        ),
    )


def _without_rise(cell: Cell) -> Cell:
    if not _rises(cell):
        return cell
    return replace(cell, ohmic_ohm=Curve.constant(float(cell.ohmic_ohm(HALF))))


def _rises(cell: Cell) -> bool:
    """Tell whether a cell is below half charge and resists more than when it is there."""
    held = cell.state_of_charge
    return held < HALF and float(cell.ohmic_ohm(held)) > float(cell.ohmic_ohm(HALF))


def _joined(
    bank: Bank,
    engine: Engine,
    events: tuple[Event, ...],
    number: int,
    currents_A: tuple[float, float],
) -> JoinedBattery:
    battery, tally = bank.batteries[number], engine.run.tally[number]
    first_A, most_A = currents_A
    acted = (e.text for e in events if e.battery == battery.name and _by_joining(e))
    return JoinedBattery(
        name=battery.name,
        rest_voltage_V=rest_voltage(battery),
        first_A=first_A,
        most_A=most_A,
        limit_A=label_limit_A(battery, first_A),
        above_label_s=float(tally["above_out"] + tally["above_into"]),
        given_Ah=float(tally["out"]) / 3600.0,
        taken_Ah=float(tally["into"]) / 3600.0,
        lead_heat_Wh=float(engine.run.ledger[2, number, k.IN_LEAD]) / 3600.0,
        first_rule=next(acted, None),
    )


def _by_joining(event: Event) -> bool:
    """Tell whether a rule acts on what joining changes: the temperature comes from outside."""
    return event.what == TRIP and event.watches != Watch.TEMPERATURE.value


def label_limit_A(battery: Battery, current_A: float) -> float | None:  # noqa: N802
    """Return the label limit in the direction of a current. [A]"""
    return battery.continuous_discharge_A if current_A >= 0.0 else battery.continuous_charge_A


def _quiet_after(bank: Bank, engine: Engine) -> float | None:
    """Return when the last current fell below `QUIET_PER_H`, by rows of the trace. [s]"""
    rows, n = engine.trace(), len(bank.batteries)
    currents = np.abs(rows[:, FIXED : FIXED + PER_BATTERY * n : PER_BATTERY])
    quiet_A = QUIET_PER_H * np.array([battery.rated_C for battery in bank.batteries]) / 3600.0
    loud = np.flatnonzero((currents > quiet_A).any(axis=1))
    if loud.size == 0:
        return 0.0
    last = int(loud[-1])
    return float(rows[last + 1, 0]) if last + 1 < len(rows) else None

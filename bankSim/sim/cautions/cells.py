"""Cells driven too far."""

from collections.abc import Iterator
from enum import Enum

import numpy as np

from bankSim.kernels.arrays import FIXED, PER_BATTERY
from bankSim.model.battery import Battery
from bankSim.model.chemistry import chemistry_of, is_lead
from bankSim.model.curve import Floats
from bankSim.sim.cautions.currents import EXCHANGE, cause_of
from bankSim.sim.numbers import number, quoted
from bankSim.sim.result import BatteryOutcome, Caution, Result
from bankSim.sim.returns import column, time_above

BELOW_EMPTY, BEYOND_FULL = "cell driven below empty", "cell charged beyond full"
LOW_CELL, CELL_AHEAD = "lead-acid cell low under load", "lead-acid cell ahead on charge"
OVERFULL = 1.2  # state of charge that no cell has: a table of its own goes on too flat; own choice
MARGIN_SOC = 0.02  # beyond empty or full, where no voltage limit is known
# Below a limit for less than this, with more charge left than this, is a dip; own choice.
NEARLY_EMPTY, DIP_S = 0.1, 30.0
IDLE_PER_H = 1e-6  # of the label: a battery that gives less lies unused; own choice
LEAD_LOW_V = 1.6  # of a cell for longer than a dip; own choice
# Harm and cure of a cell driven below empty: of lithium and others, then of lead-acid.
DRIVEN_EMPTY = (
    (
        "deep discharge ruins cells and can make them unsafe to charge again",
        "Give it a low-voltage cut-out that acts in time (a higher one, if it has one); do not "
        "charge a cell again that was this low without its maker's word.",
    ),
    (
        "deep discharge sulphates the plates and can reverse the weakest cell",
        "Give the loads a low-voltage cut-off that acts in time (a higher one, if they have one); "
        "charge the battery soon and gently, then measure what it still holds.",
    ),
)
LEAD_LOWEST_V = 1.5  # of a cell under load: 9 V per 12 V, below any cut-off in use; own choice
# Of the weakest cell of a battery that is stopped before that. At the end of every discharge to the
# usual 1.75 V a cell the weakest fall fast (cells alike to 1 %, some to 0.9 V), which wears them;
# from here on they are as good as reversed. Own choice. [V], [1]
LEAD_REVERSED_V, LEAD_BELOW_EMPTY = 0.5, -0.1
# The first full cell of a battery that is held at a usual voltage rises so far above what a battery
# bears: usual where cells differ a little (common practice, no source). Own choice. [V]
LEAD_AHEAD_V = 0.25


def of_cells(result: Result) -> Iterator[Caution]:
    """Warn of cells below empty or beyond full."""
    for number_of in range(len(result.batteries)):
        yield from _below_empty(result, number_of)
        yield from _beyond_full(result, number_of)


def _goes_low(battery: Battery, outcome: BatteryOutcome) -> bool:
    """Tell whether a cell goes below what does not harm it, for however short a time."""
    limit_V = harmed_below_V(battery.chemistry)
    if limit_V is None:
        return outcome.lowest_state_of_charge < -MARGIN_SOC
    return outcome.lowest_cell_voltage_V < limit_V


class Low(Enum):
    """How a cell of a battery gets so low that it is harmed, if it does."""

    NOT = "not"
    WEAKEST = "lead-acid: the weakest cell, at the end of a discharge that others bear"
    DIP = "for moments, with charge left"
    DRIVEN = "driven there for longer"
    BY_ITSELF = "only while the battery lies unused"


def how_low(result: Result, number_of: int) -> Low:
    """Tell whether and how a cell of a battery gets so low that it is harmed.

    Parameters
    ----------
    result : Result
    number_of : int
        Place of the battery, from 0.
    """
    battery, outcome = result.scenario.bank.batteries[number_of], result.batteries[number_of]
    limit_V = harmed_below_V(battery.chemistry)
    if not _goes_low(battery, outcome):
        return Low.NOT
    if limit_V is None:
        return Low.DRIVEN
    if _by_itself(result, number_of, limit_V):
        return Low.BY_ITSELF
    if _is_a_dip(result, number_of, limit_V):
        return Low.DIP
    return Low.DRIVEN if _is_ruined(result, number_of) else Low.WEAKEST


def _is_ruined(result: Result, number_of: int) -> bool:
    """Tell whether a cell below its limit is harmed for good, not only worn (lead-acid)."""
    battery, outcome = result.scenario.bank.batteries[number_of], result.batteries[number_of]
    cells_V = cell_volts(result, number_of)
    mean_V = float(cells_V[cells_V.any(axis=1)].mean(axis=1).min(initial=LEAD_LOWEST_V))
    return (
        not is_lead(battery.chemistry)
        or mean_V < LEAD_LOWEST_V
        or outcome.lowest_cell_voltage_V < LEAD_REVERSED_V
        or outcome.lowest_state_of_charge < LEAD_BELOW_EMPTY
    )


def _by_itself(result: Result, number_of: int, limit_V: float) -> bool:
    low = lowest_cell_V(result, number_of) < limit_V
    given_A = column(result.trace, number_of, 0)[low]
    rated_C = result.scenario.bank.batteries[number_of].rated_C
    return bool(low.any() and given_A.max() < IDLE_PER_H * rated_C / 3600.0)


def _below_empty(result: Result, number_of: int) -> Iterator[Caution]:
    battery, outcome = result.scenario.bank.batteries[number_of], result.batteries[number_of]
    limit_V, lowest_V = harmed_below_V(battery.chemistry), outcome.lowest_cell_voltage_V
    low = how_low(result, number_of)
    if low is Low.DRIVEN:
        harm, cure = DRIVEN_EMPTY[is_lead(battery.chemistry)]
        yield Caution(
            BELOW_EMPTY,
            "danger",
            lowest_V,
            limit_V,
            "V",
            f"A cell of {quoted(battery.name)} is driven {_down_to(lowest_V)}"
            f"{_and_level(battery, outcome.lowest_state_of_charge)}: {harm}.",
            cure,
        )
    elif low is Low.DIP and limit_V is not None:
        yield _dip(battery, outcome, limit_V)
    elif low is Low.WEAKEST:
        yield _weakest(battery, lowest_V)
    elif low is Low.NOT and is_lead(battery.chemistry) and _sags(result, number_of):
        yield _sag(battery, lowest_V)


def _down_to(lowest_V: float) -> str:
    """Say how low a cell goes; below 0 V its curve goes on straight, which no cell does."""
    if lowest_V >= 0.0:
        return f"down to {lowest_V:.2f} V"
    return "below 0 V (reversed; how far is not modelled)"


def _and_level(battery: Battery, part: float) -> str:
    """Add the state of charge; of two wells the level of one would contradict what is left."""
    two_wells = any(cell.available_fraction < 1.0 for cell in battery.cells)
    return "" if two_wells else f" and {number(100.0 * part)} % of its charge"


def _is_a_dip(result: Result, number_of: int, limit_V: float) -> bool:
    """Tell whether cells with charge left fall below a limit for moments only, by the timeline."""
    outcome = result.batteries[number_of]
    if outcome.lowest_state_of_charge < NEARLY_EMPTY or outcome.lowest_cell_voltage_V < 0.0:
        return False
    lowest_V = lowest_cell_V(result, number_of)
    return time_above(result.trace[:, 0], -lowest_V, -limit_V) < DIP_S


def lowest_cell_V(result: Result, number_of: int) -> Floats:  # noqa: N802 - the unit as printed
    """Return the voltage of a battery's lowest cell in every row of the trace. [V]

    Parameters
    ----------
    result : Result
    number_of : int
        Place of the battery, from 0.
    """
    rows: Floats = cell_volts(result, number_of).min(axis=1)
    return rows


def cell_volts(result: Result, number_of: int) -> Floats:
    """Return the voltages of a battery's cells, (rows of the trace, cells). [V]

    Parameters
    ----------
    result : Result
    number_of : int
        Place of the battery, from 0.
    """
    batteries = result.scenario.bank.batteries
    first = FIXED + PER_BATTERY * len(batteries)
    first += sum(len(battery.cells) for battery in batteries[:number_of])
    cells: Floats = result.trace[:, first : first + len(batteries[number_of].cells)]
    return cells


def _sags(result: Result, number_of: int) -> bool:
    lowest_V = lowest_cell_V(result, number_of)
    return time_above(result.trace[:, 0], -lowest_V, -LEAD_LOW_V) > DIP_S


def _weakest(battery: Battery, lowest_V: float) -> Caution:
    return _low_lead(
        lowest_V,
        f"The weakest cell of {quoted(battery.name)} falls to {number(lowest_V)} V at the end of "
        "the discharge, while the others still hold: so deep a discharge wears it faster than "
        "them, and a deeper one would reverse it.",
        "Once, in a capacity test, that is usual; day by day let the loads cut off earlier. Charge "
        "it fully and soon.",
    )


def _sag(battery: Battery, lowest_V: float) -> Caution:
    return _low_lead(
        lowest_V,
        f"A cell of {quoted(battery.name)} falls to {number(lowest_V)} V under load; below "
        f"{number(LEAD_LOW_V)} V a lead-acid cell is as good as empty.",
        "Use less power at a time, or let the loads cut off earlier.",
    )


def _low_lead(lowest_V: float, text: str, advice: str) -> Caution:
    return Caution(LOW_CELL, "warning", lowest_V, LEAD_LOW_V, "V", text, advice)


def _dip(battery: Battery, outcome: BatteryOutcome, limit_V: float) -> Caution:
    least = number(100.0 * outcome.lowest_state_of_charge, 2)
    return Caution(
        "cell voltage dips under load",
        "warning",
        outcome.lowest_cell_voltage_V,
        limit_V,
        "V",
        f"A cell of {quoted(battery.name)} dips to {number(outcome.lowest_cell_voltage_V)} V "
        f"under load for seconds, with charge left (never below {least} %).",
        "Use less power at a time, or more batteries; its electronics may cut out at such a dip.",
    )


def harmed_below_V(word: str | None) -> float | None:  # noqa: N802 - the unit as printed
    """Return the cell voltage below which a cell is harmed, None where not known. [V]

    State of charge tells less: a trickle gets more out of lead-acid than its rated discharge.

    Parameters
    ----------
    word : str or None
        Chemistry as in the scenario file.
    """
    chemistry = chemistry_of(word)
    if chemistry is None:
        return None
    return chemistry.lowest_safe_V if chemistry.is_lithium else LEAD_LOWEST_V


def _beyond_full(result: Result, number_of: int) -> Iterator[Caution]:
    battery, outcome = result.scenario.bank.batteries[number_of], result.batteries[number_of]
    chemistry = chemistry_of(battery.chemistry)
    limit_V = None if chemistry is None else chemistry.highest_safe_V
    highest_V, most = outcome.highest_cell_voltage_V, outcome.highest_state_of_charge
    over = most > 1.0 + MARGIN_SOC if limit_V is None else highest_V > limit_V
    lead = is_lead(battery.chemistry)
    if limit_V is not None and over and most <= OVERFULL and lead:
        mean_V = float(cell_volts(result, number_of).mean(axis=1).max())
        if mean_V <= limit_V and highest_V <= limit_V + LEAD_AHEAD_V:
            yield _ahead(battery, highest_V, limit_V, mean_V)
            return
    if over or most > OVERFULL:
        harm = (
            "it loses water and gives off hydrogen" if lead else "this can end in venting or fire"
        )
        yield Caution(
            BEYOND_FULL,
            "danger",
            highest_V,
            limit_V,
            "V",
            f"A cell of {quoted(battery.name)} is driven up to {number(highest_V)} V"
            f"{_and_level(battery, most)}: {harm}.",
            f"{_lower(result, number_of)}, and see that something stops the charge of each "
            "battery.",
        )


def _ahead(battery: Battery, highest_V: float, limit_V: float, mean_V: float) -> Caution:
    return Caution(
        CELL_AHEAD,
        "note",
        highest_V,
        limit_V,
        "V",
        f"The fullest cell of {quoted(battery.name)} rises to {number(highest_V)} V on charge, "
        f"while the mean of its cells stays at {number(mean_V)} V or below: it is full before the "
        "others, and gases until they are.",
        "That is usual where cells differ a little. Keep to the charge voltage of its maker, and "
        "let the charge drop to float when the current has tapered off.",
    )


def _lower(result: Result, number_of: int) -> str:
    """What keeps the voltage of a battery lower, by who charges it."""
    charge_A = np.minimum(column(result.trace, number_of, 0), 0.0)
    cause = cause_of(charge_A, result.trace[:, 3])
    if cause == EXCHANGE and not result.scenario.bank.chargers:
        return (
            "It is the other batteries that charge it: connect it only to those that rest no higher"
        )
    return "Lower the charge voltage" if result.scenario.bank.chargers else "Charge with less"

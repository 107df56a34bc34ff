"""Batteries left deeply discharged, or without anything that stops their discharge."""

from collections.abc import Iterator, Sequence

import numpy as np

from bankSim.model.battery import Battery
from bankSim.model.chemistry import BY_TABLE_ONLY, chemistry_of, is_lead
from bankSim.model.curve import Floats
from bankSim.model.load import Flags
from bankSim.model.rule import Blocks, Watch
from bankSim.sim.cautions.cells import (
    DRIVEN_EMPTY,
    Low,
    harmed_below_V,
    how_low,
)
from bankSim.sim.numbers import named, number, quoted, span
from bankSim.sim.result import BatteryOutcome, Caution, Result
from bankSim.sim.returns import column
from bankSim.sim.runtime import all_gone

UNGUARDED, LEFT_EMPTY = "no low-voltage cut-out", "left deeply discharged"
USED_PER_H = 0.01  # of the label capacity, as a current: a battery with less is left alone
CELLS_DIFFER = 0.05  # of their charge: from here on a mean says so; own choice
# What counts as left empty, and for how long until the end of the run: at 5 % the standing draw
# of electronics ruins a lithium battery within weeks; lead-acid below half sulphates within days.
CHARGE_SOON = "Charge it soon, within a day or so, and stop the loads earlier next time."
MAKERS_WORD = (
    "Charge a battery within a day or so of its cut-out. One that has lain this low is not to be "
    "charged again without its maker's word."
)
LITHIUM_EMPTY, LITHIUM_LEFT_S = 0.05, 2.0 * 3600.0
LEAD_HALF, LEAD_LOW, LEAD_LEFT_S = 0.5, 0.2, 12.0 * 3600.0


def of_unguarded(result: Result) -> Iterator[Caution]:
    """Warn of batteries left deeply discharged, and of those that nothing would stop."""
    for number_of in range(len(result.batteries)):
        yield from _left_empty(result, number_of)
    yield from _no_cut_out(result)


def _left_empty(result: Result, number_of: int) -> Iterator[Caution]:
    battery = result.scenario.bank.batteries[number_of]
    if battery.chemistry in BY_TABLE_ONLY:
        return  # may be stored empty
    chemistry = chemistry_of(battery.chemistry)
    lead = is_lead(battery.chemistry)
    limit, least_s = (LEAD_HALF, LEAD_LEFT_S) if lead else (LITHIUM_EMPTY, LITHIUM_LEFT_S)
    level, current = column(result.trace, number_of, 2), column(result.trace, number_of, 0)
    used = np.abs(current) > USED_PER_H * battery.rated_C / 3600.0
    left_s = _left_for(result.trace[:, 0], used | (level >= limit))
    low = how_low(result, number_of)
    if left_s < least_s or low is Low.DRIVEN:
        return  # what was driven below empty has a graver caution
    mild = chemistry is None or (lead and level[-1] >= LEAD_LOW)
    severity, advice = "note" if mild else "warning", CHARGE_SOON
    harm = "lead-acid left like this sulphates." if lead else "standing draw goes on emptying it."
    if low is Low.BY_ITSELF:
        severity, advice = "danger", MAKERS_WORD
        low_V = harmed_below_V(battery.chemistry)
        harm = f"a cell has run down by itself to below {low_V:.1f} V, and {DRIVEN_EMPTY[lead][0]}."
    elif left_s - _idle_by_default_s(result) < least_s:
        yield _if_left(result, number_of, limit, lead=lead)
        return
    yield Caution(
        LEFT_EMPTY,
        severity,
        100.0 * float(level[-1]),
        100.0 * limit,
        "%",
        f"{quoted(battery.name)} ends at {_level(level[-1])} % of its charge"
        f"{_of_cells(result.batteries[number_of])} and has been left below "
        f"{number(100.0 * limit, 2)} % for {span(left_s)}: {harm}",
        advice,
    )


def _idle_by_default_s(result: Result) -> float:
    """How long a run goes on after its last load only because it was not said how long. [s]"""
    scenario = result.scenario
    if scenario.keys is None or "duration_h" in scenario.keys.simulation.model_fields_set:
        return 0.0
    if scenario.bank.chargers or not all_gone(result):
        return 0.0
    return result.end_time_s - result.bank.runtime_s


def _if_left(result: Result, number_of: int, limit: float, *, lead: bool) -> Caution:
    """Say what would come of leaving a battery as its last load does."""
    level = float(column(result.trace, number_of, 2)[-1])
    harm = "lead-acid sulphates within days" if lead else "standing draw goes on emptying it"
    return Caution(
        LEFT_EMPTY,
        "note",
        100.0 * level,
        100.0 * limit,
        "%",
        f"{quoted(result.batteries[number_of].name)} is down to {_level(level)} % of its charge"
        f"{_of_cells(result.batteries[number_of])} once its loads are off: if it is left so, "
        f"{harm}.",
        "Charge it soon, within a day or so.",
    )


def _level(part: float) -> str:
    """Return a state of charge in percent; what lies just below empty is empty."""
    return number(max(100.0 * float(part), 0.0), 2)


def _of_cells(outcome: BatteryOutcome) -> str:
    """Say that it is a mean where cells differ much, and how far they lie apart."""
    cells = outcome.final_state_of_charge
    if max(cells) - min(cells) < CELLS_DIFFER:
        return ""
    low, high = (number(100.0 * cell, 2) for cell in (min(cells), max(cells)))
    return f" (the mean of its cells, {low} to {high} %)"


def _left_for(time_s: Floats, busy: Flags) -> float:
    """How long before the end a battery was last in use, or held enough. [s]"""
    last = np.flatnonzero(busy)
    first = int(last[-1]) + 1 if last.size else 0
    return float(time_s[-1] - time_s[first]) if first < time_s.size else 0.0


def _no_cut_out(result: Result) -> Iterator[Caution]:
    """Batteries that nothing stops; loads that all stop by themselves protect lead-acid ones."""
    bank = result.scenario.bank
    loads_stop = all(load.cut_off is not None for load in bank.loads)
    bare = [
        battery
        for battery in bank.batteries
        if not _stops(battery) and not (loads_stop and is_lead(battery.chemistry))
    ]
    names = [battery.name for battery in bare]
    if names:
        yield Caution(
            UNGUARDED,
            "warning",
            None,
            None,
            "",
            f"{named(names)} {'has' if len(names) == 1 else 'have'} no rule that stops discharge "
            "at a low voltage; in this prediction nothing protects the cells.",
            _what_to_give(bare),
        )


def _what_to_give(bare: Sequence[Battery]) -> str:
    """Say what stops the discharge of such batteries."""
    lead = [is_lead(battery.chemistry) for battery in bare]
    if all(lead):
        return "Give the loads low-voltage cut-offs; write them into the file if they are there."
    if not any(lead):
        return (
            "Give each battery electronics that stop discharge by the lowest cell; write them into "
            "the file if they are there."
        )
    return (
        "Give lithium batteries their own electronics, and the loads of lead-acid ones a "
        "low-voltage cut-off; write them into the file if they are there."
    )


def _stops(battery: Battery) -> bool:
    guards = (Watch.LOWEST_CELL, Watch.BATTERY_VOLTAGE)
    return any(
        rule.watches in guards and rule.below and rule.blocks & Blocks.DISCHARGE
        for rule in battery.rules
    )

"""Logged events as records with a sentence each."""

from collections.abc import Sequence

from bankSim.kernels import arrays as k
from bankSim.kernels.log import EVENT_FIXED
from bankSim.model.bank import Bank
from bankSim.model.curve import Floats
from bankSim.model.rule import Blocks, Rule, Watch
from bankSim.sim.numbers import number
from bankSim.sim.pack import bank_rules
from bankSim.sim.result import COLLAPSE, REFUSED, TRIP, Event

KELVIN_AT_0_DEGC = 273.15
BLOCK_WORD = {Blocks.CHARGE: "charge", Blocks.DISCHARGE: "discharge", Blocks.BOTH: "both"}
WHAT_WORD = {k.TRIP: TRIP, k.COLLAPSE: COLLAPSE, k.REFUSED: REFUSED}
BANK_TEXT = {
    k.COLLAPSE: "The loads ask for more than the bank can give.",
    k.REFUSED: "Charge is offered, but no battery is connected that may take it.",
}


def read_events(bank: Bank, logged: Sequence[Floats]) -> tuple[Event, ...]:
    """Turn rows of the kernels' event log into records, in order of time and action.

    Parameters
    ----------
    bank : Bank
    logged : sequence of array (6 + 3 n + m,)
        See `bankSim.kernels.log.write_event`.
    """
    rules = bank_rules(bank)
    return tuple(_event(bank, rules, row) for row in logged)


def _event(bank: Bank, rules: list[tuple[int, Rule]], row: Floats) -> Event:
    rule_number = int(row[2])
    return _bank_event(bank, row) if rule_number < 0 else _trip(bank, *rules[rule_number], row)


def _currents(bank: Bank, row: Floats) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Currents of all batteries just before and just after. [A]"""
    n = len(bank.batteries)
    before, after = row[EVENT_FIXED : EVENT_FIXED + n], row[EVENT_FIXED + n : EVENT_FIXED + 2 * n]
    return tuple(before.tolist()), tuple(after.tolist())


def _bank_event(bank: Bank, row: Floats) -> Event:
    """Read an event that concerns the bank as a whole."""
    what = float(row[1])
    before, after = _currents(bank, row)
    return Event(
        time_s=float(row[0]),
        what=WHAT_WORD[what],
        battery=None,
        watches=None,
        cell=None,
        value=None,
        threshold=None,
        unit="",
        blocks=None,
        bus_voltage_V=float(row[5]),
        battery_voltage_V=None,
        cell_voltages_V=None,
        currents_A=before,
        currents_after_A=after,
        text=BANK_TEXT[what],
    )


def _trip(bank: Bank, battery: int, rule: Rule, row: Floats) -> Event:
    """Read an event that a rule of a battery, counted from 0, made."""
    n, name = len(bank.batteries), bank.batteries[battery].name
    first = sum(len(one.cells) for one in bank.batteries[:battery])
    cells = slice(EVENT_FIXED + 3 * n + first, None)
    cell = int(row[3]) - first + 1 if row[3] >= 0 else None
    shift = KELVIN_AT_0_DEGC if rule.watches is Watch.TEMPERATURE else 0.0
    value, threshold = float(row[4]) - shift, rule.threshold - shift
    before, after = _currents(bank, row)
    return Event(
        time_s=float(row[0]),
        what=TRIP,
        battery=name,
        watches=rule.watches.value,
        cell=cell,
        value=value,
        threshold=threshold,
        unit=rule.watches.unit,
        blocks=BLOCK_WORD[rule.blocks],
        bus_voltage_V=float(row[5]),
        battery_voltage_V=float(row[EVENT_FIXED + 2 * n + battery]),
        cell_voltages_V=tuple(row[cells][: len(bank.batteries[battery].cells)].tolist()),
        currents_A=before,
        currents_after_A=after,
        text=_trip_text(name, rule, cell, value, threshold),
    )


def _trip_text(name: str, rule: Rule, cell: int | None, value: float, threshold: float) -> str:
    """Say in one sentence which rule acted and why."""
    what = f"cell {cell}" if cell is not None else f"the {rule.watches.value}"
    unit = "degrees C" if rule.watches is Watch.TEMPERATURE else rule.watches.unit
    limit, read = number(threshold, 4), number(value, 4)
    side = "below" if rule.below else "above"
    reached = "reached" if read == limit else f"read {read} {unit}, {side}"
    held = f" for {rule.delay_s:g} s" if rule.delay_s > 0.0 else ""
    blocked = BLOCK_WORD[rule.blocks].replace("both", "charge and discharge")
    return f"{name} blocks {blocked}: {what} {reached} the limit of {limit} {unit}{held}."

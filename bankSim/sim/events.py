"""Logged events as records with a sentence each."""

from collections.abc import Sequence

from bankSim.kernels import arrays as k
from bankSim.kernels.log import EVENT_FIXED
from bankSim.model.bank import Bank
from bankSim.model.curve import Floats
from bankSim.model.rule import Blocks, Rule, Watch
from bankSim.sim.pack import bank_rules
from bankSim.sim.result import COLLAPSE, REFUSED, TRIP, Event

KELVIN_AT_0_DEGC = 273.15
BLOCK_WORD = {Blocks.CHARGE: "charge", Blocks.DISCHARGE: "discharge", Blocks.BOTH: "both"}
WHAT_WORD = {k.TRIP: TRIP, k.COLLAPSE: COLLAPSE, k.REFUSED: REFUSED}
BANK_TEXT = {
    k.COLLAPSE: "The loads ask for more power than the bank can give, at any voltage.",
    k.REFUSED: "Charge is offered, but every battery still connected blocks charging.",
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
    n, rule_number = len(bank.batteries), int(row[2])
    currents = tuple(row[EVENT_FIXED : EVENT_FIXED + n].tolist())
    after = tuple(row[EVENT_FIXED + n : EVENT_FIXED + 2 * n].tolist())
    if rule_number < 0:
        return Event(
            time_s=float(row[0]),
            what=WHAT_WORD[float(row[1])],
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
            currents_A=currents,
            currents_after_A=after,
            text=BANK_TEXT[float(row[1])],
        )
    number, rule = rules[rule_number]
    first = sum(len(battery.cells) for battery in bank.batteries[:number])
    start = EVENT_FIXED + 3 * n + first
    cell = int(row[3]) - first + 1 if row[3] >= 0 else None
    shift = KELVIN_AT_0_DEGC if rule.watches is Watch.TEMPERATURE else 0.0
    value, threshold = float(row[4]) - shift, rule.threshold - shift
    return Event(
        time_s=float(row[0]),
        what=TRIP,
        battery=bank.batteries[number].name,
        watches=rule.watches.value,
        cell=cell,
        value=value,
        threshold=threshold,
        unit=rule.watches.unit,
        blocks=BLOCK_WORD[rule.blocks],
        bus_voltage_V=float(row[5]),
        battery_voltage_V=float(row[EVENT_FIXED + 2 * n + number]),
        cell_voltages_V=tuple(row[start : start + len(bank.batteries[number].cells)].tolist()),
        currents_A=currents,
        currents_after_A=after,
        text=_trip_text(bank.batteries[number].name, rule, cell, value, threshold),
    )


def _trip_text(name: str, rule: Rule, cell: int | None, value: float, threshold: float) -> str:
    """Say in one sentence which rule acted and why."""
    what = f"cell {cell}" if cell is not None else f"the {rule.watches.value}"
    side = "below" if rule.below else "above"
    unit = "degrees C" if rule.watches is Watch.TEMPERATURE else rule.watches.unit
    held = f" for {rule.delay_s:g} s" if rule.delay_s > 0.0 else ""
    blocked = {"both": "charge and discharge"}.get(BLOCK_WORD[rule.blocks], BLOCK_WORD[rule.blocks])
    return (
        f"{name} blocks {blocked}: {what} read {value:.4g} {unit}, "
        f"{side} the limit of {threshold:.4g} {unit}{held}."
    )

"""Logged events as records with a sentence each."""

from collections.abc import Sequence

from bankSim.kernels import arrays as k
from bankSim.kernels.arrays import EVENT_FIXED, MOST_FRUITLESS
from bankSim.model.bank import Bank
from bankSim.model.cell import ZERO_C_K
from bankSim.model.curve import Floats
from bankSim.model.rule import Blocks, Needs, Rule, Watch
from bankSim.sim.demand import cutting_loads
from bankSim.sim.numbers import number, quoted
from bankSim.sim.pack import Guard, bank_guards
from bankSim.sim.result import (
    COLLAPSE,
    HEATER_OFF,
    HEATER_ON,
    LOAD_OFF,
    LOAD_ON,
    LOAD_STAYS_OFF,
    MAY_RETURN,
    REFUSED,
    RELEASE,
    STAGE,
    STAYS_OUT,
    TRIP,
    Event,
)

BLOCK_WORD = {Blocks.CHARGE: "charge", Blocks.DISCHARGE: "discharge", Blocks.BOTH: "both"}
RULE_WORD = {
    (k.BLOCK, k.TRIP): TRIP,
    (k.BLOCK, k.RELEASE): RELEASE,
    (k.SHED, k.TRIP): LOAD_OFF,
    (k.SHED, k.RELEASE): LOAD_ON,
    (k.SHED, k.STUCK): LOAD_STAYS_OFF,
    (k.HEATS, k.TRIP): HEATER_ON,
    (k.HEATS, k.RELEASE): HEATER_OFF,
    (k.HEATS, k.STUCK): HEATER_OFF,
}
BANK_WORD = {k.COLLAPSE: COLLAPSE, k.REFUSED: REFUSED}
BANK_TEXT = {
    k.COLLAPSE: "The loads ask for more than the bank can give.",
    k.REFUSED: "Charge is offered, but no battery is connected that may take it.",
}
HUNDREDTH = 2  # digits of a temperature behind the point
NEED_TEXT = {Needs.CHARGING: " and it is charged", Needs.LOAD_REMOVED: " and no load draws"}


def read_events(bank: Bank, logged: Sequence[Floats]) -> tuple[Event, ...]:
    """Turn rows of the kernels' event log into records, in order of time and action.

    Parameters
    ----------
    bank : Bank
    logged : sequence of array (6 + 3 n + m,)
        In SI, see `bankSim.kernels.log.write_event`.
    """
    guards = bank_guards(bank)
    return tuple(_event(bank, guards, row) for row in logged)


def _event(bank: Bank, guards: list[Guard], row: Floats) -> Event:
    what, subject = float(row[1]), int(row[2])
    if what in BANK_WORD:
        return _record(bank, row, BANK_WORD[what], text=BANK_TEXT[what])
    if what == k.NEXT_STAGE:
        return _stage(bank, subject, row)
    if what in (k.STAYS_OUT, k.FREED):
        return _held(bank, subject, what, row)
    guard = guards[subject]
    if guard.rule is not None:
        return _rule_event(bank, guard.subject, guard.rule, what, row)
    word = RULE_WORD[(guard.act, what)]
    if guard.act == k.SHED:
        return _load_event(bank, guard.subject, word, row)
    return _record(bank, row, word, guard.subject, text=_heater_text(bank, guard.subject, word))


def _heater_text(bank: Bank, battery: int, word: str) -> str:
    """Say that a heater switches; one that needs a charger is called for, no more."""
    one = bank.batteries[battery]
    assert one.heater is not None
    waits = ": it heats while a charger is on" if one.heater.needs_charger else ""
    does = f"switches on{waits}" if word == HEATER_ON else "switches off"
    return f"The heater of {quoted(one.name)} {does}."


def _record(
    bank: Bank,
    row: Floats,
    what: str,
    battery: int | None = None,
    *,
    watches: str | None = None,
    cell: int | None = None,
    value: float | None = None,
    threshold: float | None = None,
    unit: str = "",
    blocks: str | None = None,
    text: str = "",
    source: str | None = None,
) -> Event:
    """Return an event with the voltages and currents of its row."""
    n = len(bank.batteries)
    before, after = row[EVENT_FIXED : EVENT_FIXED + n], row[EVENT_FIXED + n : EVENT_FIXED + 2 * n]
    volts, cells = None, None
    if battery is not None:
        first = sum(len(one.cells) for one in bank.batteries[:battery])
        place = EVENT_FIXED + 3 * n + first
        volts = float(row[EVENT_FIXED + 2 * n + battery])
        cells = tuple(row[place : place + len(bank.batteries[battery].cells)].tolist())
    return Event(
        time_s=float(row[0]),
        what=what,
        battery=None if battery is None else bank.batteries[battery].name,
        watches=watches,
        cell=cell,
        value=value,
        threshold=threshold,
        unit=unit,
        blocks=blocks,
        bus_voltage_V=float(row[5]),
        battery_voltage_V=volts,
        cell_voltages_V=cells,
        currents_A=tuple(before.tolist()),
        currents_after_A=tuple(after.tolist()),
        text=text,
        source=source,
    )


def _rule_event(bank: Bank, battery: int, rule: Rule, what: float, row: Floats) -> Event:
    """Read an event that a protection rule of a battery, counted from 0, made."""
    name = bank.batteries[battery].name
    first = sum(len(one.cells) for one in bank.batteries[:battery])
    cell = int(row[3]) - first + 1 if row[3] >= 0 else None
    shift = ZERO_C_K if rule.watches is Watch.TEMPERATURE else 0.0
    value, threshold = float(row[4]) - shift, rule.threshold - shift
    text = _trip_text(name, rule, cell, value, threshold)
    if what == k.RELEASE:
        assert rule.release is not None
        threshold = rule.release.threshold - shift
        text = _release_text(name, rule, cell, value, threshold)
    return _record(
        bank,
        row,
        TRIP if what == k.TRIP else RELEASE,
        battery,
        watches=rule.watches.value,
        cell=cell,
        value=value,
        threshold=threshold,
        unit=rule.watches.unit,
        blocks=BLOCK_WORD[rule.blocks],
        text=text,
    )


def _trip_text(name: str, rule: Rule, cell: int | None, value: float, threshold: float) -> str:
    """Say in one sentence which rule acted and why."""
    reached = _reached(rule, value, threshold, rule.below)
    held = f" for {_seconds(rule.delay_s)} s" if rule.delay_s > 0.0 else ""
    return f"{quoted(name)} blocks {_directions(rule)}: {_what(rule, cell)} {reached}{held}."


def _release_text(name: str, rule: Rule, cell: int | None, value: float, threshold: float) -> str:
    """Say in one sentence which rule let go and why."""
    assert rule.release is not None
    reached = _reached(rule, value, threshold, not rule.below)
    held = f" for {_seconds(rule.release.delay_s)} s" if rule.release.delay_s > 0.0 else ""
    needs = NEED_TEXT.get(rule.release.needs, "")
    why = f"{_what(rule, cell)} {reached}{held}{needs}"
    return f"{quoted(name)} allows {_directions(rule)} again: {why}."


def _seconds(value: float) -> str:
    return f"{value:.0f}" if value >= 100.0 else f"{value:.3g}"


def _directions(rule: Rule) -> str:
    return BLOCK_WORD[rule.blocks].replace("both", "charge and discharge")


def _what(rule: Rule, cell: int | None) -> str:
    return f"cell {cell}" if cell is not None else f"the {rule.watches.value}"


def _reached(rule: Rule, value: float, threshold: float, below: bool) -> str:
    unit = rule.watches.unit
    if rule.watches is Watch.TEMPERATURE:
        unit, value = "degrees C", round(value, HUNDREDTH)
    limit, read = number(threshold, 4), number(value, 4)
    side = "below" if below else "above"
    reached = "reached" if read == limit else f"read {read} {unit}, {side}"
    return f"{reached} the limit of {limit} {unit}"


def _load_event(bank: Bank, load: int, word: str, row: Floats) -> Event:
    """Read an event of a load that cuts itself off, counted among those."""
    one = cutting_loads(bank)[load]
    cut = one.cut_off
    assert cut is not None
    text = f"{quoted(one.name)} switches itself off: its voltage stayed below "
    text += f"{number(cut.below_V, 4)} V"
    text += f" for {cut.after_s:g} s." if cut.after_s > 0.0 else "."
    threshold = cut.below_V
    if word == LOAD_ON:
        assert cut.restart_V is not None
        threshold = cut.restart_V
        text = f"{quoted(one.name)} starts again: its voltage is back at {number(threshold, 4)} V."
    if word == LOAD_STAYS_OFF:
        text = f"{quoted(one.name)} has started and stopped in vain too often; it stays off."
    return _record(
        bank,
        row,
        word,
        value=float(row[4]),
        threshold=threshold,
        unit="V",
        text=text,
        source=one.name,
    )


def _stage(bank: Bank, charger: int, row: Floats) -> Event:
    """Read the begin of a charger's next stage, or its end."""
    one, number_of = bank.chargers[charger], int(row[4])
    text = f"{quoted(one.name)} has finished its last stage and switches off."
    if number_of > 0:
        hold = number(one.stages[number_of - 1].hold_V, 4)
        text = f"{quoted(one.name)} begins stage {number_of}: up to {hold} V, then held."
    return _record(bank, row, STAGE, value=float(number_of), text=text, source=one.name)


def _held(bank: Bank, battery: int, what: float, row: Floats) -> Event:
    """Read that a direction stays blocked after too many returns in vain, or may return."""
    name, blocks = bank.batteries[battery].name, BLOCK_WORD[Blocks(int(row[4]))]
    ways = blocks.replace("both", "charge and discharge")
    if what == k.FREED:
        text = f"{quoted(name)} may return to {ways}."
        return _record(bank, row, MAY_RETURN, battery, blocks=blocks, text=text)
    text = (
        f"{quoted(name)} has come back in vain {MOST_FRUITLESS} times in a row; "
        f"{ways} is taken as blocked until a load or "
        "charger switches or some charge has passed the other way."
    )
    return _record(bank, row, STAYS_OUT, battery, blocks=blocks, text=text)

"""Why something switched, in words, read from the event and the rule behind it."""

from bankSim.kernels.arrays import MOST_FRUITLESS
from bankSim.model.rule import Needs, Watch
from bankSim.show.words import volts, whole_or
from bankSim.sim.asking import asking_at
from bankSim.sim.cascades import rule_of
from bankSim.sim.events import HUNDREDTH
from bankSim.sim.numbers import AT_ONCE_S, clean, listing, number, sentence
from bankSim.sim.result import COLLAPSE, RELEASE, STAYS_OUT, TRIP, Event, Result

FALLING_BY_HABIT = (Watch.LOWEST_CELL.value, Watch.BATTERY_VOLTAGE.value)
ALIKE_V = 1e-3
SHORT_S = 0.1
UNFED = "the load asks for more than the bank can give"
NEED_WORDS = {Needs.CHARGING: "it is charged", Needs.LOAD_REMOVED: "no load draws"}


def cut_outs(result: Result) -> list[Event]:
    """First cut-out of each battery that had one, in the order of time."""
    firsts = [battery.first_cut_out for battery in result.batteries]
    known = [event for event in firsts if event is not None]
    return [event for event in result.events if any(event is first for first in known)]


def first_names(result: Result) -> list[str]:
    """Return who cuts out before all others; several when they do so together."""
    events = cut_outs(result)
    return [one.battery or "" for one in events if one.time_s - events[0].time_s <= AT_ONCE_S]


def trips(result: Result) -> list[Event]:
    """Every rule that acted on a battery, whichever direction it blocked."""
    return [event for event in result.events if event.what == TRIP and event.battery is not None]


def first_trips(result: Result) -> list[Event]:
    """Return the first trip of each kind: of one battery, by one rule and limit, one way."""
    kinds: dict[tuple[object, ...], Event] = {}
    for event in trips(result):
        kinds.setdefault((event.battery, event.watches, event.threshold, event.blocks), event)
    return list(kinds.values())


def deciding_cells(event: Event) -> list[int]:
    """Return the cells, counted from 1, that read as the one that decided, to 1 mV."""
    readings = event.cell_voltages_V or ()
    if event.cell is None or not readings:
        return [] if event.cell is None else [event.cell]
    own = readings[event.cell - 1]
    return [k for k, reading in enumerate(readings, start=1) if abs(reading - own) <= ALIKE_V]


def all_alike(event: Event) -> bool:
    """Tell whether a cell decided that read the same, to 1 mV, as all the others."""
    readings = event.cell_voltages_V or ()
    return len(readings) > 1 and len(deciding_cells(event)) == len(readings)


def cause(result: Result, event: Event, *, readings: bool = True) -> str:
    """Why, as the rest of a sentence: "its cell 3 fell to 2.50 V".

    Parameters
    ----------
    result : Result
    event : Event
        One of its events.
    readings : bool
        False: name the limit only, as in "its cell 3 stayed below 2.50 V for 5 s".
    """
    if event.what == COLLAPSE:
        return unfed(result, event.time_s)
    if event.what == RELEASE and event.watches is not None and event.value is not None:
        return _relief(result, event, event.value)
    if event.what == STAYS_OUT:
        return _stays_out(result, event)
    if event.what != TRIP or event.watches is None or event.value is None:
        return clean(event.text) or event.what
    return f"{_subject(event)} {_move(result, event, event.value, readings)}"


def unfed(result: Result, time_s: float) -> str:
    """Say who asks for more than there is at an instant: the load, or only a heater. [s]"""
    asking = asking_at(result, time_s)
    if not asking.only_heaters:
        return UNFED
    return f"{asking.heaters_ask} {UNFED.removeprefix('the load asks ')}"


def goes_without(result: Result) -> str:
    """Name who cannot be fed the first time, as a whole clause: the loads, or a heater alone."""
    first_s = next((event.time_s for event in result.events if event.what == COLLAPSE), None)
    asking = None if first_s is None else asking_at(result, first_s)
    if asking is None or not asking.only_heaters:
        return "The loads cannot be fed"
    return f"{sentence(asking.heater_words)} cannot be fed"


def _stays_out(result: Result, event: Event) -> str:
    """Name every direction that is shut from then on: a rule may block both."""
    alike = [e for e in result.events if e.battery == event.battery and e.what == TRIP]
    tripped = [e.blocks for e in alike if abs(e.time_s - event.time_s) <= AT_ONCE_S]
    ways = {event.blocks, *tripped}
    both = "both" in ways or {"charge", "discharge"} <= ways
    what = "charge and discharge stay" if both else f"{event.blocks} stays"
    return f"{MOST_FRUITLESS} returns in vain in a row: {what} blocked from here on"


def _relief(result: Result, event: Event, value: float) -> str:
    """Why a rule lets go: "its cell 3 stayed above 3.00 V for 30 s and no load draws"."""
    rule = rule_of(result, event)
    past = _amount(value if event.threshold is None else event.threshold, event.unit)
    if rule is None or rule.release is None:
        return f"{_subject(event)} {_is(event)} back at {past}"
    side = "above" if rule.below else "below"
    held = f" for {_delay(rule.release.delay_s)}" if rule.release.delay_s > 0.0 else ""
    needs = NEED_WORDS.get(rule.release.needs)
    verb = f"stayed {side} {past}{held}" if held else f"{_is(event)} back at {past}"
    return f"{_subject(event)} {verb}" + (f" and {needs}" if needs else "")


def _move(result: Result, event: Event, value: float, readings: bool) -> str:
    """What the watched value did: is, stayed below, fell to or rose to."""
    rule, falling = rule_of(result, event), _falling(result, event)
    past = _amount(value if event.threshold is None else event.threshold, event.unit)
    read = _amount(value, event.unit)
    if event.watches == Watch.TEMPERATURE.value and _never_warms(result, event):
        return f"is {read}" + ("" if past == read else f" (limit {past})")
    if rule is not None and rule.delay_s > 0.0:
        side = "below" if falling else "above"
        told = f" (read {read})" if readings and past != read else ""
        return f"stayed {side} {past} for {_delay(rule.delay_s)}{told}"
    verb = "fell to" if falling else "rose to"
    if past == read:
        return f"{verb} {past}"
    if not readings:
        return f"{'fell below' if falling else 'rose above'} {past}"
    return f"{verb} {read} (limit {past})"


def _delay(seconds: float) -> str:
    """Return the delay of a rule, in ms where it is short: those of short circuits are. [s]"""
    short = seconds < SHORT_S
    return f"{whole_or(1e3 * seconds)} ms" if short else f"{whole_or(seconds)} s"


def _never_warms(result: Result, event: Event) -> bool:
    """Tell whether the temperature of the event's battery is fixed during the run."""
    bank = result.scenario.bank
    own = [battery for battery in bank.batteries if battery.name == event.battery]
    return bank.swing_K == 0.0 and all(battery.thermal is None for battery in own)


def _subject(event: Event) -> str:
    if all_alike(event):
        return "all its cells alike"
    cells = deciding_cells(event)
    if len(cells) > 1:
        return f"its cells {listing([str(cell) for cell in cells])} alike"
    if cells:
        return f"its cell {cells[0]}"
    return "its voltage" if event.watches == Watch.BATTERY_VOLTAGE.value else f"its {event.watches}"


def _is(event: Event) -> str:
    """The verb that goes with `_subject`."""
    return "are" if all_alike(event) or len(deciding_cells(event)) > 1 else "is"


def _amount(value: float, unit: str) -> str:
    told = round(value, HUNDREDTH) if unit == Watch.TEMPERATURE.unit else value
    return volts(value) if unit == "V" else f"{number(told)} {unit}"


def _falling(result: Result, event: Event) -> bool:
    """Tell the direction: from the rule when it is known, else from value and limit."""
    rule = rule_of(result, event)
    if rule is not None:
        return rule.below
    if event.value is not None and event.threshold is not None:
        beyond = event.value - event.threshold
        if abs(beyond) > 1e-6 * max(abs(event.threshold), 1e-3):
            return beyond < 0.0
    return event.watches in FALLING_BY_HABIT

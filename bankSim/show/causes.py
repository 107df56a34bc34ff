"""Why something switched, in words, read from the event and the rule behind it."""

from bankSim.model.rule import Watch
from bankSim.show.words import clean, number, volts
from bankSim.sim.result import COLLAPSE, TRIP, Event, Result

FALLING_BY_HABIT = (Watch.LOWEST_CELL.value, Watch.BATTERY_VOLTAGE.value)


def cut_outs(result: Result) -> list[Event]:
    """First cut-out of each battery that had one, in the order of time."""
    firsts = [battery.first_cut_out for battery in result.batteries]
    known = [event for event in firsts if event is not None]
    return [event for event in result.events if any(event is first for first in known)]


def trips(result: Result) -> list[Event]:
    """Every rule that acted on a battery, whichever direction it blocked."""
    return [event for event in result.events if event.what == TRIP and event.battery is not None]


def cause(result: Result, event: Event) -> str:
    """Why, as the rest of a sentence: "its cell 3 fell to 2.50 V"."""
    if event.what == COLLAPSE:
        return "the load asks for more power than the bank can give"
    if event.what != TRIP or event.watches is None or event.value is None:
        return clean(event.text) or event.what
    verb = "fell to" if _falling(result, event) else "rose to"
    return f"its {_subject(event)} {verb} {_amount(event.value, event.unit)}{_limit(event)}"


def _subject(event: Event) -> str:
    if event.cell is not None:
        return f"cell {event.cell}"
    return "voltage" if event.watches == Watch.BATTERY_VOLTAGE.value else str(event.watches)


def _amount(value: float, unit: str) -> str:
    return volts(value) if unit == "V" else f"{number(value)} {unit}"


def _limit(event: Event) -> str:
    """Name the limit where the value went visibly past it (a rule that waits)."""
    if event.threshold is None or event.value is None:
        return ""
    limit = _amount(event.threshold, event.unit)
    return "" if limit == _amount(event.value, event.unit) else f" (limit {limit})"


def _falling(result: Result, event: Event) -> bool:
    """Tell the direction: from the rule when it is clear, else from value and limit."""
    own = [one for one in result.scenario.bank.batteries if one.name == event.battery]
    rules = [rule for battery in own for rule in battery.rules]
    ways = {rule.below for rule in rules if rule.watches.value == event.watches}
    if len(ways) == 1:
        return ways.pop()
    if event.value is not None and event.threshold is not None:
        beyond = event.value - event.threshold
        if abs(beyond) > 1e-6 * max(abs(event.threshold), 1e-3):
            return beyond < 0.0
    return event.watches in FALLING_BY_HABIT

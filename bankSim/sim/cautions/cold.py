"""The cold: electrolyte that freezes (`frozen.py`), and charge that is blocked for hours."""

from collections.abc import Iterator

import numpy as np

from bankSim.model.charger import Charger
from bankSim.model.curve import Floats
from bankSim.model.load import Flags
from bankSim.model.rule import Watch
from bankSim.sim.cautions.chargers_there import could_give_A, off_after
from bankSim.sim.cautions.frozen import of_freezing
from bankSim.sim.numbers import quoted, span
from bankSim.sim.result import RELEASE, STAGE, TRIP, Caution, Event, Result
from bankSim.sim.returns import column

LONG_S = 1.0 * 3600.0  # of a charger there while a battery is too cold; own choice
CHARGER_ON_A = 0.1
NO_ROOM = 0.95  # state of charge from which a battery misses nothing in the cold; own choice
CHARGED_PART = 0.1  # of that time, before others count as charged
NEXT_TO_NO_TIME_S = 60.0


def of_cold(result: Result) -> Iterator[Caution]:
    """Warn of lead-acid that freezes, and of batteries too cold to take charge for long."""
    for number_of in range(len(result.batteries)):
        yield from of_freezing(result, number_of)
        yield from _of_blocked(result, number_of)


def _of_blocked(result: Result, number_of: int) -> Iterator[Caution]:
    """Tell of a charger that is there for hours while a battery is too cold to take charge."""
    name = result.batteries[number_of].name
    lengths_s = np.diff(result.trace[:, 0])
    cold = _too_cold(result, name)
    locked = cold & _could_be_charged(result, number_of, cold)
    blocked_s = float(lengths_s[locked].sum())
    into_others_A = _most_into_others_A(result, number_of)
    into_others_A = 0.5 * (into_others_A[1:] + into_others_A[:-1])
    others_s = float(lengths_s[locked & (into_others_A > CHARGER_ON_A)].sum())
    others = _others(result, number_of, blocked_s, others_s)
    if blocked_s > LONG_S:
        yield Caution(
            "too cold to take charge",
            "warning",
            blocked_s / 3600.0,
            LONG_S / 3600.0,
            "h",
            f"{quoted(name)} is too cold to take charge for {span(blocked_s)} in which a charger "
            f"could charge it{others}.",
            f"Warm it (insulation, {heating(result, number_of)}, a warmer place), or charge when "
            "it is warm enough.",
        )


def heating(result: Result, number_of: int) -> str:
    """Name what warms a battery: a heater, or more of the one that it has."""
    if result.scenario.bank.batteries[number_of].heater is None:
        return "a heater"
    return "more power of its heater, or for longer"


def _could_be_charged(result: Result, number_of: int, cold: Flags) -> Flags:
    """Tell in which spans between rows a charger would charge a battery that let it; (rows - 1,).

    One that has room, by a charger that can give and holds more than the battery's own voltage.
    """
    trace = result.trace
    level, volts = column(trace, number_of, 2), column(trace, number_of, 1)
    room = 0.5 * (level[1:] + level[:-1]) < NO_ROOM
    most_V = np.zeros(cold.size)
    for charger in result.scenario.bank.chargers:
        hold_V = charger.highest_hold_V
        most_V = np.maximum(most_V, np.where(_is_there(result, charger, cold), hold_V, 0.0))
    return np.asarray(room & (most_V > np.maximum(volts[1:], volts[:-1])))


def _is_there(result: Result, charger: Charger, cold: Flags) -> Flags:
    """Tell in which spans a charger could give; what it ended while nobody took it still counts."""
    time_s = result.trace[:, 0]
    middle_s = 0.5 * (time_s[1:] + time_s[:-1])
    on = could_give_A(charger, middle_s, result.scenario.bank.starts_at_s) >= CHARGER_ON_A
    ends_s = [
        event.time_s
        for event in result.events
        if event.what == STAGE and event.source == charger.name and not event.value
        if not cold[min(int(np.searchsorted(time_s, event.time_s, side="right")), cold.size) - 1]
    ]
    return np.asarray(on & ~off_after(on, middle_s, ends_s))


def _most_into_others_A(result: Result, number_of: int) -> Floats:  # noqa: N802 - the unit as printed
    """Return the largest charge current of any other battery in every row of the trace. [A]"""
    into = [
        -column(result.trace, place, 0)
        for place in range(len(result.batteries))
        if place != number_of
    ]
    return np.max(into, axis=0) if into else np.zeros(len(result.trace))


def _others(result: Result, number_of: int, blocked_s: float, others_s: float) -> str:
    """Say whether others are charged meanwhile; nothing where they are for a small part of it."""
    names = [one.name for place, one in enumerate(result.batteries) if place != number_of]
    lone = len(names) == 1
    if names and others_s > CHARGED_PART * blocked_s:
        return f"; {quoted(names[0]) + ' is' if lone else 'others are'} charged meanwhile"
    if names and others_s < NEXT_TO_NO_TIME_S:
        return f"; {quoted(names[0]) + ' is not' if lone else 'no other is'} charged meanwhile"
    return ""


def _too_cold(result: Result, name: str) -> Flags:
    """Tell in which spans between rows the cold blocks a battery's charge; (rows - 1,)."""
    middle_s = 0.5 * (result.trace[1:, 0] + result.trace[:-1, 0])
    cold = np.zeros(middle_s.size, dtype=bool)
    for start_s, end_s in _cold_times(result, name):
        cold |= (middle_s > start_s) & (middle_s < end_s)
    return cold


def _cold_times(result: Result, name: str) -> Iterator[tuple[float, float]]:
    """Times from a rule that blocks charge in the cold until it lets go, or the end. [s]"""
    since_s: float | None = None
    for event in result.events:
        if event.battery != name or event.watches != Watch.TEMPERATURE.value:
            continue
        if event.what == TRIP and since_s is None and _blocks_cold_charge(event):
            since_s = event.time_s
        elif event.what == RELEASE and since_s is not None:
            yield since_s, event.time_s
            since_s = None
    if since_s is not None:
        yield since_s, result.end_time_s


def _blocks_cold_charge(event: Event) -> bool:
    if event.value is None or event.threshold is None:
        return False
    return event.blocks in ("charge", "both") and event.value <= event.threshold

"""Chargers, loads with a cut-off of their own, and heaters, in sentences."""

import numpy as np

from bankSim.model.load import Flags
from bankSim.show.causes import goes_without
from bankSim.show.chapters import HEAVY, USUAL, Chapter
from bankSim.show.charger_stages import (
    GIVES_A,
    holds_words,
    idle_words,
    spans_at_hold,
    stage_holds_V,
)
from bankSim.show.course import BRIEF_S, Course, stretches
from bankSim.show.whens import at
from bankSim.show.words import counted, volts
from bankSim.sim.numbers import AT_ONCE_S, clean, number, quoted, span
from bankSim.sim.result import (
    COLLAPSE,
    HEATER_OFF,
    HEATER_ON,
    LOAD_OFF,
    LOAD_ON,
    LOAD_STAYS_OFF,
    REFUSED,
    STAGE,
    Event,
    Result,
)
from bankSim.sim.stages import cut_short

APART_S = 7200.0
MOST_LINES = 4


def charger_lines(result: Result, course: Course) -> list[str]:
    """One sentence a charger: Ah, hours, peak, time at each hold, later stages."""
    lines = [_charger(result, course, number_of) for number_of in range(len(result.chargers))]
    return _few(lines, "charger", "summary.json")


def _few(lines: list[str], what: str, file: str) -> list[str]:
    """Return the first lines, and how many more there are in which file."""
    hidden = len(lines) - MOST_LINES
    more = [f"{counted(hidden, f'more {what}')}: {file}."] if hidden > 0 else []
    return [*lines[:MOST_LINES], *more]


def _charger(result: Result, course: Course, number_of: int) -> str:
    charger, outcome = result.scenario.bank.chargers[number_of], result.chargers[number_of]
    if outcome.delivered_Ah < 1e-3:
        idle = idle_words(result, course, number_of)
        return f"The charger {quoted(charger.name)} gives nothing{idle and f'; {idle}'}."
    gives = _flows(result, course, number_of)
    parts = [
        f"The charger {quoted(charger.name)} gives {number(outcome.delivered_Ah)} Ah "
        f"({number(outcome.delivered_Wh / 1000.0)} kWh), {number(outcome.peak_A)} A at most",
        f"current flows during {span(float(course.length_s[gives].sum()))}"
        + _periods(len(stretches(course, gives, APART_S))),
        holds_words(result, course, number_of),
        _stages(result, number_of),
    ]
    return f"{'; '.join(part for part in parts if part)}."


def _flows(result: Result, course: Course, number_of: int) -> Flags:
    """Tell in which spans a charger gives; what reads as none between, at its hold, is no break."""
    gives = np.asarray(course.charger_A[number_of] > GIVES_A)
    if not gives.any():
        return gives
    holds_V = stage_holds_V(result, course, result.scenario.bank.chargers[number_of])
    goes_on = np.arange(gives.size) < np.flatnonzero(gives)[-1]
    return np.asarray(gives | (goes_on & spans_at_hold(result, course, holds_V, number_of)))


def _periods(count: int) -> str:
    return f" in {count} periods" if count > 1 else ""


def _given_s(course: Course, windows: list[tuple[float, float]]) -> float:
    """Time within these windows in which some charger gives current. [s]"""
    gives = (course.charger_A > GIVES_A).any(axis=0)
    inside = np.zeros(gives.shape, dtype=bool)
    for start, end in windows:
        inside |= (course.start_s >= start - BRIEF_S) & (course.start_s < end - BRIEF_S)
    return float(course.length_s[gives & inside].sum())


def _stages(result: Result, number_of: int) -> str:
    """When later stages began, and which of them because the one before ran out of time."""
    charger = result.scenario.bank.chargers[number_of]
    own = [e for e in result.events if e.what == STAGE and e.source == charger.name]
    if not own:
        return ""
    ended = [event for event in own if not event.value]
    later = [event for event in own if event.value]
    texts = []
    if later:
        begun = f"stage {later[0].value:.0f} begins {at(result, later[0].time_s)}"
        texts.append(
            begun + (f", a later stage {len(later)} times in all" if len(later) > 1 else "")
        )
    if short := cut_short(result, number_of):
        first = short[0]
        texts.append(
            f"stage {first.stage} ended by its time limit before its voltage was reached "
            f"({number(first.reached_V, 4)} of {volts(first.hold_V)})"
            + (f", the first of {len(short)} such ends" if len(short) > 1 else "")
        )
    if ended:
        texts.append(f"it ends its last stage {at(result, ended[0].time_s)}{_times(ended)}")
    return "; ".join(texts)


def _times(events: list[Event]) -> str:
    return f" (the first of {len(events)} times)" if len(events) > 1 else ""


def _fed_again(result: Result, course: Course, time_s: float) -> str:
    """Say when loads draw current again after they could not be fed."""
    fed = np.flatnonzero((course.loads_A > GIVES_A) & (course.start_s >= time_s))
    return (
        f"; current is drawn again {at(result, float(course.start_s[fed[0]]))}" if fed.size else ""
    )


def load_chapters(result: Result, course: Course) -> list[Chapter]:
    """Chapters of loads that cut themselves off and restart, and of what could not be fed."""
    told = []
    for name in dict.fromkeys(event.source for event in result.events if event.what == LOAD_OFF):
        told.append(_cut_off(result, [event for event in result.events if event.source == name]))
    for what, text in (
        (COLLAPSE, goes_without(result)),
        (REFUSED, "Charge is offered that no battery accepts"),
    ):
        events = [event for event in result.events if event.what == what]
        if events:
            again = f", {counted(len(events), 'time')} in all" if len(events) > 1 else ""
            back = _fed_again(result, course, events[0].time_s) if what == COLLAPSE else ""
            line = f"{text} {at(result, events[0].time_s)}{again}{back}."
            told.append(Chapter(events[0].time_s, line, HEAVY, len(events)))
    return told


def _cut_off(result: Result, own: list[Event]) -> Chapter:
    offs = [event for event in own if event.what == LOAD_OFF]
    backs = [event for event in own if event.what == LOAD_ON]
    gone = any(event.what == LOAD_STAYS_OFF for event in own)
    limit = volts(offs[0].threshold)
    begun = at(result, offs[0].time_s)
    text = f"The load {quoted(offs[0].source or '')} cuts itself off {begun} (below {limit})"
    if len(offs) > 1:
        text += f", {len(offs)} times {_until(offs)}"
    if backs:
        again, restart = at(result, backs[0].time_s), volts(backs[0].threshold)
        if again == begun:  # so soon that both read the same
            later_s = backs[0].time_s - offs[0].time_s
            again = "at once" if later_s < AT_ONCE_S else f"{span(later_s)} later"
        text += f"; it restarts {again}{_times(backs)}, at {restart}"
    if gone or len(backs) < len(offs):
        text += "; in the end it stays off"
    return Chapter(offs[0].time_s, f"{text}.", USUAL, len(own))


def _until(offs: list[Event]) -> str:
    """Say until when a load cuts itself off; within which time, where both ends read the same."""
    first_s, last_s = offs[0].time_s, offs[-1].time_s
    if span(first_s) == span(last_s):
        return f"within {span(last_s - first_s)}"
    return f"up to {span(last_s)}"


def heater_lines(result: Result, course: Course) -> list[str]:
    """One sentence a heater: how often and how long it is switched on."""
    lines = []
    for battery in result.scenario.bank.batteries:
        own = [
            e
            for e in result.events
            if e.battery == battery.name and e.what in (HEATER_ON, HEATER_OFF)
        ]
        ons = [event.time_s for event in own if event.what == HEATER_ON]
        if battery.heater is None or not ons:
            continue
        offs = [event.time_s for event in own if event.what == HEATER_OFF] + [result.end_time_s]
        hours = sum(end - start for start, end in zip(ons, offs, strict=False))
        only = ""
        if battery.heater.needs_charger:
            warms = span(_given_s(course, list(zip(ons, offs, strict=False))))
            only = (
                f"; it warms only while a charger is on: one gives current during {warms} of that"
            )
        lines.append(
            f"The heater of {quoted(clean(battery.name))}, {number(battery.heater.power_W)} W, is "
            f"called for {counted(len(ons), 'time')}, {span(hours)} in all{only}."
        )
    return _few(lines, "heater", "events.csv")

"""Which part of the run the charts show, and the moments worth a closer look."""

import math
from dataclasses import dataclass

from bankSim.show.lines import time_unit
from bankSim.sim.numbers import number, quoted, span
from bankSim.sim.result import RELEASE, Event, Result

STEPS = 400  # of the slider over the whole run
LEAST_S, LEAST_SHOWN_S = 1.0, 1e-3
MOST_SPOTS = 12
CLOSER = 0.02  # of the run, to either side of a moment
LEAST_CLOSER_S, MOST_CLOSER_S = 60.0, 3600.0
TOGETHER = 0.25  # of the reach of a closer look: what is so near is looked at together


@dataclass(frozen=True, slots=True)
class Window:
    """A part of a run. [s]"""

    start_s: float
    end_s: float

    @property
    def hours(self) -> tuple[float, float]:
        """The same in hours, as the charts take it."""
        return self.start_s / 3600.0, self.end_s / 3600.0


@dataclass(frozen=True, slots=True)
class Spot:
    """A moment to look at closer, and what happens there in a few words."""

    time_s: float
    words: str


@dataclass(frozen=True, slots=True)
class Scale:
    """The slider's unit: seconds in it, its name, its step and the last value, in that unit."""

    factor: float
    unit: str
    step: float
    last: float


def whole(result: Result) -> Window:
    """Return the window that shows everything."""
    return Window(0.0, result.end_time_s)


def fitted(window: Window | None, former_end_s: float | None, result: Result) -> Window:
    """Return the window for another run: what was whole stays whole, what is beyond is cut."""
    end_s = result.end_time_s
    if window is None or former_end_s is None:
        return whole(result)
    was_last = window.end_s >= former_end_s * (1.0 - 1e-9)
    last_s = end_s if was_last else min(window.end_s, end_s)
    if window.start_s > last_s - LEAST_S:
        return whole(result)
    return Window(window.start_s, last_s)


def scale(result: Result) -> Scale:
    """Return a slider scale on round numbers which reaches to the end of the run or just beyond."""
    factor, unit = time_unit(result.end_time_s)
    reach = max(result.end_time_s, LEAST_SHOWN_S) / factor
    step = _round_step(reach / STEPS)
    count = math.ceil(reach / step - 1e-6)
    return Scale(factor, unit, step, round(count * step, 9))


def on_scale(window: Window, own: Scale) -> tuple[float, float]:
    """Return the window as the slider shows it: outward to its steps. [its unit]"""
    first = math.floor(window.start_s / own.factor / own.step + 1e-6)
    last = math.ceil(window.end_s / own.factor / own.step - 1e-6)
    ends = round(first * own.step, 9), round(max(last, first + 1) * own.step, 9)
    return min(ends[0], own.last - own.step), min(ends[1], own.last)


def from_scale(ends: tuple[float, float], own: Scale, result: Result) -> Window:
    """Return the window that somebody chose on the slider; never empty, never beyond the run.

    In the unit of the slider.
    """
    first, last = sorted(ends)
    if last - first < own.step / 2.0:
        first, last = max(0.0, first - own.step), last + own.step
    end_s = min(last * own.factor, result.end_time_s)
    latest_s = max(0.0, end_s - own.step * own.factor / 2.0)
    return Window(min(first * own.factor, latest_s), end_s)


def closer(result: Result, time_s: float) -> Window:
    """Return the surroundings of a moment: some minutes, up to an hour to either side."""
    reach_s = reach_of(result)
    start_s = max(0.0, time_s - reach_s)
    end_s = min(max(time_s + reach_s, start_s + LEAST_S), result.end_time_s)
    return Window(start_s, end_s)


def reach_of(result: Result) -> float:
    """Return how far a closer look goes to either side. [s]"""
    return min(max(CLOSER * result.end_time_s, LEAST_CLOSER_S), MOST_CLOSER_S)


def spots(result: Result) -> list[Spot]:
    """Return the cut-outs and returns to look at; what is close together is one."""
    gap_s = TOGETHER * reach_of(result)
    groups: list[list[Event]] = []
    for event in result.events:
        if not (event.cuts_out or _returns(event)):
            continue
        if groups and event.time_s - groups[-1][0].time_s <= gap_s:
            groups[-1].append(event)
        else:
            groups.append([event])
    return [Spot(group[0].time_s, _words(group)) for group in groups]


def _returns(event: Event) -> bool:
    return event.what == RELEASE and event.battery is not None and event.blocks != "charge"


def _words(group: list[Event]) -> str:
    """As in '"old" out, 41.2 h', or how many things happen there."""
    first = group[0]
    did = "out" if first.cuts_out else "back"
    more = f" and {len(group) - 1} more" if len(group) > 1 else ""
    return f"{quoted(first.battery or '')} {did}{more}, {span(first.time_s)}"


def window_words(window: Window) -> str:
    """As in "41.0 h to 42.6 h"; digits enough to tell the two ends apart."""
    digits = 3 if window.end_s - window.start_s > 0.02 * window.end_s else 5
    factor, unit = time_unit(window.end_s)
    ends = (number(time_s / factor, digits) for time_s in (window.start_s, window.end_s))
    return " to ".join(f"{end} {unit}" for end in ends)


def _round_step(least: float) -> float:
    """Return 1, 2 or 5 times a power of ten, at least so large."""
    ten = 10.0**-9
    while ten * 10.0 <= least:
        ten *= 10.0
    return next(round(ten * times, 10) for times in (1, 2, 5, 10) if ten * times >= least * 0.999)

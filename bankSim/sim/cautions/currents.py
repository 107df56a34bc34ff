"""What every conductor of a bank carries over a run."""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from bankSim.model.bank import Layout
from bankSim.model.curve import Floats
from bankSim.model.load import Flags
from bankSim.sim.numbers import quoted
from bankSim.sim.result import Result
from bankSim.sim.returns import NO_CURRENT_A, column, times_above

Words = NDArray[np.str_]

LOADS, CHARGERS, EXCHANGE = "loads", "chargers", "exchange"
OUTSIDE = 0.5  # part of a current that loads or chargers must make to be its cause; own choice


@dataclass(frozen=True, slots=True)
class Driver:
    """What drives the largest of some currents.

    Parameters
    ----------
    cause : str
        `LOADS`, `CHARGERS` or `EXCHANGE` between batteries.
    peak_s : float
        When it flows. [s]
    peak_A : float
        Its size. [A]
    since_start : bool
        Whether it is still that of the first connection: from battery to battery, one way, ever
        since the start.
    """

    cause: str
    peak_s: float
    peak_A: float
    since_start: bool


@dataclass(frozen=True, eq=False)
class Conductor:
    """A lead, link or main conductor with its current over time.

    Parameters
    ----------
    name : str
        As inside a sentence, "the lead of old".
    area_mm2, fuse_A : float or None
        None where not given. [mm2], [A]
    time_s, current_A : array (rows,)
        [s], [A]
    peak_A : float
        Largest size of the current, also between rows. [A]
    driver : Driver
        What drives that peak.
    battery : str or None
        Whose lead it is.
    """

    name: str
    area_mm2: float | None
    fuse_A: float | None
    time_s: Floats
    current_A: Floats
    peak_A: float
    driver: Driver
    battery: str | None = None

    def lasting_A(self, window_s: float) -> float:  # noqa: N802 - the unit as printed
        """Return the largest root of the mean square over a window of that length. [A]

        Of a shorter run, that over the whole run.
        """
        return largest_rms(self.time_s, self.current_A, window_s)


def conductors(result: Result) -> Iterator[Conductor]:
    """Every battery's lead, the main conductors, then the links of a row.

    Parameters
    ----------
    result : Result
    """
    bank, time_s, main = result.scenario.bank, result.trace[:, 0], result.trace[:, 3]
    currents = [column(result.trace, k, 0) for k in range(len(bank.batteries))]
    for battery, outcome, current in zip(bank.batteries, result.batteries, currents, strict=True):
        peak_A = max(outcome.peak_discharge_A, outcome.peak_charge_A)
        name, driver = f"the lead of {quoted(battery.name)}", driver_of(time_s, current, main)
        area_mm2, fuse_A = battery.lead_area_mm2, battery.fuse_A
        yield Conductor(name, area_mm2, fuse_A, time_s, current, peak_A, driver, battery.name)
    wiring, peak_A = bank.wiring, result.bank.peak_A
    area_mm2, fuse_A = wiring.main_area_mm2, wiring.main_fuse_A
    driver = driver_of(time_s, main, main)
    yield Conductor("the main lead", area_mm2, fuse_A, time_s, main, peak_A, driver)
    if wiring.layout is not Layout.EQUAL_LEADS:
        for place, (first, second) in enumerate(pairwise(bank.batteries)):
            name = f"the link between {quoted(first.name)} and {quoted(second.name)}"
            for rail in _rails(currents, place, wiring.layout):
                peak = float(np.abs(rail).max(initial=0.0))
                driver = driver_of(time_s, rail, main)
                yield Conductor(name, wiring.link_area_mm2, None, time_s, rail, peak, driver)


def cause_of(current_A: Floats, bank_A: Floats) -> str:
    """Tell what drives the largest of these currents: loads, chargers or other batteries.

    Parameters
    ----------
    current_A, bank_A : array (rows,)
        Of a conductor, and of the whole bank at the same instants; discharge positive. [A]

    Returns
    -------
    cause : str
        `LOADS`, `CHARGERS` or `EXCHANGE`.
    """
    at = int(np.argmax(np.abs(current_A)))
    return str(_causes(current_A[at : at + 1], bank_A[at : at + 1])[0])


def _causes(own_A: Floats, bank_A: Floats) -> Words:
    """What drives each of these currents."""
    small = np.abs(bank_A) < OUTSIDE * np.abs(own_A)
    outside = np.where(bank_A >= 0.0, LOADS, CHARGERS)
    causes: Words = np.where(small | (own_A * bank_A < 0.0), EXCHANGE, outside)
    return causes


def driver_of(
    time_s: Floats, current_A: Floats, bank_A: Floats, counts: Flags | None = None
) -> Driver:
    """Tell what drives the largest of these currents, and when.

    Parameters
    ----------
    time_s : array (rows,)
        [s]
    current_A, bank_A : array (rows,)
        As for `cause_of`. [A]
    counts : array of bool (rows,), optional
        Rows to look at; without it, all.
    """
    own_A = current_A if counts is None else np.where(counts, current_A, 0.0)
    at = int(np.argmax(np.abs(own_A)))
    until_A = current_A[: at + 1]
    flows = np.abs(until_A) > NO_CURRENT_A
    exchanged = _causes(until_A, bank_A[: at + 1]) == EXCHANGE
    since_start = bool((~flows | (exchanged & (until_A * current_A[at] > 0.0))).all())
    cause, peak_A = cause_of(own_A, bank_A), float(abs(own_A[at]))
    return Driver(cause, float(time_s[at]), peak_A, since_start)


def drivers_above(
    time_s: Floats, current_A: Floats, bank_A: Floats, limit_A: float, counts: Flags
) -> list[tuple[Driver, float]]:
    """Tell what drives a current while it is above a limit, with its time, the longest first. [s]

    Parameters
    ----------
    time_s : array (rows,)
        [s]
    current_A, bank_A : array (rows,)
        As for `cause_of`. [A]
    limit_A : float
        Of the size of the current. [A]
    counts : array of bool (rows,)
        Rows to look at.
    """
    steps_s = times_above(time_s, np.where(counts, np.abs(current_A), 0.0), limit_A)
    at_rows = _causes(current_A, bank_A)
    in_steps = _causes(*(0.5 * (amps[:-1] + amps[1:]) for amps in (current_A, bank_A)))
    found = []
    for cause in (LOADS, CHARGERS, EXCHANGE):
        own = counts & (at_rows == cause)
        if float(np.abs(current_A[own]).max(initial=0.0)) > limit_A:
            driver = driver_of(time_s, current_A, bank_A, own)
            found.append((driver, float(steps_s[in_steps == cause].sum())))
    return sorted(found, key=lambda one: -one[1])


def _rails(currents: list[Floats], place: int, layout: Layout) -> list[Floats]:
    """Currents in the links behind that battery, of one rail or of both where they differ."""
    beyond = np.sum(currents[place + 1 :], axis=0)
    if layout is Layout.SAME_END:
        return [beyond]
    return [beyond, np.sum(currents[: place + 1], axis=0)]


def largest_rms(time_s: Floats, current_A: Floats, window_s: float) -> float:
    """Return the largest root mean square over any window, current straight between rows. [A]

    Windows that begin or end at a row are looked at.

    Parameters
    ----------
    time_s, current_A : array (rows,)
        Times may repeat where the current jumps. [s], [A]
    window_s : float
        Of a shorter record all is taken. [s]
    """
    return math.sqrt(max(_largest_mean(time_s, current_A, window_s, 2), 0.0))


def first_above(time_s: Floats, current_A: Floats, window_s: float, limit_A: float) -> float | None:
    """Return when the root mean square over a window first passes a limit. [s]

    None where it never does, and where the record is shorter than the window. Windows that begin
    or end at a row are looked at.

    Parameters
    ----------
    time_s, current_A : array (rows,)
        As for `largest_rms`. [s], [A]
    window_s, limit_A : float
        [s], [A]
    """
    if time_s[-1] - time_s[0] < window_s:
        return None
    begins, means = _window_means(time_s, current_A, window_s, 2)
    over = begins[means > limit_A * limit_A]
    return float(over.min()) + window_s if over.size else None


def rms_between(time_s: Floats, current_A: Floats, start_s: float, end_s: float) -> float:
    """Return the root mean square of a current between two instants. [A]

    Parameters
    ----------
    time_s, current_A : array (rows,)
        As for `largest_rms`. [s], [A]
    start_s, end_s : float
        The second is later. [s]
    """
    begun, done = _integral(time_s, current_A, np.array([start_s, end_s]), 2)
    return math.sqrt(max(float(done - begun) / (end_s - start_s), 0.0))


def largest_mean(time_s: Floats, current_A: Floats, window_s: float) -> float:
    """Same as `largest_rms`, the plain mean. [A]"""
    return _largest_mean(time_s, current_A, window_s, 1)


def _largest_mean(time_s: Floats, current_A: Floats, window_s: float, power: int) -> float:
    """Largest mean of a power of the current over any window."""
    window_s = min(window_s, float(time_s[-1] - time_s[0]))
    if window_s <= 0.0:
        return 0.0
    return float(_window_means(time_s, current_A, window_s, power)[1].max(initial=0.0))


def _window_means(
    time_s: Floats, current_A: Floats, window_s: float, power: int
) -> tuple[Floats, Floats]:
    """Begin and mean of a power of the current of every window that begins or ends at a row."""
    begins = np.concatenate([time_s, time_s - window_s])
    begins = begins[(begins >= time_s[0]) & (begins <= time_s[-1] - window_s)]
    ends_s = begins + window_s
    gained = _integral(time_s, current_A, ends_s, power) - _integral(
        time_s, current_A, begins, power
    )
    return begins, gained / window_s


def _integral(time_s: Floats, current_A: Floats, at_s: Floats, power: int) -> Floats:
    """Integral of a power (1, 2) of a current straight between rows up to instants. [A s, A2 s]"""
    steps_s, start, end = np.diff(time_s), current_A[:-1], current_A[1:]
    total = np.concatenate([[0.0], np.cumsum(_over_step(steps_s, start, end, power))])
    row = np.clip(np.searchsorted(time_s, at_s, side="right") - 1, 0, steps_s.size - 1)
    past_s = np.clip(at_s - time_s[row], 0.0, steps_s[row])
    part = np.divide(past_s, steps_s[row], out=np.zeros_like(past_s), where=past_s > 0.0)
    there = start[row] + part * (end[row] - start[row])
    whole: Floats = total[row] + _over_step(past_s, start[row], there, power)
    return whole


def _over_step(steps_s: Floats, start_A: Floats, end_A: Floats, power: int) -> Floats:
    """Integral of a power (1, 2) of a current over steps in which it is straight."""
    mean = 0.5 * (start_A + end_A)
    if power == 2:
        mean = (start_A * start_A + start_A * end_A + end_A * end_A) / 3.0
    return steps_s * mean

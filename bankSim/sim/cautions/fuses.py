"""Fuses: sure to blow, overloaded, near their rating for long, or too large for their cable."""

import math
from collections.abc import Iterator

import numpy as np

from bankSim.model.cables import allowed_A
from bankSim.model.runs import longest_run
from bankSim.sim.cautions.conductors import BEST_C, in_air, warmest_air_C
from bankSim.sim.cautions.currents import Conductor, conductors, first_above, rms_between
from bankSim.sim.cautions.easier import easier, must_not_be_joined
from bankSim.sim.numbers import named, number, sentence, span
from bankSim.sim.result import Caution, Result

WOULD_BLOW = "fuse would blow"

# A fuse of the usual kinds carries its rating for ever and 1.35 times that for minutes (ISO 8820,
# from memory): currents are averaged over a minute, as their square.
FUSE_S = 60.0
BEARS = 1.1  # times the rating, for days (ISO 8820-3: 100 h; from memory)
# What a fuse does not bear: this many times its rating, for so long [s]. Common practice, from
# memory; makers' curves tell more, and each fuse differs.
BLOWS = ((6.0, 1.0), (2.0, 60.0), (1.35, 600.0))
# Most that a fuse should carry for hours, of its rating: common practice, no source.
LASTING, LONG_S = 0.8, 3600.0
# ABYC E-11 lets a fuse have up to 1.5 times what its cable bears (from memory): beyond that a fault
# may set the cable on fire before the fuse blows.
FAR_TOO_LARGE = 1.5


def of_fuses(result: Result) -> Iterator[Caution]:
    """Warn of fuses that carry too much, or that protect no cable."""
    for one in conductors(result):
        if one.fuse_A is not None:
            blown = _blows(one, one.fuse_A)
            if blown is None:
                overloaded = [*_overloaded(result, one, one.fuse_A)]
                yield from overloaded or _near_rating(result, one, one.fuse_A)
            else:
                yield _would_blow(result, one, one.fuse_A, *blown)
            yield from _too_large(one, one.fuse_A, warmest_air_C(result.scenario.bank))


def _blows(one: Conductor, fuse_A: float) -> tuple[float, float, float] | None:
    """Find when a fuse has first carried too much for too long, over which time, and how much.

    Units: [s], [s], [A]
    """
    found = []
    for times, window_s in BLOWS:
        at_s = first_above(one.time_s, one.current_A, window_s, times * fuse_A)
        if at_s is not None:
            found.append((at_s, window_s))
    if not found:
        return None
    at_s, window_s = min(found)
    return at_s, window_s, rms_between(one.time_s, one.current_A, at_s - window_s, at_s)


def _would_blow(
    result: Result, one: Conductor, fuse_A: float, at_s: float, window_s: float, carried_A: float
) -> Caution:
    what = _then(result, one, (at_s - window_s, at_s))
    times = number(carried_A / fuse_A, 2)
    return Caution(
        WOULD_BLOW,
        "danger",
        carried_A,
        fuse_A,
        "A",
        f"The {number(fuse_A)} A fuse of {one.name} would blow after about {span(at_s, 2)}: it "
        f"carries {number(carried_A)} A (root mean square) over {span(window_s, 2)}, {times} times "
        f"its rating. Fuses never blow in this prediction, so what follows is on paper "
        f"only; {what}.",
        _advice(result, one),
    )


def _then(result: Result, one: Conductor, when_s: tuple[float, float]) -> str:
    """Who carries what a fuse leaves as it blows, and whether those fuses can bear it."""
    others = [own for own in result.scenario.bank.batteries if own.name != one.battery]
    if one.battery is None or not others:
        return "nothing would then come out of the bank or go into it"
    bank_A = rms_between(one.time_s, result.trace[:, 3], *when_s)
    fuses_A = sum(math.inf if own.fuse_A is None else own.fuse_A for own in others)
    follow = ""
    if bank_A > BLOWS[-1][0] * fuses_A:
        follow = f", and {'its fuse' if len(others) == 1 else 'their fuses'} would follow"
    return f"{named([own.name for own in others])} would then carry all{follow}"


def _overloaded(result: Result, one: Conductor, fuse_A: float) -> Iterator[Caution]:
    lasting_A, peak_A = one.lasting_A(FUSE_S), one.peak_A
    lasts, beyond = lasting_A > fuse_A, lasting_A > BEARS * fuse_A
    if not lasts and peak_A <= fuse_A:
        return
    how = f"for less than a minute; its {number(fuse_A)} A fuse may or may not blow"
    if lasts:
        how = f"{number(lasting_A)} A (root mean square) over a minute; its fuse is rated for "
        how += f"{number(fuse_A)} A and "
        how += "may blow in time" if beyond else "gets hot, though most bear a tenth more"
    yield Caution(
        "fuse overloaded",
        "danger" if beyond else "warning",
        peak_A,
        fuse_A,
        "A",
        f"{sentence(one.name)} carries up to {number(peak_A)} A, {how}.",
        _advice(result, one),
    )


def _near_rating(result: Result, one: Conductor, fuse_A: float) -> Iterator[Caution]:
    """Tell of more than a fuse should carry for hours, by the longest time without a break."""
    ends = longest_run(one.time_s, np.abs(one.current_A) > LASTING * fuse_A)
    begin_s, end_s = (float(one.time_s[row]) for row in ends)
    if end_s - begin_s < LONG_S:
        return
    carried_A = rms_between(one.time_s, one.current_A, begin_s, end_s)
    yield Caution(
        "fuse near its rating for long",
        "note",
        carried_A,
        LASTING * fuse_A,
        "A",
        f"The {number(fuse_A)} A fuse of {one.name} carries {number(carried_A)} A (root mean "
        f"square) for {span(end_s - begin_s)} without a break, {100.0 * carried_A / fuse_A:.0f} % "
        f"of its rating; for hours at most {100.0 * LASTING:.0f} % is common practice (no source).",
        _advice(result, one),
    )


def _advice(result: Result, one: Conductor) -> str:
    if must_not_be_joined(result, one.driver):  # no fuse makes that right
        return f"{easier(result, one.driver)}."
    return f"{easier(result, one.driver)}; a larger fuse only if cable and battery allow it."


def _too_large(one: Conductor, fuse_A: float, air_C: float) -> Iterator[Caution]:
    if one.area_mm2 is None:
        return
    most_A = allowed_A(one.area_mm2, BEST_C, air_C)
    if fuse_A > most_A:
        yield Caution(
            "fuse too large for its cable",
            "danger" if fuse_A > FAR_TOO_LARGE * most_A else "warning",
            fuse_A,
            most_A,
            "A",
            f"The fuse of {one.name} is rated for {number(fuse_A)} A; its {one.area_mm2:g} mm2 "
            f"carry {number(most_A)} A even with insulation for {BEST_C} degrees C{in_air(air_C)} "
            "(table in the style of ISO 10133).",
            "A fuse protects its cable: take a smaller fuse or a thicker cable.",
        )

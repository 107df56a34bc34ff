"""Leads, links and main conductors against what their copper may carry, and what protects them."""

import math
from collections.abc import Iterator
from itertools import pairwise

from bankSim.model.bank import Bank, Layout
from bankSim.model.battery import Battery
from bankSim.model.cables import INSULATION_C, TABLE_AIR_C, allowed_A
from bankSim.model.cell import ZERO_C_K
from bankSim.sim.cautions.currents import Conductor, conductors
from bankSim.sim.numbers import number, quoted, sentence
from bankSim.sim.result import Caution, Result

# A lead of 25 to 70 mm2 warms up in 5 to 15 minutes (from memory): currents are averaged over
# five, as their square, which is on the safe side.
CABLE_S = 300.0
USUAL_C, BEST_C = INSULATION_C[0], INSULATION_C[-1]


def of_conductors(result: Result) -> Iterator[Caution]:
    """Warn of cables that carry more than the table of their area allows, or lack a fuse."""
    air_C = warmest_air_C(result.scenario.bank)
    worst: dict[str, tuple[float, Caution]] = {}
    for one in conductors(result):
        if one.area_mm2 is not None:
            lasting_A = one.lasting_A(CABLE_S)
            usual_A = allowed_A(one.area_mm2, USUAL_C, air_C)
            if lasting_A > max(usual_A, worst.get(one.name, (0.0,))[0]):
                worst[one.name] = lasting_A, _overloaded(one, one.area_mm2, lasting_A, air_C)
    for _, caution in worst.values():
        yield caution
    yield from _unprotected(result.scenario.bank, air_C)


def warmest_air_C(bank: Bank) -> float:  # noqa: N802 - the unit as printed
    """Return the highest temperature of the surroundings over a day. [degC]

    Parameters
    ----------
    bank : Bank
    """
    return bank.temperature_K + bank.swing_K - ZERO_C_K


def in_air(air_C: float) -> str:
    """Say in which air a cable may carry so much; nothing where that of the table holds.

    Parameters
    ----------
    air_C : float
        [degC]
    """
    return f" in air of {number(air_C)} degrees C" if air_C > TABLE_AIR_C else ""


def _overloaded(one: Conductor, area_mm2: float, lasting_A: float, air_C: float) -> Caution:
    usual_A, most_A = (allowed_A(area_mm2, stands_C, air_C) for stands_C in (USUAL_C, BEST_C))
    return Caution(
        "cable overloaded",
        "danger" if lasting_A > most_A else "warning",
        lasting_A,
        usual_A,
        "A",
        f"{sentence(one.name)} carries {number(lasting_A)} A over 5 minutes; its {area_mm2:g} mm2 "
        f"may carry {number(usual_A)} A with insulation for {USUAL_C} degrees C and "
        f"{number(most_A)} A with {BEST_C}{in_air(air_C)} (table in the style of ISO 10133, from "
        "memory).",
        "Take a thicker cable; in bundles, pipes and engine rooms it may carry less than that.",
    )


def _unprotected(bank: Bank, air_C: float) -> Iterator[Caution]:
    """Tell of main conductors and links that the fuses of the batteries do not protect."""
    fuses_A = _together_A(bank.batteries)
    wiring = bank.wiring
    if not math.isfinite(fuses_A):
        return  # the missing fuses are told by themselves
    if wiring.main_area_mm2 is not None and wiring.main_fuse_A is None:
        yield from _too_thin(
            "the main lead",
            wiring.main_area_mm2,
            fuses_A,
            air_C,
            "warning",
            "Put a fuse into the main lead where it leaves the batteries, rated for its cable, and "
            "write it into the file: main = { ..., fuse_A = ... }.",
        )
    if wiring.layout is not Layout.EQUAL_LEADS and wiring.link_area_mm2 is not None:
        batteries = bank.batteries
        sides = [
            (max(_together_A(batteries[:at]), _together_A(batteries[at:])), first, second)
            for at, (first, second) in enumerate(pairwise(batteries), 1)
        ]
        if sides:
            most_A, first, second = max(sides, key=lambda side: side[0])
            yield from _too_thin(
                f"the link between {quoted(first.name)} and {quoted(second.name)}",
                wiring.link_area_mm2,
                most_A,
                air_C,
                "note",
                "Take thicker links, or join the batteries where every lead has its own fuse.",
            )


def _together_A(batteries: tuple[Battery, ...]) -> float:  # noqa: N802 - the unit as printed
    """What the fuses of some batteries let through together, inf where one has none. [A]"""
    return sum(math.inf if one.fuse_A is None else one.fuse_A for one in batteries)


def _too_thin(
    name: str, area_mm2: float, fuses_A: float, air_C: float, severity: str, advice: str
) -> Iterator[Caution]:
    most_A = allowed_A(area_mm2, BEST_C, air_C)
    if fuses_A > most_A:
        yield Caution(
            "cable that no fuse protects",
            severity,
            fuses_A,
            most_A,
            "A",
            f"No fuse protects {name}: its {area_mm2:g} mm2 carry {number(most_A)} A even with "
            f"insulation for {BEST_C} degrees C{in_air(air_C)} (table in the style of ISO 10133, "
            f"from memory), and the fuses of the batteries let {number(fuses_A)} A through "
            "together.",
            advice,
        )

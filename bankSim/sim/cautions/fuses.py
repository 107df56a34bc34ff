"""Fuses: overloaded, missing, or too large for their cable."""

from collections.abc import Iterator

from bankSim.model.cables import INSULATION_C, allowed_A
from bankSim.sim.cautions.currents import Conductor, conductors
from bankSim.sim.numbers import number, sentence
from bankSim.sim.result import Caution, Result

# A fuse of the usual kinds carries its rating for ever and 1.35 times that for minutes (ISO 8820,
# from memory): currents are averaged over a minute, as their square.
FUSE_S = 60.0
# ABYC E-11 lets a fuse have up to 1.5 times what its cable bears (from memory): beyond that a fault
# may set the cable on fire before the fuse blows.
FAR_TOO_LARGE = 1.5


def of_fuses(result: Result) -> Iterator[Caution]:
    """Warn of fuses that carry too much, or that protect no cable."""
    for one in conductors(result):
        if one.fuse_A is not None:
            yield from _overloaded(one, one.fuse_A)
            yield from _too_large(one, one.fuse_A)


def _overloaded(one: Conductor, fuse_A: float) -> Iterator[Caution]:
    lasting_A, peak_A = one.lasting_A(FUSE_S), one.peak_A
    lasts = lasting_A > fuse_A
    if not lasts and peak_A <= fuse_A:
        return
    how = "for less than a minute, so it may or may not blow"
    if lasts:
        how = f"{number(lasting_A)} A (root mean square) over a minute"
    yield Caution(
        "fuse overloaded",
        "danger" if lasts else "warning",
        peak_A,
        fuse_A,
        "A",
        f"{sentence(one.name)} carries up to {number(peak_A)} A, {how}; its fuse is rated for "
        f"{number(fuse_A)} A.",
        f"Use {'a smaller charger' if one.charging else 'less power at a time'}; a larger fuse "
        "only if cable and battery allow it.",
    )


def _too_large(one: Conductor, fuse_A: float) -> Iterator[Caution]:
    if one.area_mm2 is None:
        return
    best_C = INSULATION_C[-1]
    most_A = allowed_A(one.area_mm2, best_C)
    if fuse_A > most_A:
        yield Caution(
            "fuse too large for its cable",
            "danger" if fuse_A > FAR_TOO_LARGE * most_A else "warning",
            fuse_A,
            most_A,
            "A",
            f"The fuse of {one.name} is rated for {number(fuse_A)} A; its {one.area_mm2:g} mm2 "
            f"carry {number(most_A)} A even with insulation for {best_C} degrees C (table in the "
            "style of ISO 10133).",
            "A fuse protects its cable: take a smaller fuse or a thicker cable.",
        )

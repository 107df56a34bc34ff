"""Leads, links and main conductors against what their copper may carry."""

from collections.abc import Iterator

from bankSim.model.cables import INSULATION_C, allowed_A
from bankSim.sim.cautions.currents import Conductor, conductors
from bankSim.sim.numbers import number, sentence
from bankSim.sim.result import Caution, Result

# A lead of 25 to 70 mm2 warms up in 5 to 15 minutes (from memory): currents are averaged over
# five, as their square, which is on the safe side.
CABLE_S = 300.0


def of_conductors(result: Result) -> Iterator[Caution]:
    """Warn of cables that carry more than the table of their area allows."""
    worst: dict[str, tuple[float, Caution]] = {}
    for one in conductors(result):
        if one.area_mm2 is not None:
            lasting_A = one.lasting_A(CABLE_S)
            if lasting_A > max(allowed_A(one.area_mm2), worst.get(one.name, (0.0,))[0]):
                worst[one.name] = lasting_A, _overloaded(one, one.area_mm2, lasting_A)
    for _, caution in worst.values():
        yield caution


def _overloaded(one: Conductor, area_mm2: float, lasting_A: float) -> Caution:
    usual_C, best_C = INSULATION_C[0], INSULATION_C[-1]
    usual_A, most_A = allowed_A(area_mm2), allowed_A(area_mm2, best_C)
    return Caution(
        "cable overloaded",
        "danger" if lasting_A > most_A else "warning",
        lasting_A,
        usual_A,
        "A",
        f"{sentence(one.name)} carries {number(lasting_A)} A over 5 minutes; its {area_mm2:g} mm2 "
        f"may carry {number(usual_A)} A with insulation for {usual_C} degrees C and "
        f"{number(most_A)} A with {best_C} (table in the style of ISO 10133, from memory).",
        "Take a thicker cable; in bundles, pipes and engine rooms it may carry less than that.",
    )

"""Chargers whose stages end by the clock before their voltage was reached."""

from collections.abc import Iterator

from bankSim.model.chemistry import is_lead
from bankSim.sim.numbers import after, number, quoted, span
from bankSim.sim.result import Caution, Result
from bankSim.sim.stages import CutShort, cut_short


def of_stages(result: Result) -> Iterator[Caution]:
    """Tell, once a charger, of stages that end by their time limit below their voltage."""
    bank = result.scenario.bank
    lead = any(is_lead(battery.chemistry) for battery in bank.batteries)
    for number_of, charger in enumerate(bank.chargers):
        found = cut_short(result, number_of)
        if found:
            yield _caution(charger.name, found, lead=lead)


def _caution(name: str, found: list[CutShort], *, lead: bool) -> Caution:
    first = found[0]
    alike = [one for one in found if one.stage == first.stage]
    again = f", the first of {len(alike)} times" if len(alike) > 1 else ""
    harm = " Lead-acid without its absorption gets full late or never." if lead else ""
    return Caution(
        "stage ended below its voltage",
        "warning" if lead else "note",
        first.reached_V,
        first.hold_V,
        "V",
        f"Stage {first.stage} of {quoted(name)} is ended by its time limit of "
        f"{span(first.after_s)} {after(first.time_s)}{again}, before its voltage was reached "
        f"({number(first.reached_V, 4)} of {number(first.hold_V, 4)} V).{harm}",
        "Give the stage more time (a longer at_most_h: it counts from the begin of the stage, not "
        "from when the voltage is reached), or take a larger charger.",
    )

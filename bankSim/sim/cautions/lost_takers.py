"""Chargers whose batteries all block their charge while they feed (load dump)."""

from collections.abc import Iterator

from bankSim.sim.lost_takers import worst_loss
from bankSim.sim.numbers import after, named, number, sentence
from bankSim.sim.result import Caution, Result

LOSES_TAKERS = "charger left without batteries (load dump)"
DUMPED_A = 10.0  # that chargers give as they lose their batteries; own choice
# From here on it is a danger: an alternator may give that (common practice, no source). The file
# does not say what a charger is; only one that follows the sun is surely none.
MUCH_A = 20.0
OF_ALTERNATORS = (
    "an alternator answers with a voltage spike that can destroy its diodes and the electronics on "
    "board (load dump); a mains charger just stops."
)
OF_SUN = (
    "some solar regulators then pass on a voltage that harms the loads, or are destroyed "
    "themselves."
)


def of_lost_takers(result: Result) -> Iterator[Caution]:
    """Tell of chargers that give much at the very moment in which the last battery blocks."""
    chargers = result.scenario.bank.chargers
    lost = worst_loss(result.trace, result.scenario.bank)
    if lost is None or lost.dumped_A <= DUMPED_A:
        return
    parts = list(zip(chargers, lost.fallen_A.tolist(), strict=True))
    who = [charger.name for charger, fallen_A in parts if fallen_A > 0.0]
    other_A = sum(fallen_A for charger, fallen_A in parts if charger.sun is None)
    yield Caution(
        LOSES_TAKERS,
        "danger" if other_A >= MUCH_A else "warning",
        lost.dumped_A,
        DUMPED_A,
        "A",
        f"{sentence(after(lost.time_s))} the last battery blocks its charge while {named(who)} "
        f"{'gives' if len(who) == 1 else 'give'} {number(lost.dumped_A)} A more than the loads "
        f"take: {OF_ALTERNATORS if other_A > 0.0 else OF_SUN}",
        "Hold less than any battery blocks at, use a smaller charger, and ask for equipment that "
        "tells the charger to stop before the last battery cuts out.",
    )

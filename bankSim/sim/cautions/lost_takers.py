"""Chargers whose batteries all block their charge while they feed (load dump)."""

from collections.abc import Iterator

from bankSim.model.bank import Bank
from bankSim.model.curve import Floats
from bankSim.sim.lost_takers import Lost, worst_alone, worst_loss
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
    """Tell of chargers that give much as the last battery blocks, or after that to loads alone."""
    bank = result.scenario.bank
    lost, alone = worst_loss(result.trace, bank), worst_alone(result.trace, bank)
    lost_A, alone_A = (0.0 if one is None else one.dumped_A for one in (lost, alone))
    if lost is not None and lost_A > DUMPED_A and _grave(bank, lost) >= _grave(bank, alone):
        who, gives = _who(bank, lost)
        yield _caution(
            bank,
            lost,
            f"{sentence(after(lost.time_s))} the last battery blocks its charge while {who} "
            f"{gives} {number(lost_A)} A more than the loads take",
            "Hold less than any battery blocks at, use a smaller charger, and ask for equipment "
            "that tells the charger to stop before the last battery cuts out.",
        )
    elif alone is not None and alone_A > DUMPED_A:
        who, gives = _who(bank, alone)
        yield _caution(
            bank,
            alone,
            f"{sentence(after(alone.time_s))} {who} {gives} the loads {number(alone_A)} A while "
            "every battery blocks its charge, so that none is there to catch what is left over "
            "when those loads stop",
            "Do not start an alternator on a bank that takes no charge: first see why it does not "
            "(too cold, too hot, full), and ask for equipment that stops the charger then.",
        )


def loses_takers(trace: Floats, bank: Bank) -> bool:
    """Tell whether this caution is given for a run with this trace.

    Parameters
    ----------
    trace : array (rows, ...)
        In the units of `Result`.
    bank : Bank
    """
    moments = (worst_loss(trace, bank), worst_alone(trace, bank))
    return any(one is not None and one.dumped_A > DUMPED_A for one in moments)


def _of_alternators(bank: Bank, lost: Lost) -> float:
    """Return the part that may come from an alternator. [A]"""
    parts = zip(bank.chargers, lost.fallen_A.tolist(), strict=True)
    return float(sum(fallen_A for charger, fallen_A in parts if charger.sun is None))


def _grave(bank: Bank, lost: Lost | None) -> bool:
    return lost is not None and _of_alternators(bank, lost) >= MUCH_A


def _who(bank: Bank, lost: Lost) -> tuple[str, str]:
    """Name the chargers, and say that they give."""
    parts = zip(bank.chargers, lost.fallen_A.tolist(), strict=True)
    who = [charger.name for charger, fallen_A in parts if fallen_A > 0.0]
    return named(who), "gives" if len(who) == 1 else "give"


def _caution(bank: Bank, lost: Lost, text: str, advice: str) -> Caution:
    return Caution(
        LOSES_TAKERS,
        "danger" if _grave(bank, lost) else "warning",
        lost.dumped_A,
        DUMPED_A,
        "A",
        f"{text}: {OF_ALTERNATORS if _of_alternators(bank, lost) > 0.0 else OF_SUN}",
        advice,
    )

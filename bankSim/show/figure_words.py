"""Words in the figures of studies: short, on few lines, safe for any name."""

from dataclasses import replace

from bankSim.show.study_words import HIGH, LOW, MIDDLE, bare, bare_of_100
from bankSim.show.words import beside
from bankSim.study.plan import Plan
from bankSim.study.spread import Band
from bankSim.study.statistics import Estimate

MINUS = "\N{MINUS SIGN}"


def cases(chance: Estimate) -> str:
    """Tell a chance beside a mark, as in "83 of 100"."""
    return f"{bare_of_100(chance)} of 100"


def middle_and_range(band: Band) -> str:
    """Tell a number of all draws, as in "151 (143 to 158)"; "-" without any."""
    low, middle, high = (bare(band, place) for place in (LOW, MIDDLE, HIGH))
    return middle if low == high else f"{middle} ({low} to {high})"


def scaled(band: Band, factor: float, unit: str) -> Band:
    """Return a number of all draws in another unit; its single run is left out."""
    points = tuple(
        Estimate(factor * point.value, factor * point.low, factor * point.high)
        for point in band.percentiles
    )
    return replace(band, unit=unit, central=None, percentiles=points)


def signed(value: float, scale: float) -> str:
    """Write a change with its sign, rounded as suits the scale; none where it rounds to 0.

    Both in one unit. [any unit]
    """
    text = beside(abs(value), scale)
    if float(text) == 0.0:
        return text
    return f"+{text}" if value > 0.0 else f"{MINUS}{text}"


def draws_words(draws: int, seed: int | None, of_what: str = "") -> str:
    """Tell how many draws there were, as in "1,000 draws, seed 1".

    Parameters
    ----------
    draws : int
    seed : int or None
        None: it is not known.
    of_what : str
        As in " at every point".
    """
    count = f"{draws:,} {'draw' if draws == 1 else 'draws'}{of_what}"
    return count if seed is None else f"{count}, seed {seed}"


def seed_of(plan: Plan) -> int | None:
    """Return the seed of a plan whose draws are at random."""
    seed = getattr(plan.design, "seed", None)
    return None if seed is None else int(seed)

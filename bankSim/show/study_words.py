"""How studies speak of chances and ranges."""

from dataclasses import replace
from math import inf

from bankSim.sim.numbers import number
from bankSim.study.spread import PERCENTS, Band
from bankSim.study.statistics import Estimate

LOW, LOWER, MIDDLE, UPPER, HIGH = range(len(PERCENTS))
SOLVER = 7e-4  # of Ah: how well a draw is solved at worst (benchmarks, table of draws)
SAFETY_OF_CHANCES = (
    "Chances count draws of what this program knows to vary. A small chance is not a permission, "
    "and what it does not know (damage, wrong wiring, a faulty battery) is in no chance at all."
)


def of_100(estimate: Estimate) -> str:
    """Say a chance: "83 of 100 cases (80 to 86)"; "all" and "no" only where no draw differs."""
    low, high = (100.0 * one for one in (estimate.low, estimate.high))
    if estimate.value == 1.0:
        return f"all cases (at least {low:.0f} of 100)" if low < 99.5 else "all cases"
    if estimate.value == 0.0:
        return f"no case (at most {_small(high)} of 100)"
    value = _small(100.0 * estimate.value)
    least = len(value.partition(".")[2])
    return f"{value} of 100 cases ({_small(low, least)} to {_small(high, least)})"


def bare_of_100(estimate: Estimate) -> str:
    """Say a chance in a table: "83", "0.3", "<0.01"."""
    return per_100(estimate.value)


def in_cases(estimate: Estimate) -> str:
    """Say a chance without its interval: "in all cases", "in 83 of 100 cases"."""
    return "in all cases" if estimate.value == 1.0 else f"in {bare_of_100(estimate)} of 100 cases"


def per_100(part: float) -> str:
    """Say a part of 1 as so many of 100: "83", "0.3", "<0.01"."""
    return _small(100.0 * part)


def _small(per_100: float, least: int = 0) -> str:
    """Round to whole ones, or finer near 0 and 100; to `least` decimals at least."""
    if per_100 in (0.0, 100.0):
        return f"{per_100:.0f}"
    from_end = min(per_100, 100.0 - per_100)
    if from_end < 0.01:
        return "<0.01" if per_100 < 50.0 else ">99.99"
    decimals = 2 if from_end < 0.1 else 1 if from_end < 1.0 else 0
    return f"{per_100:.{max(decimals, least)}f}"


def range_of(band: Band, digits: int = 3) -> str:
    """Say where 9 of 10 draws lie: "224 to 238 Ah", or "231 Ah" when both read the same."""
    if not band.percentiles:
        return "-"
    low, high = (_alike(band, place, digits) for place in (LOW, HIGH))
    unit = f" {band.unit}" if band.unit else ""
    return f"{low}{unit}" if low == high else f"{low} to {high}{unit}"


def hours_of(band: Band) -> str:
    """Say a range of hours in the unit that suits it."""
    if not band.percentiles:
        return "-"
    factor, unit = next(
        (factor, unit)
        for factor, unit, most_h in ((3600.0, "s", 1.0 / 60.0), (60.0, "min", 1.0), (1.0, "h", inf))
        if band.percentiles[HIGH].value < most_h or unit == "h"
    )
    points = tuple(
        Estimate(factor * one.value, factor * one.low, factor * one.high)
        for one in band.percentiles
    )
    return range_of(replace(band, unit=unit, percentiles=points))


def middle_of(band: Band, digits: int = 3) -> str:
    """Say the median with its unit."""
    if not band.percentiles:
        return "-"
    return f"{_alike(band, MIDDLE, digits)} {band.unit}".rstrip()


def bare(band: Band | None, place: int, digits: int = 3) -> str:
    """Return one percentile for a table; "-" where there is none."""
    if band is None or not band.percentiles:
        return "-"
    return _alike(band, place, digits)


def _alike(band: Band, place: int, digits: int) -> str:
    """Round all points of a band to the same decimals, those of the largest.

    A range narrower than the rounding gets one or two digits more, so that it is seen, unless it
    is as narrow as the solver's own error.
    """
    points = [point.value for point in band.percentiles]
    scale = max(*(abs(point) for point in points), 1e-12)
    text = number(scale, digits)
    decimals = len(text.partition(".")[2])
    width = points[HIGH] - points[LOW]
    while decimals < 4 and 0.0 < width < 2.0 * 10.0**-decimals and width > SOLVER * scale:
        decimals += 1
    return f"{round(points[place], decimals) + 0.0:.{decimals}f}"


def error_of(band: Band, digits: int = 2) -> str:
    """Say how well the ends of a range are known: the larger half width of their intervals."""
    if not band.percentiles:
        return "-"
    wide = max(band.percentiles[place].half_width for place in (LOW, HIGH))
    return f"{number(wide, digits)} {band.unit}".rstrip()

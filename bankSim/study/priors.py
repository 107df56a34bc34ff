"""Typical spreads of what a file leaves open; each with its source.

A standard deviation (sd) of a factor is relative. "Choice" marks what is our own judgement from
the range that the source names; numbers of one's own go into the file: { value = ..., sd = ... }.
"""

from dataclasses import dataclass

from bankSim.model.spread import Shape, Spread
from bankSim.model.typical import Chemistry

_CELLS = (
    "cells of one batch differ by 0.2 to 1 % in capacity and 0.5 to 4 % in resistance, used ones "
    "by 2 to 3 % (Wildfeuer and Lienkamp 2021; others from memory); choice"
)
_NO_SOURCE = "choice, no source"
CELL_CORRELATION = (
    -0.5
)  # of capacity and resistance; r = -0.87 was measured on 100 sodium-ion cells
CORRELATION_SOURCE = "weak cells resist more: correlation -0.5, choice"
NEW_AT, AGED_AT = 1.0, 0.9  # capacity_fraction; straight lines between, steady beyond


@dataclass(frozen=True, slots=True)
class Prior:
    """A typical spread and where it comes from."""

    spread: Spread
    source: str


def factor(sd: float, source: str, *, log: bool = False) -> Prior:
    """Return a factor around 1. [1]"""
    shape = Shape.LOGNORMAL if log else Shape.NORMAL
    low = 0.0 if log else max(1.0 - 4.0 * sd, 0.05)
    return Prior(Spread(shape, 1.0, sd, low, 1.0 + 4.0 * sd if not log else float("inf")), source)


def between(low: float, middle: float, high: float, source: str) -> Prior:
    """Return a triangle with its peak at the middle. [any unit]"""
    return Prior(Spread(Shape.TRIANGULAR, middle, 0.0, low, high), source)


def offset(sd: float, source: str) -> Prior:
    """Return something added, around 0. [any unit]"""
    return Prior(Spread(Shape.NORMAL, 0.0, sd, -4.0 * sd, 4.0 * sd), source)


CAPACITY = factor(0.03, "a label without a test: 3 % between batteries, choice")
CAPACITY_LEAD = factor(0.04, "retail 12 V lead-acid differs by 3 to 5 %, from memory")
RESISTANCE = factor(0.10, "10 % between batteries of mixed age, choice", log=True)
RESISTANCE_LEAD = factor(0.08, "retail 12 V lead-acid differs by 5 to 10 %, from memory", log=True)
CELL_CAPACITY_SD = (0.01, 0.03)  # of new cells, of aged ones
CELL_RESISTANCE_SD = (0.03, 0.10)
CELL_CHARGE = offset(0.01, f"cells of a battery 1 % of charge apart, {_NO_SOURCE}")
FULL = Prior(
    Spread(Shape.TRIANGULAR, 1.0, 0.0, 0.98, 1.0),
    "called full: 98 to 100 %, as chargers stop at different tail currents; " + _NO_SOURCE,
)
INTERNAL = factor(
    0.30, "switches and straps of different makes, 0.5 to 3 mohm, from memory; choice", log=True
)
COPPER = factor(
    0.20, "cables, lugs, studs and fuses differ by 20 % from what tables say; choice", log=True
)
LOW_LIMIT = offset(0.10, "electronics trip within 0.05 to 0.1 V of 2.0 to 2.5 V, as seen in public "
                         "specifications; choice")  # fmt: skip
HIGH_LIMIT = offset(0.05, "electronics trip within 0.03 to 0.05 V of 3.65 to 3.9 V, as seen in "
                          "public specifications; choice")  # fmt: skip
CURRENT_LIMIT = factor(0.20, "trips at 2 to 3 times the label, as seen in public specifications; "
                             "choice", log=True)  # fmt: skip
WARM_LIMIT = offset(2.5, "65 +- 5 and 50 +- 5 degC in a public specification; choice")
DELAY = factor(0.30, "0.5 to 2 s and 4 to 6 s in public specifications; choice", log=True)
DROP = offset(0.05, "body diodes, 0.6 to 0.8 V; choice")
HYSTERESIS = between(0.8, 1.0, 1.7, "half-gap of 8 to 17 mV a cell around 10 mV")
RELAXATION = factor(0.30, "time constants of one kind of cell, factor of 2; choice", log=True)
STANDING = between(0.5, 1.0, 1.5, "1 to 3 % a month around 2 %, trade sources")
WARMTH = between(0.75, 1.0, 1.25, "15 to 25 kJ/mol around 20, from memory")
WELL_RATE = factor(0.20, "0.5 to 2.5 per hour is published; 20 % within a type, choice", log=True)
WELL_PART = factor(0.05, "0.2 to 0.5 is published; 5 % within a type, choice")
HEAT_LOSS = factor(0.30, "still air or a box, 5 to 10 W/m2/K; choice", log=True)
TEMPERATURE = offset(5.0, "not given: 25 degC +- 5 K, choice")
LOAD = factor(0.05, "what a label says of a power is seldom measured: 5 %, choice")


def battery_priors(chemistry: Chemistry) -> tuple[Prior, Prior]:
    """Return the spreads of capacity and resistance between batteries of a chemistry."""
    if chemistry.is_lithium:
        return CAPACITY, RESISTANCE
    return CAPACITY_LEAD, RESISTANCE_LEAD


def cell_priors(capacity_fraction: float | None) -> tuple[Prior, Prior]:
    """Return the spreads of capacity and resistance between the cells of one battery.

    Parameters
    ----------
    capacity_fraction : float or None
        What the battery has left; None counts as new. [1]
    """
    age = 0.0
    if capacity_fraction is not None:
        age = min(max((NEW_AT - capacity_fraction) / (NEW_AT - AGED_AT), 0.0), 1.0)
    sds = [new + age * (aged - new) for new, aged in (CELL_CAPACITY_SD, CELL_RESISTANCE_SD)]
    which = "new cells" if age == 0.0 else "aged cells" if age == 1.0 else "between new and aged"
    words = [f"{which}, {100.0 * sd:.2g} %: {_CELLS}" for sd in sds]
    return factor(sds[0], words[0]), factor(sds[1], words[1], log=True)

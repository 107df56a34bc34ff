"""Typical tables from rest voltage to state of charge, with what other published tables say."""

from dataclasses import dataclass

import numpy as np

from bankSim.measured.log import LogError
from bankSim.measured.voltage_table import VoltageTable, straight_line
from bankSim.model.chemistry import CHEMISTRIES, chemistry_of
from bankSim.model.lead_acid import CELLS, SPREAD_V


@dataclass(frozen=True, slots=True)
class Typical:
    """A table of one cell: (percent, typical, lowest, highest voltage) from empty to full.

    Parameters
    ----------
    rows : tuple of (float, float, float, float)
        [%], [V], [V], [V]
    empty_V, full_V : float
        Ends of a straight-line gauge: usual cut-off, and rest just after full. [V]
    sources : tuple of str
    """

    rows: tuple[tuple[float, float, float, float], ...]
    empty_V: float
    full_V: float
    sources: tuple[str, ...]


_LFP = Typical(
    (
        (0.0, 2.50, 2.000, 2.708),
        (5.0, 3.00, 3.000, 3.137),
        (10.0, 3.18, 3.152, 3.200),
        (15.0, 3.21, 3.191, 3.234),
        (20.0, 3.23, 3.211, 3.253),
        (25.0, 3.25, 3.229, 3.269),
        (30.0, 3.26, 3.245, 3.284),
        (40.0, 3.28, 3.266, 3.303),
        (50.0, 3.30, 3.271, 3.310),
        (60.0, 3.315, 3.280, 3.316),
        (70.0, 3.33, 3.293, 3.331),
        (80.0, 3.335, 3.309, 3.339),
        (90.0, 3.34, 3.314, 3.345),
        (100.0, 3.40, 3.321, 3.422),
    ),
    2.5,
    3.4,
    (
        "typical: rest voltages of an LFP cell, common practice, from memory",
        "spread: lowest and highest of these, of half-cell fits of Safari and Delacourt (2011) and "
        "Afshar et al. (2017) over the windows of Schimpe et al. (2018), and of an open measured "
        "cell (About:Energy, BPX open data set: its curve and its C/20 discharge)",
    ),
)
_NMC = Typical(
    (
        (0.0, 2.60, 2.498, 2.700),
        (10.0, 3.36, 3.258, 3.463),
        (20.0, 3.49, 3.449, 3.531),
        (30.0, 3.57, 3.548, 3.598),
        (50.0, 3.69, 3.673, 3.708),
        (70.0, 3.87, 3.824, 3.924),
        (80.0, 3.98, 3.935, 4.022),
        (90.0, 4.08, 4.063, 4.094),
        (100.0, 4.19, 4.181, 4.202),
    ),
    3.0,
    4.2,
    (
        "mid-way between an NMC811 cell (Chen et al. 2020, windows from memory) and an NMC111 cell "
        "(About:Energy, BPX open data set); they are the spread",
    ),
)


def _lead(given: tuple[tuple[float, float], ...], source: str) -> Typical:
    """Return the table of a lead-acid cell from (percent, rest voltage of a 12 V battery)."""
    rows = tuple(
        (percent, volts / CELLS, (volts - SPREAD_V) / CELLS, (volts + SPREAD_V) / CELLS)
        for percent, volts in given
    )
    spread = f"spread: published tables differ by {SPREAD_V:g} V per 12 V"
    return Typical(rows, 10.5 / CELLS, given[-1][1] / CELLS, (f"typical: {source}", spread))


_FLOODED = ((0.0, 11.89), (25.0, 12.06), (50.0, 12.24), (75.0, 12.45), (100.0, 12.65))
_AGM = ((0.0, 11.75), (50.0, 12.25), (100.0, 12.85))
_GEL = ((0.0, 11.80), (50.0, 12.30), (100.0, 12.85))
_RECALLED = "rest voltages of a 12 V battery at 100, 50 and 0 %, from memory"
TABLES = {
    "LFP": _LFP,
    "NMC": _NMC,
    "AGM": _lead(_AGM, _RECALLED),
    "gel": _lead(_GEL, _RECALLED),
    "flooded": _lead(_FLOODED, "a widely reprinted table of 12 V flooded batteries"),
}


def typical_table(chemistry: str | None, cells: int) -> VoltageTable:
    """Return the typical table of so many cells in series, with its spread.

    Raises
    ------
    LogError
        When there is none for this chemistry.
    """
    own = _typical(chemistry)
    percent, volts, low, high = np.array(own.rows).T
    name = f"a typical {chemistry} table for {cells} cell{'s' if cells > 1 else ''}"
    return VoltageTable(name, percent, cells * volts, cells * low, cells * high, own.sources)


def line_table(chemistry: str | None, cells: int) -> VoltageTable:
    """Return the straight-line gauge of so many cells in series."""
    own = _typical(chemistry)
    source = "common practice, no source: from the usual cut-off to the rest voltage when full"
    return straight_line(cells * own.empty_V, cells * own.full_V, source)


def _typical(chemistry: str | None) -> Typical:
    own = TABLES.get(chemistry or "")
    if own is None:
        words = ", ".join(TABLES)
        raise LogError(
            f"no typical voltage table for chemistry {chemistry!r}; expected one of: {words}; "
            "or give your own with --table"
        )
    return own


def typical_resistance(chemistry: str | None, cells: int, rated_Ah: float) -> float | None:
    """Return what a typical battery of this label resists after some minutes of load. [ohm]

    R0 mid-way and all relaxation pairs of every cell, and what the electronics add.
    """
    own = chemistry_of(chemistry) if chemistry in CHEMISTRIES else None
    if own is None:
        return None
    pairs = sum(ohm_Ah for ohm_Ah, _ in own.relaxation_ohm_Ah)
    return (cells * (own.ohmic_ohm_Ah + pairs) + own.internal_ohm_Ah) / rated_Ah

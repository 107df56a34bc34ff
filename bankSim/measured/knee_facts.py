"""What is assumed of the knee of each chemistry, of meters and of cells; each with its source."""

from dataclasses import dataclass

from bankSim.measured.log import LogError
from bankSim.model.chemistry import CHEMISTRIES, Chemistry

METER_V = 0.010  # of one cell voltage, one standard deviation
CURVE_V = 0.015  # of the flat part of the curve
REST_V = 0.040  # on top, after rest
SLOWEST_PER_H, FASTEST_PER_H = 1.0 / 20.0, 1.0 / 5.0  # current over capacity where not given
CURRENT_SD = 0.02
RESISTANCE_SD = 0.20
CELL_RESISTANCE_SD = 0.05
CELL_KNEE_SD = 0.07
CAPACITY_SD = 0.05
TEMPERATURE_K = 5.0
KNEE_WIDTH = 0.10  # of charge: the stretch of the knee fades out over this


@dataclass(frozen=True, slots=True)
class KneeFacts:
    """How far the program's curve may be off near empty, and the usual ends of a discharge.

    Parameters
    ----------
    stretch, stretch_sd : float
        Charge left below a voltage, real over computed: median, and standard deviation of its
        logarithm. [1]
    stretch_source : str
    limits_V : (float, float)
        Usual limits of one cell. [V]
    battery_V : (float, float)
        Usual whole-battery limits and cut-offs of loads, over the number of cells. [V]
    limits_source : str
    usual_limit_V : float
        Taken where none is known. [V]
    floor_V : float
        No maker allows less. [V]
    knee_V : float
        Above it, under load, the curve is too flat to read charge from it. [V]
    has_cell_rule : bool
        Such batteries have electronics that watch cells.
    """

    stretch: float
    stretch_sd: float
    stretch_source: str
    limits_V: tuple[float, float]
    battery_V: tuple[float, float]
    limits_source: str
    usual_limit_V: float
    floor_V: float
    knee_V: float
    has_cell_rule: bool = True


# Charge left from a voltage down to 2.0 V, measured over computed, one open measured 2 Ah cell
# (About:Energy, BPX open data) against the program's curve. At C/20: 0.53 from 2.2, 0.38 from 2.5,
# 0.50 from 2.9, 0.59 from 3.1, 1.09 from 3.2 V; at 1C: 0.85, 0.87, 0.76, 0.80, 1.91.
_LFP = KneeFacts(
    stretch=0.7,
    stretch_sd=0.45,
    stretch_source="charge left in the knee is 0.7 times that of the program's curve, 0.33 to 1.5 "
    "times (90 %): a measured 2 Ah cell (About:Energy, BPX open data) shows 0.38 to 0.6 times at "
    "C/20 and 0.76 to 0.87 times at 1C",
    limits_V=(2.0, 2.5),
    battery_V=(2.5, 2.75),
    limits_source="cell limits 2.0 to 2.5 V, whole battery 10 V and loads 10 to 11 V for 4 cells: "
    "common practice, no source",
    usual_limit_V=2.5,
    floor_V=2.0,
    knee_V=3.1,
)
_NMC = KneeFacts(
    stretch=1.0,
    stretch_sd=0.40,
    stretch_source="charge left in the knee within 0.5 to 1.9 times (90 %) the program's curve: "
    "choice, no source",
    limits_V=(2.5, 3.0),
    battery_V=(3.0, 3.3),
    limits_source="cell limits 2.5 to 3.0 V: common practice, no source",
    usual_limit_V=2.8,
    floor_V=2.5,
    knee_V=3.4,
)
_LEAD = KneeFacts(
    stretch=1.0,
    stretch_sd=0.50,
    stretch_source="charge left in the knee within 0.44 to 2.3 times (90 %) the program's curve: "
    "choice, no source",
    limits_V=(1.6, 1.85),
    battery_V=(1.65, 1.85),
    limits_source="discharge ends at 1.75 V a cell, 10.5 V for 6 cells: common practice, no source",
    usual_limit_V=1.75,
    floor_V=1.6,
    knee_V=1.9,
    has_cell_rule=False,
)
_FACTS = {"LFP": _LFP, "NMC": _NMC}


def chemistry_named(word: str) -> Chemistry:
    """Return the chemistry of a typed word, whatever its case; refuse others in one line."""
    found = {name.lower(): one for name, one in CHEMISTRIES.items()}.get(word.strip().lower())
    if found is None:
        raise LogError(f"--chemistry = {word!r}; expected one of: {', '.join(CHEMISTRIES)}")
    return found


def facts_of(chemistry: Chemistry) -> KneeFacts:
    """Return what is assumed of the knee of a chemistry."""
    return _FACTS.get(chemistry.word, _LEAD)


SOURCES = (
    f"curve on its flat part: {1000 * CURVE_V:.0f} mV; published curves differ by 20 to 40 mV",
    f"resistance: within {100 * RESISTANCE_SD:.0f} %; cells of one battery within "
    f"{100 * CELL_RESISTANCE_SD:.0f} %: choice from published 0.5 to 4 % of new, 10 % of old cells",
    f"knees of cells of one battery: within {100 * CELL_KNEE_SD:.0f} %: choice, no source",
    f"Ah of the cells against the label: within {100 * CAPACITY_SD:.0f} %: choice, no source",
)

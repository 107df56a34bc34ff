"""What can be chosen, in the trade's words."""

import math

from bankSim.model.cables import CLASS_5_OHM_PER_KM
from bankSim.model.chemistry import material_of

CHEMISTRIES = {
    "LFP": "Lithium iron phosphate (LFP)",
    "NMC": "Lithium nickel manganese cobalt (NMC)",
    "AGM": "Lead-acid, AGM",
    "gel": "Lead-acid, gel",
    "flooded": "Lead-acid, flooded",
    "sodium-ion": "Sodium-ion (needs a voltage curve)",
}
# cells that make a battery of 12, 24 and 48 V
USUAL_CELLS = {
    "LFP": {4: 12, 8: 24, 16: 48},
    "NMC": {3: 12, 4: 12, 7: 24, 13: 48, 14: 48},
    "AGM": {6: 12, 12: 24, 24: 48},
    "gel": {6: 12, 12: 24, 24: 48},
    "flooded": {6: 12, 12: 24, 24: 48},
    "sodium-ion": {4: 12, 8: 24, 16: 48},
}
OTHER_CELLS = (*range(1, 31), 32)
USUAL_RATED_AH = 100.0
LAYOUTS = {
    "equal leads": "On common bars, each with a lead of its own",
    "same end": "In a row, both cables taken off at battery 1",
    "opposite ends": "In a row, plus taken off at battery 1, minus at the last",
}
STOPS = {
    "bank empty": "when the bank can no longer feed the loads",
    "end": "after the whole time, whatever happens",
}
WATCHES = (
    "lowest cell voltage",
    "highest cell voltage",
    "battery voltage",
    "discharge current",
    "charge current",
    "temperature",
)
BLOCKS = ("discharge", "charge", "both")
NEEDS = {
    "nothing": "nothing else",
    "charging": "charge flowing in",
    "load removed": "the load removed",
    "hand": "somebody's hand (never in a run)",
}
TRADED = (*range(20, 0, -2), 1, 0, -1, -2, -3)  # gauges; 0 is 1/0, -3 is 4/0
CLOSEST = 0.25  # of the area: a gauge further away is not named


def cells_words(cells: int, chemistry: str | None) -> str:
    """Return a number of cells with the voltage that it makes: "12 V: 4 cells in series"."""
    what = f"{cells} cell{'s' * (cells != 1)}{' in series' * (cells != 1)}"
    usual = USUAL_CELLS.get(chemistry or "", {})
    if cells in usual:
        return f"{usual[cells]} V: {what} ({cells * material_of(chemistry or '').nominal_V:.1f} V)"
    if chemistry in USUAL_CELLS:
        return f"{what} ({cells * material_of(chemistry or '').nominal_V:.1f} V)"
    return what


def cells_offered(chemistry: str | None, present: object) -> list[int]:
    """Return numbers of cells to choose from, the usual ones first."""
    usual = list(USUAL_CELLS.get(chemistry or "", {4: 12}))
    rest = [one for one in OTHER_CELLS if one not in usual]
    own = [present] if isinstance(present, int) and present not in (*usual, *rest) else []
    return [*own, *usual, *rest]


def areas() -> list[float]:
    """Return the sizes of cable in the standard. [mm2]"""
    return [area for area in CLASS_5_OHM_PER_KM if area >= 1.0]


def area_words(area_mm2: float) -> str:
    """Return a size of cable with the American gauge nearest to it: "35 mm2 (near 2 AWG)"."""
    gauge = gauge_near(area_mm2)
    return f"{area_mm2:g} mm2" + (f" (near {gauge} AWG)" if gauge else "")


def gauge_near(area_mm2: float) -> str:
    """Return the American wire gauge nearest to an area; empty when none is near.

    Diameter d = 0.127 mm x 92^((36 - n) / 39) (ASTM B258).
    """
    if not area_mm2 > 0.0:
        return ""
    number = min(TRADED, key=lambda one: abs(_gauge_mm2(one) / area_mm2 - 1.0))
    if abs(_gauge_mm2(number) / area_mm2 - 1.0) > CLOSEST:
        return ""
    return str(number) if number > 0 else f"{1 - number}/0"


def _gauge_mm2(number: int) -> float:
    diameter_mm: float = 0.127 * 92.0 ** ((36 - number) / 39.0)
    return math.pi / 4.0 * diameter_mm**2


def new_battery(name: str, chemistry: str, volts: int) -> dict[str, object]:
    """Return a new battery as the file writes it."""
    cells = next((n for n, made in USUAL_CELLS[chemistry].items() if made == volts), None)
    return {
        "name": name,
        "chemistry": chemistry,
        "cells_in_series": cells or next(iter(USUAL_CELLS[chemistry])),
        "rated_capacity_Ah": USUAL_RATED_AH,
        "state_of_charge": 1.0,
        "lead": {"length_m": 0.5, "area_mm2": 35.0, "joints": 2},
    }


def volts_of(battery: object) -> int:
    """Return 12, 24 or 48, as a battery of the file has; 12 when that cannot be told."""
    if not isinstance(battery, dict):
        return 12
    chemistry, cells = battery.get("chemistry"), battery.get("cells_in_series")
    usual = USUAL_CELLS.get(chemistry, {}) if isinstance(chemistry, str) else {}
    return usual.get(cells, 12) if isinstance(cells, int) else 12


def free_name(wish: str, taken: list[object]) -> str:
    """Return a name that nobody has yet: "old", "old 2", "old 3"."""
    stem = wish.rstrip("0123456789").rstrip() or wish
    names = [wish, *(f"{stem[:50]} {number}" for number in range(2, 1000))]
    return next(name for name in names if name not in taken)

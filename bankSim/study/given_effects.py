"""What a key of the file changes in a bank, where a few numbers say it all.

Alone, every key here does what writing it anew in the file would do, to round-off. Two keys at once
do so too, with one exception: `copper` takes a cable's rise with the temperature from the length
and area in the file, so in a draw that also has another length l (or area) in place of l0 the part
a (T - T0) (l / l0 - 1) of its copper is missing (a = 0.4 % per kelvin). With 5 K and 10 % that is
0.2 % of the copper, a hundredth of the 20 % in which cables are taken to differ anyway.
"""

from collections.abc import Callable, Sequence

import numpy as np

from bankSim.model.bank import Bank
from bankSim.model.battery import Battery
from bankSim.model.cables import COPPER_PER_K, TWENTY_C_K, cable_ohm
from bankSim.model.cell import MOST_PAIRS, ZERO_C_K
from bankSim.model.chemistry import chemistry_of
from bankSim.model.curve import Curve
from bankSim.model.rule import Watch
from bankSim.scenario.build_battery import USUAL_LEAD_M, USUAL_LEAD_MM2
from bankSim.scenario.keys import ScenarioKeys
from bankSim.scenario.keys_battery import BatteryKeys, CableKeys, CellKeys
from bankSim.scenario.lines import Path
from bankSim.scenario.uncertain import Uncertain
from bankSim.study.fields import Field, cell_places, rule_places, stage_places
from bankSim.study.unknown import Effect, Op

Effects = tuple[Effect, ...]
REBUILD: Effects = ()
USUAL_LEAD = CableKeys(length_m=USUAL_LEAD_M, area_mm2=USUAL_LEAD_MM2)
PER_MOHM, PER_MV, PER_AH, PER_HOUR = 1e-3, 1e-3, 3600.0, 1.0 / 3600.0


def effects_of(path: Path, value: float, keys: ScenarioKeys, bank: Bank) -> Effects:
    """Return what a value at a key does; `REBUILD` when only a new bank can tell.

    Parameters
    ----------
    path : tuple of str and int
        Key with places counted from 0.
    value : float
        Its central value. In the unit of the key.
    keys : ScenarioKeys
    bank : Bank
        Built from these keys.
    """
    match path:
        case ("battery", int(number), *inside):
            return _of_battery(number, tuple(inside), value, keys.battery[number], bank)
        case ("wiring", "link_mohm"):
            return (Effect(Field.LINK, (0,), Op.SET, PER_MOHM),)
        case ("wiring", "main_mohm"):
            return (Effect(Field.MAIN, (0,), Op.SET, PER_MOHM),)
        case ("surroundings", "temperature_C") | ("surroundings", "temperature_C", "mean_C"):
            return (Effect(Field.TEMPERATURE, (0,), Op.SET, 1.0, ZERO_C_K), *copper(keys))
        case ("load", int(number), "power_W" | "current_A") if value > 0.0:
            return (Effect(Field.LOAD, (number,), Op.SCALE),)
        case ("load", int(number), "resistance_ohm"):
            return (Effect(Field.LOAD, (number,), Op.DIVIDE),)
        case ("charger", int(number), *inside):
            return _of_charger(number, tuple(inside), bank)
    return REBUILD


def open_cells(keys: BatteryKeys, has: Callable[[CellKeys], bool]) -> list[int]:
    """Return the cells for which neither their own keys nor the common ones settle something."""
    if has(keys.cell):
        return []
    return own_open_cells(keys, has)


def own_open_cells(keys: BatteryKeys, has: Callable[[CellKeys], bool]) -> list[int]:
    """Return the cells whose own keys do not settle something."""
    own: Sequence[CellKeys] = keys.cells or [CellKeys()] * (keys.cells_in_series or 1)
    return [number for number, cell in enumerate(own) if not has(cell)]


def scaled_capacity(places: tuple[int, ...], op: Op = Op.FACTOR) -> Effects:
    """Return what a factor on the capacity of cells does: their self-discharge goes with it."""
    return (Effect(Field.CHARGE, places, op), Effect(Field.STANDING, places, op))


def scaled_pairs(
    places: tuple[int, ...], field: Field = Field.PAIR_OHM, op: Op = Op.FACTOR
) -> Effect:
    """Return a factor on all relaxation pairs of cells."""
    spots = tuple(MOST_PAIRS * place + j for place in places for j in range(MOST_PAIRS))
    return Effect(field, spots, op)


def _of_battery(number: int, inside: Path, value: float, keys: BatteryKeys, bank: Bank) -> Effects:
    places = cell_places(bank, number)

    def at(cells: list[int]) -> tuple[int, ...]:
        return tuple(places[cell] for cell in cells)

    match inside:
        case ("state_of_charge",):
            cells = open_cells(keys, lambda cell: cell.state_of_charge is not None)
            return (Effect(Field.SOC, at(cells), Op.SET),)
        case ("capacity_fraction",):
            return scaled_capacity(at(open_cells(keys, _has_capacity)), Op.SCALE)
        case ("resistance_factor",) if chemistry_of(keys.chemistry) is not None:
            ohmic = at(typical_ohmic(keys, bank.batteries[number]))
            pairs = at(open_cells(keys, lambda cell: cell.relaxation is not None))
            lag = Effect(Field.LAG, tuple(places), Op.SCALE)
            return (Effect(Field.OHMIC, ohmic, Op.SCALE), scaled_pairs(pairs, op=Op.SCALE), lag)
        case ("internal_mohm",):
            return (Effect(Field.INTERNAL, (number,), Op.SET, PER_MOHM),)
        case ("lead_mohm",):
            return (Effect(Field.LEAD, (number,), Op.SET, PER_MOHM),)
        case ("diode_drop_V",):
            return (Effect(Field.DROP, (number,), Op.SET),)
        case ("protection", int(rule), str(name)):
            return _of_rule(rule_places(bank, number)[rule], name, keys, rule)
        case (*_, "capacity_Ah") if keys.chemistry and keys.rated_capacity_Ah is None:
            return REBUILD  # the label follows from it, and resistances and limits from the label
        case ("cell", "ohmic_mohm"):
            cells = own_open_cells(keys, lambda cell: cell.ohmic_mohm is not None)
            shaped = at([cell for cell in cells if _is_shaped(keys, bank.batteries[number], cell)])
            return _of_cells(shaped, ("ohmic_mohm",), value)
        case ("cell", "capacity_Ah") if not own_open_cells(keys, _has_capacity):
            return scaled_capacity(at(_plain_capacities(keys)), Op.SCALE)
        case ("cell", *rest):
            cells = own_open_cells(keys, lambda cell: getattr(cell, str(rest[0])) is not None)
            return _of_cells(at(cells), tuple(rest), value)
        case ("cells", int(cell), *rest):
            return _of_cells((places[cell],), tuple(rest), value)
    return REBUILD


def _has_capacity(cell: CellKeys) -> bool:
    return cell.capacity_Ah is not None


def _plain_capacities(keys: BatteryKeys) -> list[int]:
    """Return the cells whose own capacity has no spread: that of all cells is theirs, too."""
    own: Sequence[CellKeys] = keys.cells or []
    return [n for n, cell in enumerate(own) if not isinstance(cell.capacity_Ah, Uncertain)]


def typical_ohmic(keys: BatteryKeys, battery: Battery) -> list[int]:
    """Return the cells whose resistance is the typical one of the chemistry."""
    cells = open_cells(keys, lambda cell: cell.ohmic_mohm is not None)
    return [cell for cell in cells if _is_shaped(keys, battery, cell)]


def _is_shaped(keys: BatteryKeys, battery: Battery, cell: int) -> bool:
    """Tell whether R0 of a cell has the usual shape, not that of a table's third column."""
    chemistry = chemistry_of(keys.chemistry)
    usual = chemistry.ohmic_factor() if chemistry is not None else Curve.constant(1.0)
    return np.array_equal(battery.cells[cell].ohmic_ohm.knots, usual.knots)


def copper(keys: ScenarioKeys) -> Effects:
    """Return what a kelvin does to every cable that is given by its length, or taken as usual."""
    effects = []
    for number, battery in enumerate(keys.battery):
        if battery.lead is not None:
            effects.append(_warmed(Field.LEAD, number, battery.lead, 2))
        elif battery.lead_mohm is None and chemistry_of(battery.chemistry) is not None:
            effects.append(_warmed(Field.LEAD, number, USUAL_LEAD, 2))
    if keys.wiring.link is not None:
        effects.append(_warmed(Field.LINK, 0, keys.wiring.link, 1))
    if keys.wiring.main is not None:
        effects.append(_warmed(Field.MAIN, 0, keys.wiring.main, 2))
    return tuple(effects)


def _warmed(field: Field, place: int, cable: CableKeys, conductors: int) -> Effect:
    at_20_C = cable_ohm(cable.length_m, cable.area_mm2, TWENTY_C_K, conductors)
    return Effect(field, (place,), Op.SHIFT, COPPER_PER_K * at_20_C)


def _of_cells(places: tuple[int, ...], rest: Path, value: float) -> Effects:
    match rest:
        case ("capacity_Ah",):
            return (
                Effect(Field.CHARGE, places, Op.SET, PER_AH),
                Effect(Field.STANDING, places, Op.SCALE),
            )
        case ("state_of_charge",):
            return (Effect(Field.SOC, places, Op.SET),)
        case ("ohmic_mohm",) if value > 0.0:
            return (Effect(Field.OHMIC, places, Op.SCALE),)
        case ("hysteresis_mV",):
            return (Effect(Field.HYSTERESIS, places, Op.SET, PER_MV),)
        case ("available_fraction",) if value < 1.0:
            return (Effect(Field.AVAILABLE, places, Op.SET),)
        case ("well_rate_per_h",):
            return (Effect(Field.WELL_RATE, places, Op.SET, PER_HOUR),)
        case ("relaxation", int(pair), str(name)):
            spots = tuple(MOST_PAIRS * place + pair for place in places)
            if name == "mohm":
                return (Effect(Field.PAIR_OHM, spots, Op.SET, PER_MOHM),)
            return (Effect(Field.PAIR_TIME, spots, Op.SET),)
    return REBUILD


def _of_rule(place: int, name: str, keys: BatteryKeys, rule: int) -> Effects:
    written = (keys.protection or [])[rule]
    zero = ZERO_C_K if Watch(written.watches) is Watch.TEMPERATURE else 0.0
    match name:
        case "trips_below" | "trips_above":
            return (Effect(Field.THRESHOLD, (place,), Op.SET, 1.0, zero),)
        case "releases_above" | "releases_below":
            return (Effect(Field.LET_GO, (place,), Op.SET, 1.0, zero),)
        case "after_s":
            return (Effect(Field.DELAY, (place,), Op.SET),)
        case "release_after_s":
            return (Effect(Field.LET_GO_DELAY, (place,), Op.SET),)
    return REBUILD


def _of_charger(number: int, inside: Path, bank: Bank) -> Effects:
    stages = stage_places(bank, number)
    match inside:
        case ("limit_A",) | ("limit_W",) | ("sun", "peak_W"):
            return (Effect(Field.CHARGER, (number,), Op.SCALE),)
        case ("hold_V",):
            return (Effect(Field.HOLD, (stages[0],), Op.SET),)
        case ("stages", int(stage), "hold_V"):
            return (Effect(Field.HOLD, (stages[stage],), Op.SET),)
        case ("stages", int(stage), "until_tail_A"):
            return (Effect(Field.TAIL, (stages[stage],), Op.SET),)
    return REBUILD

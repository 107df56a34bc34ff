"""Numbers that look like a slip beside others: of cells, and of stages of chargers."""

import math

from bankSim.model.chemistry import chemistry_of
from bankSim.scenario.build_cell import CellLevels, implied_capacity
from bankSim.scenario.keys import ChargerKeys
from bankSim.scenario.keys_battery import BatteryKeys, CellKeys
from bankSim.scenario.notes import Notes

# Own choice: no new cell holds so much more than the label, no cell in use so little.
MOST_OF_LABEL, LEAST_OF_LABEL = 1.5, 0.1
MOST_OF_TYPICAL = 6.0  # x a new cell; beyond it that of the whole battery was meant; own choice


def note_unlikely(
    keys: BatteryKeys, levels: CellLevels, key: str, rated_Ah: float, notes: Notes
) -> None:
    """Remark on capacities and resistances of cells that do not go with the label.

    Parameters
    ----------
    keys : BatteryKeys
        They have passed all checks.
    levels : CellLevels
        Its cell keys with their curves.
    key : str
        Key path of the battery.
    rated_Ah : float
        Label capacity. [Ah]
    notes : Notes
        Gets the remarks, one of each kind.
    """
    places = [(f"{key}.cell", keys.cell)]
    places += [(f"{key}.cells[{n}]", own.keys) for n, own in enumerate(levels.own, 1)]
    whole_Ah = implied_capacity(keys.model_copy(update={"capacity_fraction": None}), rated_Ah)
    _note_capacity(places, whole_Ah, keys.rated_capacity_Ah, notes)
    chemistry = chemistry_of(keys.chemistry)
    if chemistry is not None and len(levels.own) > 1:
        _note_resistance(places, 1e3 * chemistry.ohmic_ohm_Ah / rated_Ah, len(levels.own), notes)


def _note_capacity(
    places: list[tuple[str, CellKeys]], whole_Ah: float, label_Ah: float | None, notes: Notes
) -> None:
    for where, own in places:
        times = 1.0 if own.capacity_Ah is None else own.capacity_Ah / whole_Ah
        if label_Ah is not None and not LEAST_OF_LABEL < times <= MOST_OF_LABEL:
            worn = ", or the cell is worn out" if times < 1.0 else ""
            notes.remarks.append(
                f"{where}.capacity_Ah = {own.capacity_Ah:g} does not go with a label of "
                f"{label_Ah:g} Ah: cells in series hold about as much as their battery. One of "
                f"the two is a slip{worn}."
            )
            return


def _note_resistance(
    places: list[tuple[str, CellKeys]], typical_mohm: float, cells: int, notes: Notes
) -> None:
    for where, own in places:
        if own.ohmic_mohm is not None and own.ohmic_mohm > MOST_OF_TYPICAL * typical_mohm:
            notes.remarks.append(
                f"{where}.ohmic_mohm = {own.ohmic_mohm:g} is {own.ohmic_mohm / typical_mohm:.2g} "
                f"times that of a typical new cell ({typical_mohm:.2g} mohm). It is of one cell at "
                f"25 degrees C: the battery has {cells} of them."
            )
            return


def note_tails(keys: ChargerKeys, key: str, notes: Notes) -> None:
    """Remark on stages that end as soon as they hold: a power gives no more than their tail there.

    Of a charger limited in A this is refused.

    Parameters
    ----------
    keys : ChargerKeys
        They have passed all checks.
    key : str
        Key path of the charger.
    notes : Notes
        Gets the remarks.
    """
    power_W = keys.sun.peak_W if keys.sun is not None else keys.limit_W
    for number, stage in enumerate(keys.stages or (), 1):
        most_A = math.inf if power_W is None else power_W / stage.hold_V
        if stage.until_tail_A is not None and stage.until_tail_A >= most_A:
            notes.remarks.append(
                f"{key}.stages[{number}] ends as soon as it reaches {stage.hold_V:g} V: "
                f"until_tail_A = {stage.until_tail_A:g} is no less than the {most_A:.3g} A that "
                f"{power_W:g} W give there."
            )

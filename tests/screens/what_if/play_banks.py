"""Drafts of many kinds to play with."""

from bankSim.scenario.draft import Draft

TWO_LFP = """
title = "Two"
[simulation]
duration_h = 60.0
[surroundings]
temperature_C = 20.0
[[battery]]
name = "new"
chemistry = "LFP"
cells_in_series = 4
rated_capacity_Ah = 60.0
lead = { length_m = 0.8, area_mm2 = 25, joints = 2 }
[[battery]]
name = "old"
chemistry = "LFP"
cells_in_series = 4
rated_capacity_Ah = 50.0
capacity_fraction = 0.8
resistance_factor = 1.5
lead_mohm = 2.2
[[battery.cells]]
[[battery.cells]]
state_of_charge = 0.97
[[battery.cells]]
[[battery.cells]]
[[battery.protection]]
watches = "lowest cell voltage"
trips_below = 2.6
after_s = 3.0
blocks = "discharge"
[[load]]
name = "lamp"
power_W = 50.0
"""

TABLE_ONLY = """
[simulation]
duration_h = 30.0
[wiring]
layout = "same end"
link_mohm = 0.3
main = { length_m = 1.0, area_mm2 = 50, joints = 2 }
[[battery]]
name = "measured"
cells_in_series = 4
internal_mohm = 1.0
lead_mohm = 1.5
[battery.cell]
ocv_table = "curve.csv"
capacity_Ah = { value = 40.0, sd = 1.0 }
ohmic_mohm = 0.8
relaxation = [{ mohm = 0.3, time_constant_s = 30.0 }]
state_of_charge = { low = 0.9, high = 0.94 }
[[battery]]
name = "other"
cells_in_series = 4
rated_capacity_Ah = 30.0
lead_mohm = 1.0
[battery.cell]
ocv_table = "curve.csv"
ohmic_mohm = 1.1
[[load]]
current_A = 4.0
[[load]]
name = "heater"
resistance_ohm = 6.0
active_h = [[1.0, 2.0]]
"""
CURVE = b"state_of_charge,voltage_V\n0,2.8\n0.1,3.2\n0.9,3.35\n1,3.5\n"

LEAD_ACID = """
[simulation]
duration_h = 40.0
[surroundings]
temperature_C = { mean_C = 12.0, swing_C = 6.0 }
[[battery]]
name = "agm"
chemistry = "AGM"
cells_in_series = 6
rated_capacity_Ah = 95.0
state_of_charge = 0.95
[[load]]
power_W = 30.0
cut_off_V = 11.0
"""

CHARGE_ONLY = """
[simulation]
duration_h = 12.0
stop = "end"
[[battery]]
name = "one"
chemistry = "LFP"
cells_in_series = 4
rated_capacity_Ah = 100.0
state_of_charge = 0.4
[[battery]]
name = "two"
chemistry = "LFP"
cells_in_series = 4
rated_capacity_Ah = 80.0
state_of_charge = 0.5
[[charger]]
name = "mains"
limit_A = 20.0
hold_V = 14.2
[[charger]]
name = "roof"
sun = { peak_W = 150, rise = "06:00", set = "18:00" }
hold_V = 14.2
"""

DRAFTS = {
    "two LFP": Draft(TWO_LFP),
    "table only": Draft(TABLE_ONLY, (("curve.csv", CURVE),)),
    "lead-acid alone": Draft(LEAD_ACID),
    "charge only": Draft(CHARGE_ONLY),
}


def many(count: int = 64) -> Draft:
    """Return a bank of many batteries."""
    one = 'name = "b{}"\nchemistry = "LFP"\ncells_in_series = 4\nrated_capacity_Ah = 100.0\n'
    text = "".join(f"[[battery]]\n{one.format(number)}" for number in range(count))
    return Draft(f'{text}[[load]]\nname = "all"\npower_W = 3000.0\n')

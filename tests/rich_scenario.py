"""One scenario that has every number a file can have, and something to do for each of them."""

from pathlib import Path

from bankSim.scenario.lines import Path as KeyPath
from bankSim.scenario.read import parse_scenario
from bankSim.scenario.variant import Variants

CURVE = "state_of_charge,voltage_V\n0,2.6\n0.1,3.1\n0.5,3.29\n0.9,3.38\n1,3.6\n"
RICH = """
[simulation]
duration_h = 9.0
stop = "end"
starts_at = "08:00"
output_every_s = 60.0

[surroundings]
temperature_C = { mean_C = 2.0, swing_C = 3.0, warmest_at = "14:00" }

[wiring]
layout = "same end"
link = { length_m = 0.3, area_mm2 = 35, joints = 2 }
main = { length_m = 1.0, area_mm2 = 50, joints = 2, fuse_A = 200 }

[[battery]]
name = "a"
chemistry = "LFP"
cells_in_series = 4
rated_capacity_Ah = 100.0
state_of_charge = 0.5
capacity_fraction = 0.9
resistance_factor = 1.4
internal_mohm = 1.5
lead_mohm = 1.2
diode_drop_V = 0.6
continuous_discharge_A = 90.0
continuous_charge_A = 45.0
mass_kg = 11.0
[[battery.cells]]
[[battery.cells]]
state_of_charge = 0.45
[[battery.cells]]
capacity_Ah = 85.0
[[battery.cells]]
ohmic_mohm = 0.9
relaxation = [{ mohm = 0.5, time_constant_s = 30.0 }]
[[battery.protection]]
watches = "lowest cell voltage"
trips_below = 2.9
after_s = 5.0
blocks = "discharge"
releases_above = 3.2
release_after_s = 30.0
release_needs = "charging"
[[battery.protection]]
watches = "highest cell voltage"
trips_above = 3.42
after_s = 5.0
blocks = "charge"
releases_below = 3.36
release_after_s = 1200.0
[[battery.protection]]
watches = "temperature"
trips_below = 1.9
after_s = 5.0
blocks = "charge"
releases_above = 3.0
release_after_s = 60.0
[battery.balancer]
kind = "bleed"
current_A = 0.5
starts_above_V = 3.3
within_mV = 5.0
[battery.heater]
power_W = 20.0
on_below_C = 2.5
off_above_C = 4.0
needs = "nothing"

[[battery]]
name = "b"
chemistry = "AGM"
cells_in_series = 6
rated_capacity_Ah = 90.0
state_of_charge = 0.7
lead = { length_m = 0.5, area_mm2 = 25, joints = 2, fuse_A = 100 }
[battery.cell]
capacity_Ah = 88.0
ohmic_mohm = 0.9
available_fraction = 0.5
well_rate_per_h = 0.7
hysteresis_mV = 2.0
relaxation = [{ mohm = 0.5, time_constant_s = 60.0 }, { mohm = 0.2, time_constant_s = 900.0 }]

[[battery]]
name = "c"
cells_in_series = 4
rated_capacity_Ah = 40.0
lead_mohm = 3.0
internal_mohm = 2.0
[battery.cell]
ocv_table = "curve.csv"
capacity_Ah = 41.0
state_of_charge = 0.7
ohmic_mohm = 2.0

[[load]]
name = "power"
power_W = 500.0
reference_voltage_V = 12.8
voltage_exponent = 0.5
duty = { on_min = 30, off_min = 20 }
cut_off_V = 11.5
cut_off_after_s = 10.0
restart_V = 12.9
[[load]]
name = "current"
current_A = 8.0
[[load]]
name = "resistance"
resistance_ohm = 3.0
active_h = [[1, 2], [5, 6]]

[[charger]]
name = "amperes"
limit_A = 60.0
stages = [{ hold_V = 14.0, until_tail_A = 20.0, at_most_h = 1.5 }, { hold_V = 13.6 }]
active_h = [[3, 6]]
[[charger]]
name = "watts"
limit_W = 900.0
hold_V = 13.7
active_h = [[6.5, 7.5]]
[[charger]]
name = "sun"
sun = { peak_W = 100.0, rise = "07:00", set = "19:00" }
hold_V = 14.1
"""


def rich(folder: Path, text: str = RICH):
    """Read the scenario; its table is written into the folder first."""
    (folder / "curve.csv").write_text(CURVE)
    return parse_scenario(text, folder, "rich.toml")


def numbers(scenario) -> list[tuple[KeyPath, float]]:
    """Return every number of a scenario's file with its path."""
    return list(_walk(Variants(scenario).document, ()))


def _walk(value, path):
    if isinstance(value, dict | list):
        items = value.items() if isinstance(value, dict) else enumerate(value)
        for part, item in items:
            yield from _walk(item, (*path, part))
    elif isinstance(value, int | float) and not isinstance(value, bool):
        yield path, value

"""Two bare batteries, some of whose numbers have a spread: solved at once."""

import numpy as np

from bankSim.measured.compare_course import course_of
from bankSim.measured.log import Log
from bankSim.scenario.read import parse_scenario
from bankSim.scenario.variant import Variants
from bankSim.sim.run import simulate

CURVE = "state_of_charge,voltage_V\n0.0,2.5\n0.1,3.1\n0.9,3.3\n1.0,3.4\n"
CELL = """
[battery.cell]
capacity_Ah = {capacity}
ocv_table = "curve.csv"
ohmic_mohm = {ohmic}
[[battery.protection]]
watches = "lowest cell voltage"
trips_below = 2.6
blocks = "discharge"
"""
BATTERY = """
[[battery]]
name = "{name}"
cells_in_series = 4
rated_capacity_Ah = 20.0
lead_mohm = 2.0
"""
BARE = (
    """
title = "Two on a bench"
[simulation]
output_every_s = 60.0
[surroundings]
temperature_C = 20.0
"""
    + BATTERY.format(name="old")
    + CELL.format(capacity="{ value = 14.0, sd = 0.4 }", ohmic="{ value = 2.0, sd = 0.2 }")
    + BATTERY.format(name="new")
    + CELL.format(capacity="{ value = 19.0, sd = 0.4 }", ohmic="{ value = 1.0, sd = 0.1 }")
    + """
[[load]]
name = "lamp"
power_W = { value = 60.0, sd = 1.0 }
"""
)
OLD_AH = "battery[old].cell.capacity_Ah"
OLD_MOHM = "battery[old].cell.ohmic_mohm"
LAMP_W = "load[1].power_W"


def bare(folder, text=BARE):
    """Read the scenario."""
    (folder / "curve.csv").write_text(CURVE)
    return parse_scenario(text, folder, "bench.toml")


def changed(scenario, values):
    """Return the scenario with other values at some keys."""
    variants = Variants(scenario)
    return variants.with_values({variants.path_of(key): one for key, one in values.items()})


def log_of(
    scenario, *, every_s=20.0, before_s=300.0, after_s=600.0, gain=1.0, signs=(1.0, 1.0),
    batteries=True,
):  # fmt: skip
    """Run a scenario and log it in steps of 0.01 A and 1 mV, with rests before and after."""
    course = course_of(simulate(scenario))
    time = np.arange(0.0, course.end_s + before_s + after_s, every_s)

    def seen(values, step, left, right):
        own = np.interp(time - before_s, course.time_s, values, left=left, right=right)
        return np.round(own / step) * step

    bus = course.voltage_V
    others = {
        f"{battery.name} current [A]": sign * seen(gain * row, 0.01, 0.0, 0.0)
        for battery, row, sign in zip(
            scenario.bank.batteries, course.batteries_A, signs, strict=True
        )
    }
    return Log(
        "test.csv",
        time,
        seen(bus, 0.001, float(bus[0]), float(bus[-1])),
        seen(gain * course.current_A, 0.01, 0.0, 0.0),
        others=others if batteries else {},
    )

"""Bank tests whose truth is known: a scenario with one value changed, logged with coarse steps."""

import numpy as np

from bankSim.measured.compare_course import course_of
from bankSim.measured.log import Log
from bankSim.scenario.read import parse_scenario
from bankSim.scenario.variant import Variants
from bankSim.sim.run import simulate

TWO = """
title = "Two on a bench"
[simulation]
duration_h = 60.0
output_every_s = 60.0
[surroundings]
temperature_C = 21.0
[wiring]
main = { length_m = 0.8, area_mm2 = 50, joints = 2 }
[[battery]]
name = "old"
chemistry = "LFP"
cells_in_series = 4
rated_capacity_Ah = 100.0
capacity_fraction = 0.80
resistance_factor = 1.6
lead = { length_m = 0.5, area_mm2 = 35, joints = 2 }
[[battery]]
name = "new"
chemistry = "LFP"
cells_in_series = 4
rated_capacity_Ah = 100.0
capacity_fraction = 0.98
lead = { length_m = 0.5, area_mm2 = 35, joints = 2 }
[[load]]
name = "electronic load"
current_A = 20.0
"""


def scenario_of(folder, text=TWO):
    """Read a scenario."""
    return parse_scenario(text, folder, "bank.toml")


def changed(scenario, **values):
    """Change keys of the file, given with double underscores for what is no letter."""
    variants = Variants(scenario)
    return variants.with_values({variants.path_of(k): v for k, v in values.items()})


def log_of(
    scenario, *, every_s=30.0, before_s=300.0, after_s=600.0, gain=1.0, sign=1.0,
    batteries=True, file="test.csv",
):  # fmt: skip
    """Run a scenario and log it: 0.01 A and 1 mV steps, a rest before and after the load."""
    course = course_of(simulate(scenario))
    time = np.arange(0.0, course.end_s + before_s + after_s, every_s)
    inside = time - before_s

    def seen(values, step, left, right):
        own = np.interp(inside, course.time_s, values, left=left, right=right)
        return np.round(own / step) * step

    rest_V = float(course.voltage_V[0])
    names = [one.name for one in scenario.bank.batteries]
    others = {
        f"{name} current [A]": sign * seen(gain * row, 0.01, 0.0, 0.0)
        for name, row in zip(names, course.batteries_A, strict=True)
    }
    return Log(
        file,
        time,
        seen(course.voltage_V, 0.001, rest_V, float(course.voltage_V[-1])),
        seen(gain * course.current_A, 0.01, 0.0, 0.0),
        others=others if batteries else {},
    )

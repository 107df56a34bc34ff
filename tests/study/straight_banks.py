"""Scenario texts of cells with a straight voltage curve, whose answers follow by hand.

A cell rests at 2.5 V + 1 V x its state of charge and is cut out at 2.5 V, so that under a current
it gives its capacity less current x resistance / 1 V of it.
"""

import numpy as np

from bankSim.scenario.read import parse_scenario
from bankSim.study.plan import march_block
from bankSim.study.store import Folder, Memory

OHMIC_MOHM = 0.01
CURVE = "state_of_charge,voltage_V\n0,2.5\n1,3.5\n"
AROUND = """
[simulation]
duration_h = 200.0
output_every_s = 7200.0
[surroundings]
temperature_C = 25.0
"""
BATTERY = """
[[battery]]
name = "{name}"
cells_in_series = {cells}
rated_capacity_Ah = {rated}
{more}
[battery.cell]
ocv_table = "curve.csv"
capacity_Ah = {capacity}
ohmic_mohm = {ohmic}
[[battery.protection]]
watches = "lowest cell voltage"
trips_below = 2.5
after_s = 0.0
blocks = "discharge"
"""
LOAD = """
[[load]]
name = "{name}"
current_A = {current}
"""
LEAD = "lead_mohm = 1.0\n"


def battery(
    name="a", capacity="100.0", *, cells=1, rated=100.0, more=LEAD, ohmic=OHMIC_MOHM, below=""
):
    """One battery; `more` goes to its own keys, `below` behind its cells and rules."""
    text = BATTERY.format(
        name=name, cells=cells, rated=rated, more=more, capacity=capacity, ohmic=ohmic
    )
    return text + below


def load(current="5.0", name="lamp"):
    """A load of so many amperes."""
    return LOAD.format(name=name, current=current)


def scenario(folder, *parts, around=AROUND, file="bank.toml"):
    """Read a scenario made of such parts; its curve is put into the folder."""
    (folder / "curve.csv").write_text(CURVE)
    return parse_scenario(around + "".join(parts), folder, file)


def part_given(current, ohmic=OHMIC_MOHM):
    """What a cell gives of its capacity, full at the start."""
    return 1.0 - current * ohmic * 1e-3


class Stores:
    """Gives stores by name and keeps them; in memory, or below a folder."""

    def __init__(self, folder=None):
        self.folder, self.kept = folder, {}

    def __call__(self, name, description):
        own = Memory() if self.folder is None else Folder(self.folder / name, description)
        self.kept[name] = own
        return own


def counting(marched):
    """A march that notes the numbers of its blocks."""

    def march(plan, number):
        marched.append(number)
        return march_block(plan, number)

    return march


def rows_of(store, draws=None):
    """All columns of a store as they stand in memory, cut to so many draws."""
    blocks = len(store.finished())
    columns = {name: np.asarray(store.column(name, blocks))[:draws] for name in store.names()}
    return {name: column.tobytes() for name, column in columns.items()}

"""What if begins at the cell that holds least charge."""

from pathlib import Path

from bankSim.scenario.read import parse_scenario
from bankSim.screens.what_if.sliders import weakest

BATTERY = """
[[battery]]
name = "one"
chemistry = "LFP"
cells_in_series = 4
rated_capacity_Ah = 100
cells = [{cells}]
"""


def cells(text):
    return parse_scenario(BATTERY.format(cells=text), Path(), "bank.toml").bank.batteries[0].cells


def test_an_emptier_cell_and_a_smaller_cell_are_found():
    assert weakest(cells("{}, {}, {state_of_charge = 0.94}, {}")) == 2
    assert weakest(cells("{}, {capacity_Ah = 90}, {state_of_charge = 0.94}, {}")) == 1


def test_of_equal_cells_it_is_the_first():
    assert weakest(cells("{}, {}, {}, {}")) == 0

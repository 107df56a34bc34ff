"""Scenario texts that the tests of studies are made of."""

from rich_scenario import CURVE

from bankSim.scenario.read import parse_scenario

LFP = """
[[battery]]
name = "lithium"
chemistry = "LFP"
cells_in_series = 4
rated_capacity_Ah = 100.0
"""
AGM = """
[[battery]]
name = "lead"
chemistry = "AGM"
cells_in_series = 6
rated_capacity_Ah = 80.0
"""
BARE = """
[[battery]]
name = "bare"
cells_in_series = 4
[battery.cell]
ocv_table = "curve.csv"
capacity_Ah = 50.0
ohmic_mohm = 2.0
"""
LOAD = """
[[load]]
name = "pump"
power_W = 250.0
"""


def read(text, folder):
    """Read a scenario whose table stands in a folder."""
    (folder / "curve.csv").write_text(CURVE)
    return parse_scenario(text, folder, "bank.toml")

"""Building blocks for the scenario tests."""

from pathlib import Path

import pytest

from bankSim.errors import ScenarioError
from bankSim.scenario.read import parse_scenario

CURVE = "state_of_charge,voltage_V\n0,2.5\n0.5,3.3\n1,3.6\n"

LFP = """
[[battery]]
name = "house"
chemistry = "LFP"
cells_in_series = 4
rated_capacity_Ah = 100.0
"""

#: Of a battery whose protection trips and lets go again and again.
COMES_AND_GOES = """
resistance_factor = 20.0
state_of_charge = 0.6
[[battery.protection]]
watches = "lowest cell voltage"
trips_below = 3.2
after_s = 5.0
blocks = "discharge"
releases_above = 3.25
release_after_s = 5.0
"""

TABLE_ONLY = """
[[battery]]
name = "bare"
cells_in_series = 2
[battery.cell]
ocv_table = "curve.csv"
capacity_Ah = 10.0
ohmic_mohm = 5.0
"""


def faults_of(text: str, folder: Path) -> list[str]:
    """Return the lines that a wrong scenario is refused with."""
    (folder / "curve.csv").write_text(CURVE)
    with pytest.raises(ScenarioError) as caught:
        parse_scenario(text, folder, "bank.toml")
    assert all("\n" not in line for line in caught.value.faults)
    return caught.value.faults


def read(text: str, folder: Path):
    """Return the scenario of a text whose tables stand in `folder`."""
    if not (folder / "curve.csv").exists():
        (folder / "curve.csv").write_text(CURVE)
    return parse_scenario(text, folder, "bank.toml")


def assumed(scenario):
    """Return the values that were assumed, by their keys."""
    return {item.key: item.value for item in scenario.assumed}

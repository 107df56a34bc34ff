"""Scenario texts for the command line: small, of bare cells, solved at once."""

CELL = """
[battery.cell]
capacity_Ah = {capacity}
ocv_table = "curve.csv"
ohmic_mohm = 1.0
[[battery.protection]]
watches = "lowest cell voltage"
trips_below = 2.6
blocks = "discharge"
"""

TWO = (
    """
title = "Two on a bench"
[[battery]]
name = "small"
cells_in_series = 4
rated_capacity_Ah = 10.0
lead_mohm = 2.0
"""
    + CELL.format(capacity=10.0)
    + """
[[battery]]
name = "large"
cells_in_series = 4
rated_capacity_Ah = 20.0
lead_mohm = 2.0
"""
    + CELL.format(capacity=19.0)
    + """
[[load]]
name = "lamp"
power_W = 60.0
"""
)

CURVE = "state_of_charge,voltage_V\n0.0,2.5\n0.1,3.1\n0.9,3.3\n1.0,3.4\n"


def write_bench(folder, text=TWO, name="bench.toml"):
    """Write the scenario and its curve; return the scenario's path."""
    (folder / "curve.csv").write_text(CURVE)
    file = folder / name
    file.write_text(text)
    return file

"""A lead-acid table that ends at full goes on as its chemistry gasses (docs/theory.md, 3.11)."""

from pytest import approx

from bankSim.model.lead_acid import AGM
from bankSim.scenario.read import parse_scenario
from bankSim.sim.run import simulate

TEXT = """
title = "own table"
[simulation]
duration_h = 30.0
[[battery]]
name = "a"
chemistry = "AGM"
cells_in_series = 6
rated_capacity_Ah = 100.0
state_of_charge = 0.9
[battery.cell]
ocv_table = "curve.csv"
[[charger]]
name = "mains"
limit_A = 20.0
hold_V = 14.4
"""


def battery_of(folder, last):
    rows = f"state_of_charge,voltage_V\n0.0,1.95\n0.5,2.05\n{last},2.15\n"
    (folder / "curve.csv").write_text(rows, encoding="utf-8")
    return parse_scenario(TEXT, folder, "own.toml")


def test_a_table_that_ends_at_full_gasses_beyond(tmp_path):
    # it went on by its last line: 14.4 V was never reached, and 20 A flowed in for ever
    own = battery_of(tmp_path, 1.0)
    curve = own.bank.batteries[0].cells[0].ocv_V
    typical = AGM.ocv_V()
    for head in (1.001, 1.01, 1.2):
        assert float(curve(head)) == approx(2.15 + float(typical(head) - typical(1.0)))
    charged = simulate(own)
    assert charged.batteries[0].highest_cell_voltage_V == approx(2.4, abs=1e-3)
    # the current falls to that of gassing: 0.005 of the label at 2.40 V, e-fold every 0.1 V
    assert -charged.timeline()["a.current_A"].iloc[-1] < 1.0


def test_a_table_that_goes_on_too_flat_is_a_danger(tmp_path):
    flat = simulate(battery_of(tmp_path, 1.05))
    told = {one.topic: one for one in flat.cautions}["cell charged beyond full"]
    assert told.severity == "danger"
    assert flat.batteries[0].highest_state_of_charge > 1.2

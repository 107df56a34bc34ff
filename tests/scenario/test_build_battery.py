"""What a battery becomes in SI, and what is remarked about it: small files, sums by hand."""

import pytest
from pytest import approx
from scenario_texts import CURVE, LFP, TABLE_ONLY, assumed, faults_of, read

CELLS = """
[[battery.cells]]
capacity_Ah = 9.0
[[battery.cells]]
capacity_Ah = 7.5
"""
AGM = '[[battery]]\nchemistry = "AGM"\ncells_in_series = 6\n'


def test_the_label_of_unlike_cells_is_that_of_the_smallest(tmp_path):
    scenario = read(TABLE_ONLY + CELLS, tmp_path)
    assert scenario.bank.batteries[0].rated_C == 7.5 * 3600.0
    assert assumed(scenario)["battery[1].rated_capacity_Ah"] == 7.5
    # lead-acid: 1.0816 Ah in both wells for each Ah on the label
    scenario = read(AGM + "[battery.cell]\ncapacity_Ah = 108.16\n", tmp_path)
    assert scenario.bank.batteries[0].rated_C == approx(100.0 * 3600.0)


@pytest.mark.parametrize(
    ("bare", "refused"),
    [
        ("", True), ("internal_mohm = 1.0\n", False), ("lead_mohm = 1.0\n", False),
        ("internal_mohm = 1.0\nlead_mohm = 1.0\n", False), ("ohmic", False),
    ],
)  # fmt: skip
def test_two_batteries_meet_with_some_resistance_between_them(bare, refused, tmp_path):
    text = ""
    for name in ("one", "two"):
        own = TABLE_ONLY.replace('"bare"', f'"{name}"')
        if bare != "ohmic":
            own = own.replace("ohmic_mohm = 5.0\n", "")
            own = own.replace("cells_in_series = 2\n", f"cells_in_series = 2\n{bare}")
        text += own
    if refused:
        (line,) = faults_of(text, tmp_path)
        assert 'battery[2] and battery[1] "one" meet with no resistance between them' in line
        assert "or in wiring.link_mohm" not in line
        row = '\n[wiring]\nlayout = "same end"\nlink_mohm = '
        (line,) = faults_of(text + f"{row}0.0\n", tmp_path)
        assert "lead_mohm of one of the two, or in wiring.link_mohm" in line
        assert len(read(text + f"{row}0.1\n", tmp_path).bank.batteries) == 2
    else:
        assert len(read(text, tmp_path).bank.batteries) == 2


@pytest.mark.parametrize(
    ("first", "last", "told"),
    [(0.0, 1.0, ""), (0.02, 0.98, ""), (0.2, 1.0, "0.2 to 1"), (0.0, 0.8, "0 to 0.8"),
     (0.03, 0.99, "0.03 to 0.99")],
)  # fmt: skip
def test_a_table_that_leaves_out_some_of_the_charge(first, last, told, tmp_path):
    curve = f"state_of_charge,voltage_V\n{first},2.9\n0.5,3.3\n{last},3.5\n"
    (tmp_path / "curve.csv").write_text(curve)
    remarks = [one for one in read(TABLE_ONLY, tmp_path).remarks if "covers" in one]
    assert len(remarks) == bool(told)
    if told:
        assert remarks[0].startswith(
            f"battery[1]: its ocv_table covers state of charge {told} only; outside it the voltage "
        )


def test_tables_of_single_cells_are_looked_at_too(tmp_path):
    (tmp_path / "curve.csv").write_text(CURVE)
    (tmp_path / "short.csv").write_text("state_of_charge,voltage_V\n0.2,2.9\n1,3.5\n")
    cells = '[[battery.cells]]\nocv_table = "short.csv"\n' + "[[battery.cells]]\n" * 3
    remarks = read(LFP + cells, tmp_path).remarks
    assert ["0.2 to 1" in one for one in remarks if "covers" in one] == [True]
    # typical curves are no tables
    assert not [one for one in read(LFP, tmp_path).remarks if "covers" in one]


def test_a_table_of_a_whole_battery_is_refused_for_one_cell(tmp_path):
    (tmp_path / "whole.csv").write_text("state_of_charge,voltage_V\n0,10\n1,13.4\n")
    text = TABLE_ONLY.replace("curve.csv", "whole.csv")
    (line,) = faults_of(text, tmp_path)
    assert "battery[1].cell.ocv_table: 13.4 V is too much for one cell of several in series" in line
    assert "; expected up to 10 V (the table is for one cell)" in line
    one = text.replace("cells_in_series = 2", "cells_in_series = 1")
    assert len(read(one, tmp_path).bank.batteries[0].cells) == 1


def test_a_number_of_cells_that_no_lead_acid_battery_has(tmp_path):
    five = AGM.replace("= 6", "= 5") + "rated_capacity_Ah = 100.0\n"
    (remark,) = [one for one in read(five, tmp_path).remarks if "cells in series" in one]
    assert remark.startswith(
        "battery[1]: 5 cells in series are unusual for lead-acid: usual are 1,"
    )
    six = AGM + "rated_capacity_Ah = 100.0\n"
    assert not [one for one in read(six, tmp_path).remarks if "cells in series" in one]


@pytest.mark.parametrize(("chemistry", "J_kg_K"), [("AGM", 900.0), ("LFP", 1000.0)])
def test_heat_capacity_is_mass_times_that_of_the_chemistry(chemistry, J_kg_K, tmp_path):
    text = f'[[battery]]\nchemistry = "{chemistry}"\ncells_in_series = 6\n'
    scenario = read(text + "rated_capacity_Ah = 100.0\nmass_kg = 27.0\n", tmp_path)
    thermal = scenario.bank.batteries[0].thermal
    assert thermal.capacity_J_K == approx(27.0 * J_kg_K)
    assert thermal.loss_W_K == approx(0.5 * 9.0)  # 27^(2/3) = 9
    assert assumed(scenario)["battery[1] (specific heat)"] == J_kg_K


def test_a_usual_lead(tmp_path):
    # two conductors of 0.5 m of 35 mm2, 0.554 ohm/km at 20 degC, 0.393 % more per K; four joints
    battery = read(LFP, tmp_path).bank.batteries[0]
    ohm = 2 * 0.5e-3 * 0.554 * (1.0 + 0.00393 * 5.0) + 4 * 50e-6
    assert battery.lead_ohm == approx(ohm)
    assert battery.internal_ohm == approx(1.5e-3)
    # the same cable with one joint on each conductor and a fuse of 80 mV at 200 A
    lead = "lead = { length_m = 0.5, area_mm2 = 35, joints = 1, fuse_A = 200 }\n"
    battery = read(LFP + lead, tmp_path).bank.batteries[0]
    assert battery.lead_ohm == approx(ohm - 100e-6 + 0.08 / 200.0)
    assert (battery.fuse_A, battery.lead_area_mm2) == (200.0, 35.0)

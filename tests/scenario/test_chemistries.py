"""What the word for a chemistry does to a battery, and the wells of its cells."""

import pytest
from scenario_texts import LFP, TABLE_ONLY, assumed, faults_of, read

from bankSim.model import lead_acid, nmc
from bankSim.model.chemistry import CHEMISTRIES, chemistry_of

NMC = LFP.replace('"LFP"', '"NMC"')
AGM = LFP.replace('"LFP"', '"AGM"').replace("= 4", "= 6")
SODIUM = LFP.replace('"LFP"', '"sodium-ion"')
CELL = "[battery.cell]\n"
TABLE = CELL + 'ocv_table = "curve.csv"\n'


def battery_of(text, folder):
    return read(text, folder).bank.batteries[0]


@pytest.mark.parametrize("word", CHEMISTRIES)
def test_every_typical_value_is_listed_with_a_source(word, tmp_path):
    scenario = read(LFP.replace("LFP", word), tmp_path)
    chemistry, listed = chemistry_of(word), assumed(scenario)
    cell = "battery[1].cell"
    for key in ("ohmic_mohm", "relaxation[1].mohm", "ocv_table", "hysteresis_mV"):
        assert f"{cell}.{key}" in listed
    assert listed[f"{cell}.ocv_table"] == f"{word} curve"
    for name in (chemistry.sources.rise.name, *(one.name for one in chemistry.fixed)):
        assert f"{cell} ({name})" in listed
    rules = sum(key.startswith("battery[1].protection[") for key in listed)
    assert rules == len(scenario.bank.batteries[0].rules) == (5 if chemistry.is_lithium else 0)
    assert all(item.source for item in scenario.assumed)


def test_agm_battery(tmp_path):
    scenario = read(AGM, tmp_path)
    (battery,) = scenario.bank.batteries
    chemistry, cell = lead_acid.AGM, battery.cells[0]
    assert cell.ocv_V.same_as(chemistry.ocv_V())
    assert cell.charge_C == pytest.approx(108.16 * 3600.0)  # both wells hold more than the label
    assert battery.rated_C == 360_000.0
    assert cell.available_fraction == 0.475111
    assert cell.well_rate_per_s == pytest.approx(0.676960 / 3600.0)
    assert cell.gassing_A == pytest.approx(50.0)
    assert battery.internal_ohm == 0.0
    assert battery.rules == ()
    listed = assumed(scenario)
    assert listed["battery[1].cell.capacity_Ah"] == pytest.approx(108.16)
    assert listed["battery[1].cell.available_fraction"] == 0.475111
    assert listed["battery[1].cell.well_rate_per_h"] == 0.67696


def test_capacity_fraction_scales_both_wells(tmp_path):
    battery = battery_of(AGM + "capacity_fraction = 0.5\n", tmp_path)
    assert battery.cells[0].charge_C == pytest.approx(54.08 * 3600.0)


def test_label_follows_from_the_charge_of_both_wells(tmp_path):
    text = AGM.replace("rated_capacity_Ah = 100.0\n", "") + CELL + "capacity_Ah = 54.08\n"
    battery = battery_of(text, tmp_path)
    assert battery.cells[0].charge_C == pytest.approx(54.08 * 3600.0)
    assert battery.rated_C == pytest.approx(50.0 * 3600.0)


def test_nmc_battery(tmp_path):
    battery = battery_of(NMC + "continuous_discharge_A = 80\n", tmp_path)
    assert battery.cells[0].ocv_V.same_as(nmc.ocv_curve())
    assert battery.rules == nmc.usual_rules(80.0)


def test_written_wells_override_the_chemistry(tmp_path):
    text = AGM + CELL + "available_fraction = 0.3\nwell_rate_per_h = 1.8\n"
    scenario = read(text, tmp_path)
    cell = scenario.bank.batteries[0].cells[0]
    assert cell.available_fraction == 0.3
    assert cell.well_rate_per_s == pytest.approx(1.8 / 3600.0)
    assert not {"battery[1].cell.available_fraction", "battery[1].cell.well_rate_per_h"} & set(
        assumed(scenario)
    )


@pytest.mark.parametrize("text", [LFP + CELL, TABLE_ONLY], ids=["LFP", "table"])
def test_wells_work_for_any_cell(text, tmp_path):
    battery = battery_of(text + "available_fraction = 0.6\nwell_rate_per_h = 0.0\n", tmp_path)
    assert {cell.available_fraction for cell in battery.cells} == {0.6}
    assert {cell.well_rate_per_s for cell in battery.cells} == {0.0}


def test_wells_of_single_cells(tmp_path):
    text = TABLE_ONLY + "well_rate_per_h = 0.9\n"
    text += "[[battery.cells]]\n[[battery.cells]]\navailable_fraction = 0.4\n"
    scenario = read(text, tmp_path)
    cells = scenario.bank.batteries[0].cells
    assert [cell.available_fraction for cell in cells] == [1.0, 0.4]
    assert scenario.remarks == ()


TWO_CELLS = "[[battery.cells]]\n[[battery.cells]]\n"


@pytest.mark.parametrize(
    ("text", "where"),
    [
        (LFP + CELL + "available_fraction = 0.6", "7: battery[1].cell.well_rate_per_h"),
        (TABLE_ONLY + "available_fraction = 0.6", "5: battery[1].cell.well_rate_per_h"),
        (
            TABLE_ONLY + TWO_CELLS + "available_fraction = 0.6",
            "10: battery[1].cells[2].well_rate_per_h",
        ),
    ],
)
def test_two_wells_need_a_rate(text, where, tmp_path):
    (line,) = faults_of(text, tmp_path)
    assert f"{where} is missing; available_fraction = 0.6 makes two wells" in line


def test_a_rate_in_doubt_is_told_once(tmp_path):
    text = LFP + CELL + "available_fraction = 0.6\nwell_rate_per_h = -1\n"
    (line,) = faults_of(text, tmp_path)
    assert "well_rate_per_h = -1" in line


@pytest.mark.parametrize(
    ("text", "where"),
    [
        (LFP + CELL + "well_rate_per_h = 0.5", "battery[1].cell.well_rate_per_h"),
        (
            AGM + CELL + "available_fraction = 1.0\nwell_rate_per_h = 0.5",
            "battery[1].cell.well_rate_per_h",
        ),
        (TABLE_ONLY + TWO_CELLS + "well_rate_per_h = 0.5", "battery[1].cells[2].well_rate_per_h"),
    ],
)
def test_a_rate_without_a_second_well_has_no_effect(text, where, tmp_path):
    (remark,) = read(text, tmp_path).remarks
    assert remark == f"{where} has no effect because available_fraction is 1: there is one well."


def test_usual_rules_are_told_with_their_release(tmp_path):
    listed = assumed(read(LFP, tmp_path))
    assert [listed[f"battery[1].protection[{number}]"] for number in (1, 2, 3, 4)] == [
        "lowest cell voltage below 2.5 V for 5 s blocks discharge until above 2.9 V for 30 s "
        "while charging",
        "highest cell voltage above 3.65 V for 1 s blocks charge until below 3.45 V for 1 s",
        "discharge current above 250 A for 1 s blocks discharge until below 100 A for 5 s with "
        "the load removed",
        "temperature below 0 degC for 1 s blocks charge until above 3 degC for 1 s",
    ]


def test_sodium_ion_needs_a_table(tmp_path):
    (line,) = faults_of(SODIUM, tmp_path)
    assert 'bank.toml:4: battery[1].chemistry = "sodium-ion" has no typical voltage curve' in line
    assert "expected an ocv_table of your own in [battery.cell] or for every cell" in line
    three = "".join('[[battery.cells]]\nocv_table = "curve.csv"\n' for _ in range(3))
    (line,) = faults_of(SODIUM + three + "[[battery.cells]]\n", tmp_path)
    assert "has no typical voltage curve" in line


@pytest.mark.parametrize(
    "tables", [TABLE, "".join('[[battery.cells]]\nocv_table = "curve.csv"\n' for _ in range(4))]
)
def test_sodium_ion_with_a_table_is_exactly_what_is_written(tables, tmp_path):
    scenario = read(SODIUM + tables, tmp_path)
    (remark,) = scenario.remarks
    assert "for sodium-ion only the written ocv_table is used" in remark
    battery = scenario.bank.batteries[0]
    bare = battery_of(SODIUM.replace('chemistry = "sodium-ion"\n', "") + tables, tmp_path)
    for one, other in zip(battery.cells, bare.cells, strict=True):
        assert one.ocv_V.same_as(other.ocv_V)
        assert one.ohmic_ohm.same_as(other.ohmic_ohm)
        assert (one.charge_C, one.coulombic_efficiency, one.standing_A, one.hysteresis_V) == (
            360_000.0, 1.0, 0.0, 0.0,
        )  # fmt: skip
        assert one.usable_part is None
    assert (battery.rules, battery.internal_ohm, battery.lead_ohm) == ((), 0.0, 0.0)
    assert battery.continuous_discharge_A is None
    assert (battery.thermal is not None, bare.thermal is not None) == (True, False)
    assert "battery[1].mass_kg" in assumed(scenario)


@pytest.mark.parametrize(("internal_mohm", "told"), [(9.0, True), (4.3, True), (4.0, False)])
def test_the_resistance_of_a_whole_battery_is_no_resistance_of_straps(
    internal_mohm, told, tmp_path
):
    # cells of 0.75 mohm half full, four of them 2.99 mohm: real straps have 0.5 to 3 mohm
    text = f"""
    [simulation]
    duration_h = 1
    [[battery]]
    chemistry = "LFP"
    cells_in_series = 4
    rated_capacity_Ah = 100
    internal_mohm = {internal_mohm}
    cell = {{ ohmic_mohm = 0.69 }}
    """
    remarks = read(text, tmp_path).remarks
    assert any("internal_mohm" in one for one in remarks) is told
    if told:
        (remark,) = remarks
        assert f"= {internal_mohm:g} is far more than its 4 cells have together (3 mohm" in remark
        assert f"shows both together, here {internal_mohm + 2.99:.2g} mohm" in remark

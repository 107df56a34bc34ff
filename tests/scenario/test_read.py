"""Every supported key of a scenario file reaches the bank, in SI."""

import numpy as np
import pytest
from scenario_texts import LFP, TABLE_ONLY, assumed, read

from bankSim.model import lfp
from bankSim.model.bank import Layout
from bankSim.model.cables import cable_ohm
from bankSim.model.rule import Blocks, Watch
from bankSim.scenario.read import read_scenario


def test_simulation_and_surroundings(tmp_path):
    head = """
title = "A test"
notes = "two\\nlines"
[simulation]
duration_h = 2
stop = "end"
starts_at = "07:30"
output_every_s = 5
[surroundings]
temperature_C = -10
"""
    scenario = read(head + LFP, tmp_path)
    bank = scenario.bank
    assert (scenario.title, scenario.notes, scenario.file) == ("A test", "two\nlines", "bank.toml")
    assert scenario.text == head + LFP
    assert (bank.duration_s, bank.stop_when_empty, bank.output_every_s) == (7200.0, False, 5.0)
    assert bank.starts_at_s == 7.5 * 3600
    assert bank.temperature_K == pytest.approx(263.15)


def test_what_is_left_out(tmp_path):
    scenario = read(LFP, tmp_path)
    bank = scenario.bank
    assert (scenario.title, scenario.notes) == ("bank", "")
    assert (bank.duration_s, bank.stop_when_empty) == (240 * 3600.0, True)
    assert (bank.output_every_s, bank.starts_at_s, bank.temperature_K) == (60.0, 0.0, 298.15)
    assert bank.loads == ()
    assert bank.wiring.layout is Layout.EQUAL_LEADS
    assert assumed(scenario)["surroundings.temperature_C"] == 25.0


@pytest.mark.parametrize("layout", list(Layout))
def test_layouts(layout, tmp_path):
    wiring = f'[wiring]\nlayout = "{layout.value}"\nlink_mohm = 0.25\nmain_mohm = 0.5\n'
    scenario = read(wiring + LFP + TABLE_ONLY, tmp_path)
    assert scenario.bank.wiring.layout is layout
    assert scenario.bank.wiring.main_ohm == 0.5e-3
    row = layout is not Layout.EQUAL_LEADS
    assert scenario.bank.wiring.link_ohm == (0.25e-3 if row else 0.0)
    assert any("wiring.link_mohm" in remark for remark in scenario.remarks) is not row


def test_cables_in_the_wiring(tmp_path):
    text = """
[surroundings]
temperature_C = 40.0
[wiring]
layout = "same end"
link = { length_m = 0.3, area_mm2 = 35, joints = 1 }
main = { length_m = 1.5, area_mm2 = 50, fuse_A = 200 }
"""
    lead = "lead = { length_m = 0.7, area_mm2 = 25, joints = 3, fuse_A = 100 }\n"
    scenario = read(text + LFP + lead + TABLE_ONLY, tmp_path)
    warm_K = 313.15
    # link: one conductor; main and lead: two, joints on each, one fuse of 80 mV at its rating
    assert scenario.bank.wiring.link_ohm == pytest.approx(cable_ohm(0.3, 35, warm_K) + 0.05e-3)
    main = cable_ohm(1.5, 50, warm_K, 2) + 4 * 0.05e-3 + 0.08 / 200
    assert scenario.bank.wiring.main_ohm == pytest.approx(main)
    expected = cable_ohm(0.7, 25, warm_K, 2) + 6 * 0.05e-3 + 0.08 / 100
    assert scenario.bank.batteries[0].lead_ohm == pytest.approx(expected)
    assert scenario.bank.batteries[0].fuse_A == 100.0
    assert assumed(scenario)["wiring.main.joints"] == 2
    assert scenario.bank.wiring.main_fuse_A == 200.0
    assert scenario.bank.batteries[0].lead_area_mm2 == 25.0
    assert scenario.bank.batteries[1].lead_area_mm2 is None
    assert (scenario.bank.wiring.main_area_mm2, scenario.bank.wiring.link_area_mm2) == (50.0, 35.0)


@pytest.mark.parametrize(
    "main", ["", "main_mohm = 1\n", "main = { length_m = 1, area_mm2 = 50 }\n"]
)
def test_no_main_fuse_unless_written(main, tmp_path):
    assert read("[wiring]\n" + main + LFP, tmp_path).bank.wiring.main_fuse_A is None


@pytest.mark.parametrize("layout", ["same end", "opposite ends"])
@pytest.mark.parametrize("link", ["", "link_mohm = 0\n"])
def test_row_without_link_resistance_is_named(layout, link, tmp_path):
    text = f'[wiring]\nlayout = "{layout}"\n{link}'
    scenario = read(text + LFP + TABLE_ONLY, tmp_path)
    assert scenario.remarks == (
        "wiring.layout has no effect because a row without link resistance (link_mohm or link) "
        "behaves like equal leads.",
    )
    assert ("wiring.link_mohm" in assumed(scenario)) is not bool(link)
    assert read(text + LFP, tmp_path).remarks[:1] != scenario.remarks  # one battery is no row


def test_typical_battery(tmp_path):
    scenario = read(LFP, tmp_path)
    (battery,) = scenario.bank.batteries
    assert (battery.name, battery.chemistry, len(battery.cells)) == ("house", "LFP", 4)
    assert battery.rated_C == 360_000.0
    assert battery.internal_ohm == pytest.approx(1.5e-3)
    # 0.5 m of 35 mm2 each way and two joints on each pole, copper at 25 degC
    assert battery.lead_ohm == pytest.approx(cable_ohm(0.5, 35, 298.15, 2) + 0.2e-3)
    assert (battery.continuous_discharge_A, battery.continuous_charge_A) == (100.0, 50.0)
    assert battery.limits_assumed == ("continuous_discharge_A", "continuous_charge_A")
    assert battery.rules == lfp.usual_rules(100.0)
    for cell in battery.cells:
        assert (cell.state_of_charge, cell.charge_C) == (1.0, 360_000.0)
        assert cell.ocv_V.same_as(lfp.ocv_curve())
    listed = assumed(scenario)
    for key in ("state_of_charge", "capacity_fraction", "resistance_factor", "internal_mohm"):
        assert f"battery[1].{key}" in listed
    for key in ("lead_mohm", "continuous_discharge_A", "continuous_charge_A"):
        assert f"battery[1].{key}" in listed
    for key in ("ohmic_mohm", "relaxation[2].mohm", "ocv_table", "hysteresis_mV"):
        assert f"battery[1].cell.{key}" in listed
    assert sum(key.startswith("battery[1].protection[") for key in listed) == 5
    assert all(item.source for item in scenario.assumed)
    assert scenario.remarks == ()


def test_only_limits_that_are_not_on_the_label_count_as_assumed(tmp_path):
    (battery,) = read(LFP + "continuous_discharge_A = 70.0\n", tmp_path).bank.batteries
    assert battery.limits_assumed == ("continuous_charge_A",)
    (battery,) = read(TABLE_ONLY, tmp_path).bank.batteries
    assert battery.limits_assumed == ()


RATE, START = "battery[1].cell (hysteresis rate)", "battery[1].cell (hysteresis at the start)"


@pytest.mark.parametrize(
    "text", [LFP, LFP + "[battery.cell]\nhysteresis_mV = 4", TABLE_ONLY + "hysteresis_mV = 4"]
)
def test_rate_and_start_of_a_hysteresis_are_assumed(text, tmp_path):
    scenario = read(text, tmp_path)
    assert assumed(scenario)[RATE] == scenario.bank.batteries[0].cells[0].hysteresis_rate == 100.0
    assert assumed(scenario)[START] == "midway"


def test_hysteresis_of_one_cell_is_enough(tmp_path):
    text = TABLE_ONLY + "[[battery.cells]]\n[[battery.cells]]\nhysteresis_mV = 3\n"
    assert {RATE, START} <= set(assumed(read(text, tmp_path)))


@pytest.mark.parametrize("text", [TABLE_ONLY, LFP + "[battery.cell]\nhysteresis_mV = 0"])
def test_nothing_is_assumed_of_a_hysteresis_that_is_not_there(text, tmp_path):
    assert not {RATE, START} & set(assumed(read(text, tmp_path)))


def test_battery_keys_override_typical_values(tmp_path):
    text = """
state_of_charge = 0.8
capacity_fraction = 0.9
resistance_factor = 2.0
internal_mohm = 3.0
lead_mohm = 4.0
continuous_discharge_A = 70.0
continuous_charge_A = 30.0
mass_kg = 11.0
diode_drop_V = 0.5
"""
    scenario = read(LFP + text, tmp_path)
    (battery,) = scenario.bank.batteries
    cell = battery.cells[0]
    assert (cell.state_of_charge, cell.charge_C) == (0.8, 324_000.0)
    assert cell.ohmic_ohm(0.9) == pytest.approx(2 * 0.69e-3, rel=0.002)
    assert cell.relaxation[1].resistance_ohm == pytest.approx(2 * 0.29e-3)
    assert (battery.internal_ohm, battery.lead_ohm) == (3e-3, 4e-3)
    assert (battery.continuous_discharge_A, battery.continuous_charge_A) == (70.0, 30.0)
    assert battery.limits_assumed == ()
    assert battery.rules == lfp.usual_rules(70.0)
    assert battery.rated_C == 360_000.0
    assert battery.diode_drop_V == 0.5
    listed = assumed(scenario)
    for key in ("state_of_charge", "capacity_fraction", "resistance_factor", "internal_mohm"):
        assert f"battery[1].{key}" not in listed
    assert scenario.remarks == ()


def test_cell_keys_override_the_chemistry(tmp_path):
    text = """
capacity_fraction = 0.9
resistance_factor = 2.0
state_of_charge = 0.5
[battery.cell]
ocv_table = "curve.csv"
capacity_Ah = 84.0
state_of_charge = 0.7
ohmic_mohm = 0.45
relaxation = [{ mohm = 0.3, time_constant_s = 30.0 }]
hysteresis_mV = 4.0
available_fraction = 1.0
well_rate_per_h = 0.0
"""
    scenario = read(LFP + text, tmp_path)
    cell = scenario.bank.batteries[0].cells[3]
    assert cell.ocv_V([0.0, 0.25, 0.5, 1.0, 1.1]) == pytest.approx([2.5, 2.9, 3.3, 3.6, 3.66])
    assert (cell.charge_C, cell.state_of_charge, cell.hysteresis_V) == (84 * 3600, 0.7, 4e-3)
    assert [(pair.resistance_ohm, pair.time_constant_s) for pair in cell.relaxation] == [
        (0.3e-3, 30.0)
    ]
    # the value holds mid-way; the chemistry's rise near empty and its temperature law stay
    assert cell.ohmic_ohm(0.9) == pytest.approx(0.45e-3, rel=0.002)
    assert cell.ohmic_ohm(0.0) == pytest.approx(0.45e-3 * (1 + lfp.RISE))
    assert cell.activation_J_mol == lfp.ACTIVATION_J_MOL
    said = "\n".join(scenario.remarks)
    for key in ("state_of_charge", "capacity_fraction", "resistance_factor"):
        assert f"battery[1].{key} has no effect" in said
    listed = assumed(scenario)
    assert not any(key.startswith("battery[1].cell.") for key in listed)


def test_cells_override_the_common_cell(tmp_path):
    text = """
[battery.cell]
ohmic_mohm = 1.0
hysteresis_mV = 7.0
state_of_charge = 0.9
[[battery.cells]]
state_of_charge = 0.985
[[battery.cells]]
capacity_Ah = 80.0
ohmic_mohm = 2.0
[[battery.cells]]
relaxation = []
hysteresis_mV = 0.0
[[battery.cells]]
"""
    cells = read(LFP + text, tmp_path).bank.batteries[0].cells
    assert [cell.state_of_charge for cell in cells] == [0.985, 0.9, 0.9, 0.9]
    assert [cell.charge_C / 3600 for cell in cells] == [100.0, 80.0, 100.0, 100.0]
    assert [cell.hysteresis_V for cell in cells] == [7e-3, 7e-3, 0.0, 7e-3]
    assert [len(cell.relaxation) for cell in cells] == [2, 2, 0, 2]
    middle = [float(cell.ohmic_ohm(1.0)) for cell in cells]
    assert middle == pytest.approx([1e-3, 2e-3, 1e-3, 1e-3], rel=1e-3)


def test_common_key_that_every_cell_overrides_is_named(tmp_path):
    cells = "".join(f"[[battery.cells]]\nohmic_mohm = {n}.0\n" for n in (1, 2))
    scenario = read(TABLE_ONLY + cells, tmp_path)
    assert scenario.remarks == (
        "battery[1].cell.ohmic_mohm has no effect because every cell has its own.",
    )


def test_table_only_battery_is_exactly_what_is_written(tmp_path):
    scenario = read(TABLE_ONLY, tmp_path)
    (battery,) = scenario.bank.batteries
    assert (battery.internal_ohm, battery.lead_ohm, battery.rules) == (0.0, 0.0, ())
    assert (battery.continuous_discharge_A, battery.continuous_charge_A) == (None, None)
    assert battery.rated_C == 36_000.0
    cell = battery.cells[0]
    assert (cell.hysteresis_V, cell.coulombic_efficiency, cell.standing_A) == (0.0, 1.0, 0.0)
    assert (cell.activation_J_mol, cell.relaxation) == (0.0, ())
    assert cell.ohmic_ohm([-0.1, 0.0, 0.5, 1.1]) == pytest.approx([5e-3] * 4)
    listed = assumed(scenario)
    assert listed["battery[1].rated_capacity_Ah"] == 10.0
    assert listed["battery[1].lead_mohm"] == listed["battery[1].internal_mohm"] == 0.0


def test_table_only_battery_without_ohmic_resistance(tmp_path):
    text = TABLE_ONLY.replace("ohmic_mohm = 5.0\n", "") + "[[battery.cells]]\n" * 2
    scenario = read(text.replace("[battery.cell]", "lead_mohm = 1\n[battery.cell]"), tmp_path)
    assert scenario.bank.batteries[0].cells[0].ohmic_ohm(0.3) == 0.0
    assert assumed(scenario)["battery[1].cell.ohmic_mohm"] == 0.0


def test_table_only_capacity_from_the_label(tmp_path):
    text = TABLE_ONLY.replace("capacity_Ah = 10.0\n", "").replace(
        "cells_in_series = 2",
        "cells_in_series = 2\nrated_capacity_Ah = 12.0\n"
        "capacity_fraction = 0.5\nresistance_factor = 2.0",
    )
    scenario = read(text, tmp_path)
    assert scenario.bank.batteries[0].cells[0].charge_C == 6.0 * 3600
    assert scenario.bank.batteries[0].rated_C == 12.0 * 3600
    assert scenario.remarks == (
        "battery[1].resistance_factor has no effect because "
        "the resistances of the cells are as written.",
    )


def test_third_column_stands_in_for_the_key(tmp_path):
    curve = "state_of_charge,voltage_V,ohmic_mohm\n0,2.5,9\n0.5,3.3,5\n1,3.6,4\n"
    (tmp_path / "curve.csv").write_text(curve)
    text = TABLE_ONLY.replace("ohmic_mohm = 5.0\n", "")
    cell = read(text, tmp_path).bank.batteries[0].cells[0]
    # linear between rows, held beyond the ends
    expected = np.array([9.0, 9.0, 7.0, 5.0, 4.0, 4.0]) * 1e-3
    assert cell.ohmic_ohm([-0.1, 0.0, 0.25, 0.5, 1.0, 1.2]) == pytest.approx(expected)
    both = read(TABLE_ONLY, tmp_path)
    assert both.bank.batteries[0].cells[0].ohmic_ohm(0.0) == pytest.approx(5e-3)
    assert "third column of battery[1].cell.ocv_table has no effect" in both.remarks[0]


def test_a_cell_of_its_own_wins_over_the_common_table(tmp_path):
    (tmp_path / "curve.csv").write_text("state_of_charge,voltage_V,ohmic_mohm\n0,2.5,9\n1,3.6,4\n")
    text = TABLE_ONLY.replace("ohmic_mohm = 5.0\n", "") + (
        "[[battery.cells]]\nohmic_mohm = 7.0\n[[battery.cells]]\n"
    )
    cells = read(text, tmp_path).bank.batteries[0].cells
    assert cells[0].ohmic_ohm(0.0) == pytest.approx(7e-3)
    assert cells[1].ohmic_ohm(0.0) == pytest.approx(9e-3)


def test_own_table_of_a_cell_falls_back_to_the_common_third_column(tmp_path):
    (tmp_path / "curve.csv").write_text("state_of_charge,voltage_V,ohmic_mohm\n0,2.5,9\n1,3.6,4\n")
    (tmp_path / "own.csv").write_text("state_of_charge,voltage_V\n0,2.4\n1,3.5\n")
    text = TABLE_ONLY.replace("ohmic_mohm = 5.0\n", "") + (
        '[[battery.cells]]\nocv_table = "own.csv"\n[[battery.cells]]\n'
    )
    cell = read(text, tmp_path).bank.batteries[0].cells[0]
    assert cell.ocv_V(0.0) == pytest.approx(2.4)
    assert cell.ohmic_ohm([0.0, 1.0]) == pytest.approx([9e-3, 4e-3])


def test_rules(tmp_path):
    text = LFP + "protection = [\n"
    for watch in Watch:
        text += (
            f'  {{ watches = "{watch.value}", trips_above = 4.5, after_s = 2, blocks = "both" }},\n'
        )
    text += '  { watches = "temperature", trips_below = -5.0, blocks = "charge" },\n]\n'
    scenario = read(text, tmp_path)
    rules = scenario.bank.batteries[0].rules
    assert [rule.watches for rule in rules] == [*Watch, Watch.TEMPERATURE]
    assert [rule.below for rule in rules] == [False] * 6 + [True]
    assert [rule.threshold for rule in rules[:5]] == [4.5] * 5
    assert (rules[5].threshold, rules[6].threshold) == pytest.approx((277.65, 268.15))
    assert (rules[0].delay_s, rules[6].delay_s) == (2.0, 0.0)
    delays = [item for item in scenario.assumed if "protection" in item.key]
    assert [(item.key, item.value, item.unit) for item in delays] == [
        ("battery[1].protection[7].after_s", 0.0, "s")
    ]
    assert (rules[0].blocks, rules[6].blocks) == (Blocks.BOTH, Blocks.CHARGE)


def test_no_rules(tmp_path):
    scenario = read(LFP + "protection = []\n", tmp_path)
    assert scenario.bank.batteries[0].rules == ()
    assert not any("protection" in item.key for item in scenario.assumed)


def test_default_names(tmp_path):
    text = (LFP + LFP).replace('name = "house"\n', "") + "[[load]]\npower_W = 5\n"
    bank = read(text, tmp_path).bank
    assert [battery.name for battery in bank.batteries] == ["battery 1", "battery 2"]
    assert bank.loads[0].name == "load 1"


def load_of(text, folder):
    return read(LFP + "[[load]]\nname = 'x'\n" + text, folder).bank.loads[0]


def current_at(load, voltage_V, time_s=0.0, starts_at_s=0.0):
    amount = load.amount(np.array([time_s]), starts_at_s)[0]
    return amount * voltage_V ** (load.exponent - 1.0)


def test_loads_by_power_current_and_resistance(tmp_path):
    assert current_at(load_of("power_W = 120", tmp_path), 12.0) == pytest.approx(10.0)
    assert current_at(load_of("current_A = 3", tmp_path), 12.0) == pytest.approx(3.0)
    assert current_at(load_of("resistance_ohm = 2.4", tmp_path), 12.0) == pytest.approx(5.0)
    text = "power_W = 120\nreference_voltage_V = 12.8\nvoltage_exponent = 0.77"
    expected = 120.0 * (11.0 / 12.8) ** 0.77 / 11.0
    assert current_at(load_of(text, tmp_path), 11.0) == pytest.approx(expected)


def test_reference_without_exponent_is_named(tmp_path):
    text = LFP + "[[load]]\npower_W = 120\nreference_voltage_V = 12.8\n"
    scenario = read(text, tmp_path)
    assert current_at(scenario.bank.loads[0], 12.0) == pytest.approx(10.0)
    assert "load[1].reference_voltage_V has no effect" in scenario.remarks[0]


def test_schedules(tmp_path):
    text = """power_W = 10
duty = { on_min = 12, off_min = 18 }
active_h = [[0, 24], [30.5, 31]]
daily = [{ from = "18:00", to = "22:30" }, { from = "23:00", to = "24:00" }]
"""
    schedule = load_of(text, tmp_path).schedule
    assert schedule.duty_s == (720.0, 1080.0)
    assert schedule.active_s == ((0.0, 86_400.0), (109_800.0, 111_600.0))
    assert schedule.daily_s == ((64_800.0, 81_000.0), (82_800.0, 86_400.0))


def test_daily_without_a_start_time_assumes_midnight(tmp_path):
    text = LFP + '[[load]]\npower_W = 1\ndaily = [{ from = "18:00", to = "02:00" }]\n'
    assert assumed(read(text, tmp_path))["simulation.starts_at"] == "00:00"


def test_profiles(tmp_path):
    (tmp_path / "p.csv").write_text("time_h,power_W\n0.1,26\n0.3,-13\n")
    text = 'profile = "p.csv"\nreference_voltage_V = 13\nvoltage_exponent = 2'
    load = load_of(text, tmp_path)
    assert list(load.profile_s) == [0.1 * 3600.0, 0.3 * 3600.0]
    assert current_at(load, 13.0, 0.0) == 0.0
    assert current_at(load, 13.0, 400.0) == pytest.approx(2.0)
    assert current_at(load, 26.0, 9e9) == pytest.approx(-2.0)
    (tmp_path / "c.csv").write_text("time_h,current_A\n0,4\n1,-2\n")
    load = load_of('profile = "c.csv"', tmp_path)
    assert [current_at(load, 12.0, t) for t in (0.0, 3600.0)] == pytest.approx([4.0, -2.0])


def test_read_scenario_finds_tables_beside_the_file(tmp_path):
    folder = tmp_path / "sub"
    folder.mkdir()
    (tmp_path / "curve.csv").write_text("state_of_charge,voltage_V\n0,2\n1,3\n")
    (folder / "a.toml").write_text(TABLE_ONLY.replace('"curve.csv"', '"../curve.csv"'))
    scenario = read_scenario(folder / "a.toml")
    assert scenario.file == str(folder / "a.toml")
    assert scenario.bank.batteries[0].cells[0].ocv_V(0.5) == pytest.approx(2.5)
    assert scenario.title == "a"


def test_windows_text_file(tmp_path):
    (tmp_path / "a.toml").write_bytes(b"\xef\xbb\xbf" + LFP.replace("\n", "\r\n").encode())
    assert read_scenario(str(tmp_path / "a.toml")).bank.batteries[0].name == "house"

"""Calibration of lead batteries: long rests, high currents, frost; what is held against the label.

The truth is what made each log: `LeadTest` and the cells named here.
"""

import tomllib
from dataclasses import replace

import numpy as np
import pytest
from lead_logs import LeadTest, lead_log, shown
from pytest import approx

from bankSim.measured.battery_file import battery_files
from bankSim.measured.calibrate import calibrate
from bankSim.measured.ends import end_of, flows_A, usual_A
from bankSim.measured.first_guess import first_guess_Ah, given_Ah, given_part
from bankSim.measured.label import Label, label_of
from bankSim.measured.log import Finding, Log
from bankSim.measured.warnings import separates
from bankSim.model.curve import Curve
from bankSim.model.lead_acid import AGM, FLOODED
from bankSim.scenario.read import read_scenario
from bankSim.show.calibrate_answer import calibration_answer
from bankSim.sim.run import simulate

LABEL = Label("lead", "AGM", 6, 100.0)
AGED = AGM.typical_cell(100.0, 0.9 * 108.16 * 3600.0)  # capacity_fraction = 0.9 of a 100 Ah label


@pytest.fixture(scope="module")
def rested():
    """20 A to 10.5 V, then 16 h without current."""
    return lead_log(AGED, LeadTest(20.0, rest_h=16.0))


@pytest.fixture(scope="module")
def found(rested):
    return calibrate([rested], LABEL)


def test_a_long_rest_kept_finds_the_battery(found):
    # it was refused: 196 mV a cell off, since the noise of the rest was taken for the current
    capacity = found.value("capacity")
    assert capacity.value == approx(0.9 * 108.16, rel=0.03)
    assert found.value("available part of the charge").value == approx(0.475, abs=0.01)
    assert found.value("rate between the wells").value == approx(0.677, rel=0.05)
    assert found.followed[0].middle_rms_mV < 1.0
    assert abs(found.followed[0].error_percent) < 0.1


@pytest.mark.parametrize(
    ("chemistry", "cell", "test"),
    [
        # came to rest 20 to 80 mV a cell off, or refused: 40 A, a tired one in the cold
        (AGM, replace(AGM.typical_cell(100.0, 388_800.0, 2.5), available_fraction=0.53,
                      well_rate_per_s=0.888 / 3600.0), LeadTest(40.0, 1.0, 5.0)),
        (FLOODED, FLOODED.typical_cell(100.0, 390_000.0), LeadTest(20.0, 16.0)),
    ],
)  # fmt: skip
def test_other_batteries_are_found_too(chemistry, cell, test):
    log = lead_log(cell, test)
    found = calibrate([log], Label("lead", chemistry.word, 6, 100.0))
    one, capacity = found.followed[0], found.value("capacity")
    assert one.middle_rms_mV < 1.5
    assert abs(one.error_percent) < 0.2
    assert abs(capacity.value - cell.charge_C / 3600.0) < capacity.sd


def test_a_slow_discharge_ends_where_it_ended():
    # it came out 2 to 4 % too long: the resistance stood still below a state of charge of 0
    log = lead_log(AGED, LeadTest(10.0, 2.0, 18.0))
    found = calibrate([log], LABEL)
    assert abs(found.followed[0].error_percent) < 0.2
    assert found.value("capacity").value == approx(0.9 * 108.16, rel=0.03)


def test_the_usual_current_is_that_of_the_charge_drawn(rested):
    assert usual_A(rested) == approx(20.0, abs=0.1)
    quick = lead_log(AGED, LeadTest(20.0))
    assert not separates([rested, quick])  # one rate: 19 h of noise made it two
    guess = first_guess_Ah([rested], [1.0], LABEL, AGM)
    assert guess == approx(0.9 * 108.16, rel=0.05)


def test_noise_of_a_rest_is_no_end_of_a_discharge():
    # 2 A, and a meter that wavers by 2 % of that: the last current was seen at the log's end
    log = lead_log(AGM.typical_cell(10.0, 38_900.0), LeadTest(2.0, 20.0))
    assert flows_A(log) > 0.05
    assert end_of(log).given_Ah == approx(end_of(lead_log(
        AGM.typical_cell(10.0, 38_900.0), LeadTest(2.0, 0.05))).given_Ah, rel=0.01)  # fmt: skip


def test_a_long_rest_does_not_hide_the_chemistry():
    # 2 h at 13.2 V, then 20 h of rest at 11.4 V: lithium, 4 cells
    time = np.arange(0.0, 22 * 3600.0, 60.0)
    amps = np.where(time < 7200.0, 20.0, 0.0)
    log = Log("a.csv", time, np.where(time < 7200.0, 13.2, 11.4), amps)
    label = label_of([log], "a")
    assert (label.chemistry, label.cells_in_series) == ("LFP", 4)


def test_the_label_is_held_against_like(found, rested):
    # 0.9 x 108.16 Ah in both wells is 97 % of the label, and yet a 90 % battery
    assert found.capacity_fraction == approx(0.9, abs=0.03)
    answer = calibration_answer(found, [rested])
    assert answer.summary["capacity_fraction"] == found.capacity_fraction
    told = answer.story.headline[0]
    part = f"{100.0 * found.capacity_fraction:.0f} %"
    assert f"in both wells, {part} of the 108.2 Ah that a new one of this label holds" in told
    assert "Over 20 h at 25 degrees C it gives" in told
    given = found.value("charge given in 20 h")
    assert given.value == approx(0.9 * 101.2, rel=0.03)  # 101.2: what a new one gives at 5 A
    file = battery_files(found, "lead").text
    assert f"capacity_fraction = {found.capacity_fraction:.3f}" in file


def test_what_a_discharge_gives_of_a_typical_battery():
    # AGM, from memory: 100, 93 and 60 Ah in 20, 10 and 1 h; 93 Ah in 10 h is read as 91.9 in 9.19 h
    for hours, Ah in ((20.0, 100.0), (9.187, 91.87), (1.0, 60.0)):
        assert 108.16 * given_part(hours, 0.475111, 0.676960) == approx(Ah, rel=1e-3)


@pytest.mark.parametrize("current_A", [4.0, 15.0])
def test_what_a_discharge_gives_is_what_the_solver_gives(current_A):
    time = np.arange(0.0, 24 * 3600.0, 10.0)
    volts = shown(AGED, time, np.full(time.size, current_A), 25.0)
    hours = float(time[np.argmax(volts < 1.75)]) / 3600.0
    assert given_Ah(AGED, hours, 1.75) == approx(current_A * hours, rel=2e-3)


def test_what_a_discharge_gives_ends_where_the_voltage_is_first_reached():
    # a resistance that rises and falls again towards empty: the voltage came back above the end,
    # and 20 h gave all that the wells hold
    z = np.array([-0.1, 0.0, 0.05, 0.1, 0.2, 0.4, 1.0])
    hump = Curve.linear(z, np.array([2.0, 2.0, 6.0, 60.0, 9.0, 2.0, 2.0]) * 1e-3)
    cell = replace(AGED, ohmic_ohm=hump)
    time = np.arange(0.0, 30 * 3600.0, 10.0)
    volts = shown(cell, time, np.full(time.size, 4.0), 25.0)
    hours = float(time[np.argmax(volts < 1.75)]) / 3600.0
    assert given_Ah(cell, hours, 1.75) == approx(4.0 * hours, rel=5e-3)


def soft_log():
    """5.24 A from a battery that falls in a nearly straight line; no model of this project."""
    time = np.arange(0.0, 17.2 * 3600.0, 60.0)
    amps = np.where((time >= 600.0) & (time < 58_200.0), 5.24, 0.0)
    left = 1.0 - 5.24 * np.clip(time - 600.0, 0.0, 57_600.0) / 3600.0 / 84.0
    end = 0.55 * np.exp(-left / 0.03) + 1.1 * np.exp(-left / 0.008)
    volts = 11.75 + 1.05 * np.maximum(left, 0.0) ** 0.9 - 0.063 - end
    volts = np.where(time < 600.0, 12.8, np.where(amps > 0.0, volts, 11.95))
    return Log("soft.csv", time, np.round(volts, 3), amps)


@pytest.fixture(scope="module")
def soft():
    log = soft_log()
    return log, calibrate([log], LABEL)


def test_what_20_h_give_is_what_the_file_gives_in_20_h(soft, tmp_path):
    # 113 +- 15 Ah were told, 113 % of the label, of a battery that gives 86 Ah
    log, found = soft
    made = battery_files(found, "soft")
    for name, table in made.tables.items():
        (tmp_path / name).write_text(table, encoding="utf-8")
    given = found.value("charge given in 20 h")
    load = f'\n[[load]]\nname = "20 h"\ncurrent_A = {given.value / 20.0}\ncut_off_V = 10.5\n'
    file = tmp_path / "soft.toml"
    file.write_text(made.text.partition("\n[[load]]")[0] + load, encoding="utf-8")
    run = simulate(read_scenario(file))
    assert run.bank.delivered_Ah == approx(given.value, rel=0.01)
    assert f"it gives {given.value:.4g} Ah" in made.text
    answer = calibration_answer(found, [log])
    told = " ".join(answer.story.headline)
    assert f"{given.value:.0f} % of the label's 100 Ah" in told
    written = {one["name"]: one["value"] for one in answer.summary["values"]}
    assert written["charge given in 20 h"] == given.value
    assert found.capacity_fraction > given.value / 100.0 + 0.1  # charge that no load reaches
    assert "of the 108.2 Ah" not in told
    assert "capacity_fraction" not in made.text


def test_a_battery_not_to_be_built_on_is_not_held_against_the_label(found, rested):
    poor = replace(found, fit=replace(found.fit, settled=False))
    told = calibration_answer(poor, [rested]).story.headline
    assert "Do not build" in told[0]
    assert "% of the" not in " ".join(told)
    assert "capacity_fraction" not in battery_files(poor, "lead").text


def test_a_log_whose_charge_is_wrong_is_told_first(found, rested):
    wrong = replace(rested, findings=(Finding("the Ah are wrong.", spoils=True), Finding("odd.")))
    told = calibration_answer(found, [wrong]).story.headline
    assert "Beware" in told[0]
    assert "the Ah are wrong." in told[0]
    assert "odd." not in " ".join(told)
    assert "Beware" not in " ".join(calibration_answer(found, [rested]).story.headline)


def test_the_file_discharges_and_charges_as_the_battery_did(found, rested, tmp_path):
    made = battery_files(found, "lead")
    for name, text in made.tables.items():
        (tmp_path / name).write_text(text, encoding="utf-8")
    (tmp_path / "lead.toml").write_text(made.text, encoding="utf-8")
    again = simulate(read_scenario(tmp_path / "lead.toml"))
    # in the log the battery is kept at 25 degrees C, in the file it warms up: 0.5 % a kelvin
    assert again.bank.delivered_Ah == approx(end_of(rested).given_Ah, rel=0.01)
    # 20 A up to 14.4 V: it once rose to 13.3 V and was then overcharged without end
    head = made.text.partition("\n[[load]]")[0]
    assert tomllib.loads(head)["battery"][0]["name"] == "lead"
    flat = head.replace("[battery.cell]", "[battery.cell]\nstate_of_charge = 0.5")
    charger = '\n[[charger]]\nname = "mains"\nlimit_A = 20.0\nhold_V = 14.4\n'
    file = tmp_path / "charged.toml"
    file.write_text(flat + charger, encoding="utf-8")
    charged = simulate(read_scenario(file))
    assert float(np.max(charged.timeline()["lead.voltage_V"])) == approx(14.4, abs=0.01)
    assert charged.batteries[0].final_state_of_charge[0] < 1.03


def test_a_replay_lets_the_current_flow_below_no_voltage():
    time = np.linspace(0.0, 7200.0, 50)
    cell = AGM.typical_cell(100.0, 36_000.0)
    volts = shown(cell, time, np.full(50, 20.0), 25.0)  # 40 Ah out of 10
    assert volts[-1] < -1.0
    assert np.all(np.diff(volts[1:]) < 0.0)


def test_errors_hold_the_truth(found):
    # two wells are a rough picture: the part came out with an error of 0.0005, five times too small
    for name, truth in (
        ("capacity", 0.9 * 108.16),
        ("available part of the charge", 0.475111),
        ("rate between the wells", 0.676960),
        ("charge given in 20 h", 0.9 * 101.2),
    ):
        value = found.value(name)
        assert abs(value.value - truth) < 2.0 * value.sd
        assert value.sd > 0.009 * value.value


def test_a_lead_battery_without_a_cut_out_gets_no_usual_rules(found):
    open_end = replace(found, followed=tuple(replace(one, end=None) for one in found.followed))
    text = battery_files(open_end, "lead").text
    assert "usually has no cut-out of its own" in text
    assert "usual rules of the chemistry" not in text
    assert "[[battery.protection]]" not in text


def test_without_a_cut_out_the_file_ends_where_the_battery_ends(found, tmp_path):
    # its curves stood still below -5 % of charge, so that it went on by a quarter of its Ah
    made = battery_files(found, "lead")
    for name, table in made.tables.items():
        (tmp_path / name).write_text(table, encoding="utf-8")
    own = made.text.partition("\n[[load]]")[0].partition("\n[[battery.protection]]")[0]
    true = (
        'title = "true"\n[[battery]]\nname = "lead"\nchemistry = "AGM"\ncells_in_series = 6\n'
        "rated_capacity_Ah = 100.0\ncapacity_fraction = 0.9\n"
    )
    given = []
    for text in (own, true):
        load = '\n[[load]]\nname = "lamp"\ncurrent_A = 5.0\n'
        file = tmp_path / "ends.toml"
        file.write_text(text.replace("[simulation]\nduration_h", "[simulation]\n# ") + load)
        given.append(simulate(read_scenario(file)).bank.delivered_Ah)
    assert given[0] == approx(given[1], rel=0.03)

"""Balancer, heater and mass of a battery: what is refused, what is built, what is assumed."""

import math

import pytest
from scenario_texts import LFP, TABLE_ONLY, assumed, faults_of, read

from bankSim.model.upkeep import Balancer, Balancing, Heater

BALANCER = "[battery.balancer]\n"
HEATER = "[battery.heater]\n"
CHARGER = "[[charger]]\nlimit_A = 9\nhold_V = 14\n"
HEAVY = TABLE_ONLY.replace("[battery.cell]", "mass_kg = 8.0\n[battery.cell]")


def test_a_bleeding_balancer(tmp_path):
    keys = "kind = 'bleed'\ncurrent_A = 0.06\nstarts_above_V = 3.45\nwithin_mV = 5\n"
    scenario = read(LFP + BALANCER + keys, tmp_path)
    (battery,) = scenario.bank.batteries
    assert battery.balancer == Balancer(Balancing.BLEED, 0.06, 3.45, 0.005)
    assert not any("balancer" in key for key in assumed(scenario))


@pytest.mark.parametrize(
    ("keys", "start", "listed"),
    [
        ("starts_above_V = 2.8", 2.8, ["within_mV"]),
        ("always = false\nstarts_above_V = 2.8\nwithin_mV = 10", 2.8, []),
        ("always = true", -math.inf, ["within_mV"]),
        ("", -math.inf, ["always", "within_mV"]),
    ],
)
def test_a_transferring_balancer(keys, start, listed, tmp_path):
    text = LFP + BALANCER + "kind = 'transfer'\ncurrent_A = 2\n" + keys
    scenario = read(text, tmp_path)
    (battery,) = scenario.bank.batteries
    assert battery.balancer == Balancer(Balancing.TRANSFER, 2.0, start, 0.010)
    found = [key for key in assumed(scenario) if "balancer" in key]
    assert found == [f"battery[1].balancer.{key}" for key in listed]


def test_a_balancer_of_one_cell_is_named(tmp_path):
    text = TABLE_ONLY.replace("cells_in_series = 2", "cells_in_series = 1")
    keys = "kind = 'bleed'\ncurrent_A = 0.1\nstarts_above_V = 55\nwithin_mV = 5\n"
    scenario = read(text + BALANCER + keys, tmp_path)
    assert scenario.remarks == (
        "battery[1].balancer has no effect because a single cell has no other to be evened out "
        "with.",
    )


@pytest.mark.parametrize(
    ("keys", "expected"),
    [
        (
            "kind = 'bleed'",
            '7: battery[1].balancer.starts_above_V is missing; kind = "bleed" needs',
        ),
        (
            "kind = 'bleed'\nalways = true",
            '10: battery[1].balancer.always does not go with kind = "bleed"; expected starts_above',
        ),
        (
            "kind = 'bleed'\nalways = false\nstarts_above_V = 3.4",
            '10: battery[1].balancer.always does not go with kind = "bleed"',
        ),
        (
            "kind = 'transfer'\nalways = true\nstarts_above_V = 3.4",
            "11: battery[1].balancer.starts_above_V and always = true are both given; expected one",
        ),
        (
            "kind = 'transfer'\nalways = false",
            "7: battery[1].balancer.starts_above_V is missing; always = false needs it",
        ),
        (
            "kind = 'bleed'\nstarts_above_V = 13.8",
            "10: battery[1].balancer.starts_above_V = 13.8; expected 0 to 6 V (one cell)",
        ),
        (
            "kind = 'bleed'\nstarts_above_V = 3.4\nwithin_mV = -1",
            "11: battery[1].balancer.within_mV = -1; expected 0 to 10000 mV",
        ),
        ("current_A = 0.2", "7: battery[1].balancer.kind is missing"),
    ],
)
def test_balancers_that_make_no_sense(keys, expected, tmp_path):
    current = "" if "current_A" in keys else "current_A = 0.1\n"
    (line,) = faults_of(LFP + BALANCER + current + keys, tmp_path)
    assert line.startswith(f"bank.toml:{expected}")


def test_double_brackets_of_a_single_table(tmp_path):
    (line,) = faults_of(LFP + "[[battery.balancer]]\nkind = 'bleed'\n", tmp_path)
    assert line.endswith(
        'expected a table; write [battery.balancer], with single brackets (battery "house")'
    )


def test_without_mass_and_chemistry_it_is_as_warm_as_its_surroundings(tmp_path):
    scenario = read(TABLE_ONLY, tmp_path)
    assert scenario.bank.batteries[0].thermal is None
    assert not any("heat" in key for key in assumed(scenario))


def test_mass_without_chemistry(tmp_path):
    scenario = read(HEAVY, tmp_path)
    # 1000 J/kg/K; 0.5 W/K x 8^(2/3) = 2 W/K
    thermal = scenario.bank.batteries[0].thermal
    assert (thermal.capacity_J_K, thermal.loss_W_K) == pytest.approx((8000.0, 2.0))
    listed = assumed(scenario)
    assert listed["battery[1] (specific heat)"] == 1000.0
    assert listed["battery[1] (heat loss)"] == 2.0
    assert scenario.remarks == ()


def test_mass_from_the_chemistry(tmp_path):
    scenario = read(LFP, tmp_path)
    thermal = scenario.bank.batteries[0].thermal
    # A 12.8 V 100 Ah battery weighs 10 to 13 kg (trade sheets, from memory).
    mass_kg = assumed(scenario)["battery[1].mass_kg"]
    assert mass_kg == pytest.approx(1280.0 / 115.0)
    assert thermal.capacity_J_K == pytest.approx(mass_kg * 1000.0)
    assert thermal.loss_W_K == pytest.approx(0.5 * mass_kg ** (2.0 / 3.0))


def test_mass_of_the_file_goes_before_the_chemistry(tmp_path):
    scenario = read(LFP + "mass_kg = 27.0\n", tmp_path)
    thermal = scenario.bank.batteries[0].thermal
    assert (thermal.capacity_J_K, thermal.loss_W_K) == pytest.approx((27_000.0, 4.5))
    assert "battery[1].mass_kg" not in assumed(scenario)
    assert assumed(scenario)["battery[1] (heat loss)"] == 4.5


def test_heat_loss_is_that_of_a_block_in_still_air(tmp_path):
    """Natural convection with radiation takes 5 to 10 W/m2/K, common textbook practice.

    The block is 330 x 173 x 240 mm with 12 kg, a usual drop-in size (group 31, from memory).
    """
    loss_W_K = read(LFP + "mass_kg = 12.0\n", tmp_path).bank.batteries[0].thermal.loss_W_K
    surface_m2 = 2.0 * (0.330 * 0.173 + 0.330 * 0.240 + 0.173 * 0.240)
    assert 5.0 < loss_W_K / surface_m2 < 10.0


PAD = "power_W = 40\non_below_C = 3\noff_above_C = 8\n"


@pytest.mark.parametrize(
    ("needs", "needs_charger"),
    [("", True), ("needs = 'charger'", True), ("needs = 'nothing'", False)],
)
@pytest.mark.parametrize("battery", [LFP, HEAVY])
def test_heaters(battery, needs, needs_charger, tmp_path):
    charger = CHARGER if battery is LFP else CHARGER.replace("14", "7")
    scenario = read(battery + HEATER + PAD + needs + "\n" + charger, tmp_path)
    heater = scenario.bank.batteries[0].heater
    assert heater == Heater(40.0, 3.0 + 273.15, 8.0 + 273.15, needs_charger)
    assert ("battery[1].heater.needs" in assumed(scenario)) is (not needs)
    assert scenario.remarks == ()


@pytest.mark.parametrize(("needs", "idle"), [("charger", True), ("nothing", False)])
def test_a_heater_that_no_charger_will_ever_wake_is_named(needs, idle, tmp_path):
    scenario = read(LFP + HEATER + PAD + f"needs = '{needs}'\n", tmp_path)
    said = "battery[1].heater has no effect because it needs a charger and the bank has none."
    assert scenario.remarks == ((said,) if idle else ())


def test_no_heater_unless_written(tmp_path):
    assert read(LFP, tmp_path).bank.batteries[0].heater is None


@pytest.mark.parametrize(
    ("keys", "expected"),
    [
        (
            "power_W = 40\non_below_C = 3\noff_above_C = 3",
            "10: battery[1].heater.off_above_C = 3.0; expected more than on_below_C = 3.0 degC",
        ),
        ("power_W = 40\non_below_C = 3", "7: battery[1].heater.off_above_C is missing"),
        ("power_W = 40\noff_above_C = 3", "7: battery[1].heater.on_below_C is missing"),
        ("on_below_C = 1\noff_above_C = 3", "7: battery[1].heater.power_W is missing"),
        (PAD.replace("40", "0"), "8: battery[1].heater.power_W = 0; expected more than 0"),
        (PAD.replace("= 8", "= 99"), "10: battery[1].heater.off_above_C = 99; expected -60 to 80"),
        (
            PAD + "needs = 'charging'",
            '11: battery[1].heater.needs = "charging"; expected "charger"',
        ),
        (PAD + "power_kW = 1", "11: battery[1].heater.power_kW is not a known key; this key is gi"),
    ],
)
def test_heaters_that_make_no_sense(keys, expected, tmp_path):
    (line,) = faults_of(LFP + HEATER + keys, tmp_path)
    assert line.startswith(f"bank.toml:{expected}")


def test_a_heater_needs_something_to_warm(tmp_path):
    (line,) = faults_of(TABLE_ONLY + HEATER + PAD, tmp_path)
    assert line == (
        "bank.toml:2: battery[1].mass_kg is missing; the heater needs it, or a chemistry to take "
        'it from (battery "bare")'
    )


@pytest.mark.parametrize("doubtful", ["mass_kg = 0", "chemistry = 'XYZ'"])
def test_a_mass_in_doubt_is_told_once(doubtful, tmp_path):
    text = TABLE_ONLY.replace("[battery.cell]", f"{doubtful}\n[battery.cell]")
    (line,) = faults_of(text + HEATER + PAD, tmp_path)
    assert f"battery[1].{doubtful.split()[0]} = " in line

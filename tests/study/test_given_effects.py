"""A key given with a spread does the same as the file written with the drawn value."""

import numpy as np
import pytest
from packed_banks import assert_same_bank, is_same_bank, packed, poked
from pytest import approx
from rich_scenario import CURVE, numbers, rich

from bankSim.scenario.faults import key_path
from bankSim.scenario.read import parse_scenario
from bankSim.scenario.variant import Variants
from bankSim.study.drawn_bank import drawn_bank
from bankSim.study.draws import columns_of
from bankSim.study.ensemble import Ensemble
from bankSim.study.fields import Field, base_column
from bankSim.study.find_unknowns import find_unknowns
from bankSim.study.given_effects import copper, effects_of
from bankSim.study.unknown import Effect, Op

OFF = 1.007  # of the central value; small enough for all limits to stay in order

# what follows from the file alone: whole numbers, and what is known exactly
EXACT = {"duration_h", "output_every_s", "active_h", "joints", "fuse_A", "cells_in_series"}
# keys whose effect is more than a few numbers: cables, labels, schedules, upkeep
REBUILT = {
    "rated_capacity_Ah", "continuous_discharge_A", "continuous_charge_A", "mass_kg", "length_m",
    "area_mm2", "swing_C", "on_min", "off_min", "at_most_h", "current_A of balancer",
    "starts_above_V", "within_mV", "power_W of heater", "on_below_C", "off_above_C",
    "reference_voltage_V", "voltage_exponent", "cut_off_V", "cut_off_after_s", "restart_V",
}  # fmt: skip


def name_of(path):
    """The name of a key; with its table where the same name means two things."""
    names = [part for part in path if isinstance(part, str)]
    own = names[-1] in ("current_A", "power_W") and names[-2] in ("balancer", "heater")
    return f"{names[-1]} of {names[-2]}" if own else names[-1]


def given(scenario, path, value):
    """The scenario with 0.5 % of spread at a key, and that unknown."""
    made = Variants(scenario).with_values({path: {"value": value, "sd_percent": 0.5}})
    (unknown,) = (one for one in find_unknowns(made) if one.given)
    return made, unknown


def cases():
    """Every number of the rich scenario that may be given with a spread."""
    import tempfile
    from pathlib import Path

    with tempfile.TemporaryDirectory() as folder:
        found = numbers(rich(Path(folder)))
    # the temperature is looked at in a test of its own
    return [one for one in found if name_of(one[0]) not in EXACT | {"mean_C"}]


def words(case):
    return key_path(case[0])


@pytest.fixture(scope="module")
def scenario(tmp_path_factory):
    return rich(tmp_path_factory.mktemp("rich"))


def marched(scenario, unknowns, values):
    return Ensemble(scenario, unknowns).evaluate(np.array([values]).reshape(1, -1))


def assert_same_outcomes(one, other):
    assert one.keys() == other.keys()
    for name in one:
        assert one[name] == approx(other[name], rel=1e-8, abs=1e-9, nan_ok=True), name


@pytest.mark.parametrize("case", cases(), ids=words)
def test_a_few_numbers_or_a_new_bank(case, scenario):
    path, value = case
    made, unknown = given(scenario, path, value)
    anew = Variants(scenario).with_values({path: OFF * value})
    assert (unknown.effects == ()) == (name_of(path) in REBUILT)
    if unknown.effects:
        columns = columns_of(made.bank, (unknown,), np.array([[OFF * value]]))
        pool = poked(made.bank, columns)
        assert_same_bank(pool, packed(anew.bank))
        assert not is_same_bank(pool, packed(scenario.bank))
    assert_same_outcomes(marched(made, (unknown,), [OFF * value]), marched(anew, (), []))


BARE = """
[[battery]]
name = "b"
cells_in_series = 2
rated_capacity_Ah = 10.0
[battery.cell]
ocv_table = "curve.csv"
capacity_Ah = 10.0
ohmic_mohm = 5.0
[[load]]
current_A = 2.0
"""
LFP = """
[[battery]]
name = "b"
chemistry = "LFP"
cells_in_series = 4
rated_capacity_Ah = 100.0
lead_mohm = 1.0
[battery.cell]
[[load]]
current_A = 20.0
"""


def read(text, folder):
    (folder / "curve.csv").write_text(CURVE)
    rows = ("0,2.6,9", "0.5,3.3,5", "1,3.6,5")
    header = "state_of_charge,voltage_V,ohmic_mohm"
    (folder / "three.csv").write_text("\n".join([header, *rows]))
    return parse_scenario(text, folder, "bank.toml")


def assert_key_is_right(scenario, path, value):
    """Draw one value at a key and compare with the file written anew."""
    made, unknown = given(scenario, path, value)
    anew = Variants(scenario).with_values({path: OFF * value})
    assert_same_outcomes(marched(made, (unknown,), [OFF * value]), marched(anew, (), []))


@pytest.mark.parametrize("path", [("temperature_C",), ("temperature_C", "mean_C")], ids=len)
def test_temperature_where_no_cable_follows_it(path, tmp_path):
    text = LFP if len(path) == 1 else LFP + "[surroundings.temperature_C]\nmean_C = 9\nswing_C = 3"
    assert_key_is_right(read(text, tmp_path), ("surroundings", *path), 9.0)


# A cable given by length has the resistance of copper at the mean temperature.
def test_temperature_with_cables(tmp_path):
    text = LFP.replace("lead_mohm = 1.0", "lead = { length_m = 1.0, area_mm2 = 16 }")
    assert_key_is_right(read(text, tmp_path), ("surroundings", "temperature_C"), 9.0)


@pytest.mark.parametrize("chemistry", ["LFP", "AGM"])
def test_capacity_without_a_label(chemistry, tmp_path):
    # the rated capacity is the smallest capacity of the cells then, and typical resistances, limits
    # and mass follow from it
    text = LFP.replace("LFP", chemistry).replace("rated_capacity_Ah = 100.0", "")
    text = text.replace("[battery.cell]", "[battery.cell]\ncapacity_Ah = 100.0")
    assert_key_is_right(read(text, tmp_path), ("battery", 0, "cell", "capacity_Ah"), 100.0)


@pytest.mark.parametrize(("chemistry", "hold_V"), [("LFP", 14.2), ("AGM", 9.6)])
def test_resistance_factor_moves_what_a_charge_meets(chemistry, hold_V, tmp_path):
    charger = f"state_of_charge = 0.9\n[[charger]]\nlimit_A = 20\nhold_V = {hold_V}\n"
    text = LFP.replace("LFP", chemistry)
    text = text.replace("current_A = 20.0", "current_A = 1.0").replace("[battery.cell]\n", charger)
    scenario, path = read(text, tmp_path), ("battery", 0, "resistance_factor")
    made, unknown = given(scenario, path, 1.5)
    anew = Variants(scenario).with_values({path: OFF * 1.5})
    pool = poked(made.bank, columns_of(made.bank, (unknown,), np.array([[OFF * 1.5]])))
    assert_same_bank(pool, packed(anew.bank))
    assert (pool.bank.cell["lag"] > 1.4 * packed(scenario.bank).bank.cell["lag"]).all()


def test_resistance_factor_beside_a_table_of_two_columns(tmp_path):
    # it brings no resistance: the typical one stays, and the factor acts on it
    text = LFP.replace("[battery.cell]", '[battery.cell]\nocv_table = "curve.csv"')
    assert_key_is_right(read(text, tmp_path), ("battery", 0, "resistance_factor"), 1.5)


def test_resistance_factor_beside_a_table_of_three_columns(tmp_path):
    text = LFP.replace("[battery.cell]", '[battery.cell]\nocv_table = "three.csv"')
    assert_key_is_right(read(text, tmp_path), ("battery", 0, "resistance_factor"), 1.5)


# A cell with a third column of its own does not take the common ohmic_mohm.
def test_common_resistance_beside_a_column_of_one_cell(tmp_path):
    cells = '[[battery.cells]]\nocv_table = "three.csv"\n[[battery.cells]]\n'
    text = BARE.replace("[[load]]", cells + "[[load]]")
    assert_key_is_right(read(text, tmp_path), ("battery", 0, "cell", "ohmic_mohm"), 5.0)


# What `given_effects` leaves out: a cable drawn longer keeps the rise with the temperature of the
# cable in the file. Copper rises by 0.393 % of its resistance at 20 degC per kelvin (national wire
# tables), so 10 % more length and 5 K miss 0.2 % of the copper.
@pytest.mark.parametrize(("length_m", "kelvin"), [(1.1, 5.0), (0.9, 5.0), (1.3, -15.0)])
def test_how_much_of_the_copper_is_missing_when_length_and_temperature_differ(
    length_m, kelvin, tmp_path
):
    lead = "lead = { length_m = { value = 1.0, sd = 0.1 }, area_mm2 = 16, joints = 0 }"
    text = "[surroundings]\ntemperature_C = { value = 20.0, sd = 5.0 }\n"
    scenario = read(text + LFP.replace("lead_mohm = 1.0", lead), tmp_path)
    unknowns = [one for one in find_unknowns(scenario) if one.given]
    assert [one.key.rpartition(".")[2] for one in unknowns] == ["temperature_C", "length_m"]
    bank, columns = Ensemble(scenario, unknowns).bank_of(np.array([20.0 + kelvin, length_m]), 0)
    paths = {one.path: v for one, v in zip(unknowns, (20.0 + kelvin, length_m), strict=True)}
    exact = Variants(scenario).with_values(paths).bank.batteries[0].lead_ohm
    at_20_C = scenario.bank.batteries[0].lead_ohm
    missing = exact - drawn_bank(bank, columns, 0).batteries[0].lead_ohm
    assert missing / at_20_C == approx(0.00393 * kelvin * (length_m - 1.0), rel=1e-6)


OWN_CELLS = """
[[battery]]
name = "a"
cells_in_series = 3
rated_capacity_Ah = 100.0
lead_mohm = 1.0
[battery.cell]
ocv_table = "curve.csv"
ohmic_mohm = 1.0
capacity_Ah = {{ value = 100.0, sd = 4.0 }}
[[battery.cells]]
capacity_Ah = 90.0
[[battery.cells]]
capacity_Ah = {second}
[[battery.cells]]
capacity_Ah = 110.0
"""


@pytest.mark.parametrize(
    ("second", "factors"),
    [("80.0", [1.05, 1.05, 1.05]), ("{ value = 80, sd = 1 }", [1.05, 1.0, 1.05])],
)
def test_a_spread_of_all_cells_is_shared_by_those_with_plain_capacities(second, factors, tmp_path):
    (tmp_path / "curve.csv").write_text(CURVE)
    scenario = parse_scenario(OWN_CELLS.format(second=second), folder=tmp_path)
    assert not any("capacity_Ah" in remark for remark in scenario.remarks)
    unknowns = [one for one in find_unknowns(scenario) if one.given]
    ensemble = Ensemble(scenario, tuple(unknowns), 1e-2, None)
    values = np.array(
        [[105.0 if one.spread.value == 100.0 else one.spread.value for one in unknowns]]
    )
    base, columns = ensemble.bank_of(values[0], 0)
    (battery,) = drawn_bank(base, columns, 0).batteries
    held_Ah = [cell.charge_C / 3600.0 for cell in battery.cells]
    assert held_Ah == approx(
        [Ah * factor for Ah, factor in zip((90, 80, 110), factors, strict=True)]
    )


def test_a_plain_capacity_of_all_cells_beside_their_own_has_no_effect(tmp_path):
    (tmp_path / "curve.csv").write_text(CURVE)
    text = OWN_CELLS.format(second="80.0").replace("{ value = 100.0, sd = 4.0 }", "100.0")
    (remark,) = parse_scenario(text, folder=tmp_path).remarks
    assert "cell.capacity_Ah has no effect because every cell has its own" in remark


LABELLED = (
    '[[battery]]\nname = "{}"\nchemistry = "LFP"\ncells_in_series = 4\nrated_capacity_Ah = 100.0\n'
)
CABLES = """
[wiring]
layout = "same end"
link = { length_m = 0.4, area_mm2 = 35 }
main = { length_m = 1.0, area_mm2 = 50 }
"""


def test_a_kelvin_on_every_cable_is_what_a_warmer_file_says(tmp_path):
    # copper rises in a straight line: 10 K are ten times the change of one; a lead that is given
    # in mohm stays
    text = CABLES + LABELLED.format("usual") + LABELLED.format("own") + "lead_mohm = 2.0\n"
    text += LABELLED.format("long") + "lead = { length_m = 2.0, area_mm2 = 16 }\n"
    cold, warm = (
        read(f"{text}[surroundings]\ntemperature_C = {at}\n", tmp_path) for at in (15, 25)
    )
    effects = copper(cold.keys)
    assert [(one.field, one.places) for one in effects] == [
        (Field.LEAD, (0,)), (Field.LEAD, (2,)), (Field.LINK, (0,)), (Field.MAIN, (0,)),
    ]  # fmt: skip
    assert all(one.op is Op.SHIFT for one in effects)
    for one in effects:
        place = one.places[0]
        change = (base_column(warm.bank, one.field) - base_column(cold.bank, one.field))[0, place]
        assert 10.0 * one.per_unit == approx(change, rel=1e-6)
        assert change > 0.0


@pytest.mark.parametrize(
    ("path", "value", "expected"),
    [
        (("wiring", "link_mohm"), 1.0, Effect(Field.LINK, (0,), Op.SET, 1e-3)),
        (("wiring", "main_mohm"), 1.0, Effect(Field.MAIN, (0,), Op.SET, 1e-3)),
        (("load", 0, "current_A"), 0.1, Effect(Field.LOAD, (0,), Op.SCALE)),
        (("load", 0, "current_A"), 0.0, None),  # nothing times anything stays nothing
        (("load", 0, "resistance_ohm"), 0.1, Effect(Field.LOAD, (0,), Op.DIVIDE)),
        (("battery", 0, "internal_mohm"), 1.0, Effect(Field.INTERNAL, (0,), Op.SET, 1e-3)),
        (("battery", 0, "cells", 2, "ohmic_mohm"), 0.0, None),
        (("battery", 0, "cells", 2, "ohmic_mohm"), 0.1, Effect(Field.OHMIC, (2,), Op.SCALE)),
        (("battery", 0, "cells", 2, "available_fraction"), 1.0, None),  # there is one well
        (("battery", 0, "cells", 2, "available_fraction"), 0.9,
         Effect(Field.AVAILABLE, (2,), Op.SET)),
        (("battery", 0, "cells", 2, "hysteresis_mV"), 9.0,
         Effect(Field.HYSTERESIS, (2,), Op.SET, 1e-3)),
        (("battery", 0, "cells", 2, "well_rate_per_h"), 0.5,
         Effect(Field.WELL_RATE, (2,), Op.SET, 1.0 / 3600.0)),
        (("surroundings", "humidity"), 1.0, None),
    ],
)  # fmt: skip
def test_keys_whose_one_number_follows_by_hand(path, value, expected, tmp_path):
    found = read(LABELLED.format("a"), tmp_path)
    effects = effects_of(path, value, found.keys, found.bank)
    assert effects == (() if expected is None else (expected,))

"""Unknowns that need a new bank for every draw: built from the file with the drawn values."""

import threading

import numpy as np
import pytest
from pytest import approx
from study_texts import BARE, LFP, LOAD, read

from bankSim.errors import SimulationError
from bankSim.scenario.variant import Variants
from bankSim.study.drawn_bank import drawn_bank
from bankSim.study.ensemble import Ensemble
from bankSim.study.find_unknowns import find_unknowns
from bankSim.study.plan import make_plan

SHORT = "[simulation]\nduration_h = 12\n"
SPREAD_MASS = "mass_kg = { value = 11, sd = 1 }\n"


def ensemble(text, folder, *, given=True):
    """An ensemble of a text; of its given unknowns alone, or of all."""
    scenario = read(SHORT + text, folder)
    unknowns = [one for one in find_unknowns(scenario) if one.given or not given]
    return Ensemble(scenario, unknowns)


def outcome(scenario):
    return Ensemble(scenario, ()).evaluate(np.empty((1, 0)))


def assert_same(one, other):
    for name in one:
        assert one[name] == approx(other[name], rel=1e-9, abs=1e-9, nan_ok=True), name


@pytest.mark.slow
def test_several_keys_of_both_kinds_at_once(tmp_path):
    text = LFP.replace("100.0", "{ value = 100, sd = 5 }") + SPREAD_MASS
    text += "lead_mohm = { value = 1.0, sd = 0.2 }\n"
    text += LOAD + "duty = { on_min = { value = 30, sd = 3 }, off_min = 10 }\n"
    study = ensemble(text, tmp_path)
    values = {"rated_capacity_Ah": 93.0, "mass_kg": 12.0, "lead_mohm": 1.3, "duty.on_min": 27.0}
    row = [values[one.label.partition(" of ")[0]] for one in study.unknowns]
    paths = {one.path: value for one, value in zip(study.unknowns, row, strict=True)}
    anew = Variants(study.scenario).with_values(paths)
    assert_same(study.evaluate(np.array([row])), outcome(anew))
    assert_same(study.evaluate(np.array([row] * 2), 5), outcome2(anew))


def outcome2(scenario):
    """As `outcome`, for draws 5 and 6."""
    return Ensemble(scenario, ()).evaluate(np.empty((2, 0)), 5)


def test_typical_spreads_go_on_top_of_the_new_bank(tmp_path):
    # a battery with a larger label has the larger typical capacity, and the factor on top
    study = ensemble(LFP.replace("100.0", "{ value = 100, sd = 5 }") + LOAD, tmp_path, given=False)
    labels = [one.label for one in study.unknowns]
    row = np.array([[one.spread.value for one in study.unknowns]])
    row[0, labels.index('rated_capacity_Ah of "lithium"')] = 110.0
    row[0, labels.index('capacity of "lithium"')] = 0.9
    bank, columns = study.bank_of(row[0], 0)
    (battery,) = drawn_bank(bank, columns, 0).batteries
    assert battery.rated_C == approx(110.0 * 3600.0)
    assert [cell.charge_C for cell in battery.cells] == approx([99.0 * 3600.0] * 4)


def test_a_story_of_a_rewritten_draw(tmp_path):
    study = ensemble(LFP + SPREAD_MASS + "lead_mohm = { value = 1, sd = 0.1 }\n" + LOAD, tmp_path)
    row = np.array([[1.1, 9.0]])
    assert [one.key for one in study.unknowns] == ["battery[1].lead_mohm", "battery[1].mass_kg"]
    table, story = study.evaluate(row), study.story_of(row, 0)
    assert story.bank.delivered_Ah == table["bank.delivered_Ah"][0]
    heavy = study.story_of(np.array([[1.1, 13.0]]), 0)
    assert story.batteries[0].warmest_C > heavy.batteries[0].warmest_C


@pytest.mark.parametrize(("more", "row"), [("", []), (SPREAD_MASS, [9.0])], ids=["none", "mass"])
def test_a_story_without_anything_to_poke(more, row, tmp_path):
    study = ensemble(LFP + more + LOAD, tmp_path)
    table = study.evaluate(np.array([row]).reshape(1, -1))
    story = study.story_of(np.array([row]).reshape(1, -1), 0)
    assert story.bank.delivered_Ah == table["bank.delivered_Ah"][0]


OUT_OF_RANGE = [
    (LFP + SPREAD_MASS, 0.0, "bank.toml:9: battery[1].mass_kg = 0.0; expected more than 0"),
    (LFP.replace("100.0", "{ value = 100, sd = 5 }"), 1e5,
     "bank.toml:8: battery[1].rated_capacity_Ah = 100000.0; expected"),
    (LFP + "lead = { length_m = 1, area_mm2 = { value = 25, sd = 5 } }\n", 0.3,
     "bank.toml:9: battery[1].lead.area_mm2 = 0.3; expected 0.75 to 300 mm2"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "value", "start"), OUT_OF_RANGE, ids=["mass", "label", "area"])
def test_a_draw_out_of_range_is_told_in_one_line(text, value, start, tmp_path):
    study = ensemble(text + LOAD, tmp_path)
    with pytest.raises(SimulationError) as caught:
        study.evaluate(np.array([[value]]), 41)
    told = str(caught.value)
    assert told.startswith(f"draw 41: {start}")
    assert told.endswith("; narrow the spread")
    assert "\n" not in told


def test_a_draw_of_two_faults_is_told_in_one_line(tmp_path):
    text = LOAD + "cut_off_V = 11.0\nrestart_V = { low = 11.5, high = 13.0 }\n"
    study = ensemble(LFP + SPREAD_MASS + text, tmp_path)
    row = [
        {"mass_kg": -1.0, "restart_V": 10.6}[o.label.partition(" of ")[0]] for o in study.unknowns
    ]
    with pytest.raises(SimulationError) as caught:
        study.evaluate(np.array([row]))
    assert "\n" not in str(caught.value)


def test_independent_cells_without_a_way_to_poke_them(tmp_path):
    # a resistance of 0 cannot be scaled: every draw is built anew, each cell for itself
    spread = '{ value = 0, sd = 1, cells = "independent" }'
    study = ensemble(BARE.replace("ohmic_mohm = 2.0", f"ohmic_mohm = {spread}") + LOAD, tmp_path)
    assert [one.effects for one in study.unknowns] == [()] * 4
    bank, _ = study.bank_of(np.array([1.0, 2.0, 3.0, 4.0]), 0)
    ohm = [float(cell.ohmic_ohm(0.5)) for cell in bank.batteries[0].cells]
    assert ohm == approx([1e-3, 2e-3, 3e-3, 4e-3])


# A cell's own key is not written over by the draw.
def test_independent_cells_beside_a_cell_with_its_own_value(tmp_path):
    spread = '{ value = 0, sd = 1, cells = "independent" }'
    own = "[[battery.cells]]\nohmic_mohm = 7\n" + "[[battery.cells]]\n" * 3
    text = BARE.replace("ohmic_mohm = 2.0", f"ohmic_mohm = {spread}") + own
    assert len(ensemble(text + LOAD, tmp_path).unknowns) == 3


# The remark says that the key has no effect: there is nothing to draw.
def test_independent_factors_without_effect(tmp_path):
    spread = '{ value = 1.5, sd = 0.1, cells = "independent" }'
    text = BARE.replace("[battery.cell]", f"resistance_factor = {spread}\n[battery.cell]")
    study = ensemble(text + LOAD, tmp_path)
    middle = np.array([[one.spread.value for one in study.unknowns]])
    assert_same(study.evaluate(middle), outcome(study.scenario))


def test_stopped_before_the_first_draw(tmp_path):
    stop = threading.Event()
    stop.set()
    table = ensemble(LFP + SPREAD_MASS + LOAD, tmp_path).evaluate(np.array([[11.0]]), 0, stop)
    assert len(table["draw"]) == 0


def test_poked_draws_stopped_before_the_first_one(tmp_path):
    stop = threading.Event()
    stop.set()
    study = ensemble(LFP + "lead_mohm = { value = 1, sd = 0.1 }\n" + LOAD, tmp_path)
    assert len(study.evaluate(np.array([[1.0]]), 0, stop)["draw"]) == 0


def test_draws_of_a_variant(tmp_path):
    # a point of a sweep: its draws are built from the file with the swept value in it
    scenario = read(SHORT + LFP + SPREAD_MASS + LOAD, tmp_path)
    half = Variants(scenario).with_values({("battery", 0, "state_of_charge"): 0.5})
    plan = make_plan(half)
    middle = np.array([[one.spread.value for one in plan.unknowns]])
    found = Ensemble(half, plan.unknowns).evaluate(middle)
    assert found["bank.delivered_Ah"] == approx(outcome(half)["bank.delivered_Ah"], rel=1e-9)

"""Cautions about cut-outs, returns, charging and cells."""

from dataclasses import replace
from pathlib import Path

import pytest
from pytest import approx
from simple_banks import affine, affine_cell, bank_of, battery, run, steady, stepped

from bankSim.model.charger import Charger, Stage
from bankSim.model.chemistry import CHEMISTRIES
from bankSim.model.load import CutOff, Schedule
from bankSim.model.rule import Blocks, Needs, Release, Rule, Watch
from bankSim.scenario.read import parse_scenario
from bankSim.sim.cascades import cascades, chain_events
from bankSim.sim.cautions import SEVERITIES
from bankSim.sim.cautions.charging import stops_charge_V
from bankSim.sim.run import simulate

HOUR_S = 3600.0
DISCHARGE_CURRENT = Watch.DISCHARGE_CURRENT


def cautions(bank):
    return {caution.topic: caution for caution in run(bank).cautions}


def typical(word, name, z=1.0, Ah=100.0, cells=None, **more):
    chemistry = CHEMISTRIES[word]
    cells = cells or (4 if chemistry.is_lithium else 6)
    charge_C = Ah * 3600.0 * chemistry.capacity_per_rated
    cell = replace(chemistry.typical_cell(Ah, charge_C), state_of_charge=z)
    made = battery(name, *[cell] * cells, internal=1e-3, chemistry=word, **more)
    return replace(made, rated_C=Ah * 3600.0)


def charger(hold_V, **more):
    return Charger("mains", (Stage(hold_V),), limit_A=10.0, **more)


def test_every_caution_says_what_was_found_and_what_to_do():
    rule = Rule(DISCHARGE_CURRENT, False, 30.0, 5.0)
    bank = bank_of(
        replace(affine("a", 5e-3, rules=[rule]), continuous_discharge_A=20.0, fuse_A=20.0),
        replace(affine("b", 5e-3, z=0.1), chemistry="AGM"),
        load=steady(80.0), duration_s=7200, chargers=(charger(15.5),),
    )  # fmt: skip
    found = run(bank).cautions
    assert len(found) > 5
    for caution in found:
        assert caution.text.endswith(".")
        assert caution.advice.endswith(".")
        assert caution.severity in SEVERITIES


def test_cascade_is_told_link_by_link():
    low = Rule(Watch.LOWEST_CELL, True, 13.0, 0.0)
    small = affine("small", 5e-3, 20.0, rules=[low])
    rest = [
        affine(name, ohm, 200.0, rules=[Rule(DISCHARGE_CURRENT, False, limit, delay)])
        for name, ohm, limit, delay in (("next", 5e-3, 80.0, 2.0), ("last", 5e-3, 120.0, 3.0))
    ]
    result = run(bank_of(small, *rest, load=steady(180.0), duration_s=7200))
    (chain,) = cascades(result)
    assert [event.battery for event in chain_events(chain)] == ["small", "next", "last"]
    caution = next(c for c in result.cautions if c.topic == "over-current cascade")
    assert (caution.severity, caution.value) == ("danger", 3.0)
    assert "No battery was left" in caution.text
    assert caution.text.index('"next" then carried') < caution.text.index('"last" then carried')
    assert "2.00 s later" in caution.text
    assert "5.00 s later" in caution.text


def test_two_that_trip_together_or_hours_apart_are_no_cascade():
    rule = Rule(DISCHARGE_CURRENT, False, 30.0, 5.0)
    pair = [affine(name, rules=[rule]) for name in "ab"]
    assert cascades(run(bank_of(*pair, load=steady(80.0)))) == []
    slow = affine("b", rules=[Rule(DISCHARGE_CURRENT, False, 30.0, 300.0)])
    result = run(bank_of(affine("a", rules=[rule]), slow, load=steady(80.0)))
    assert [e.battery for e in result.events if e.what == "trip"] == ["a", "b"]
    assert cascades(result) == []


def test_repeated_overloads_of_one_battery_are_told_once():
    rule = Rule(DISCHARGE_CURRENT, False, 30.0, 1.0, Blocks.DISCHARGE, Release(1.0, 60.0))
    weak = affine("weak", 5e-3, 200.0, rules=[rule])
    rest = replace(affine("rest", 5e-3, 200.0), continuous_discharge_A=70.0)
    result = run(bank_of(weak, rest, load=steady(80.0), duration_s=1800))
    found = [c for c in result.cautions if c.topic == "overload after a cut-out"]
    assert len(found) == 1
    assert found[0].value == approx(80.0)
    hiccups = next(c for c in result.cautions if c.topic == "repeated hiccups")
    assert hiccups.value >= 20
    assert '"weak" comes back' in hiccups.text


def test_surge_of_a_battery_that_comes_back():
    # 0.155 V over 2 + 2 mohm and half of 10 A: 43.75 A, of which 33.75 A into the other one
    rule = Rule(DISCHARGE_CURRENT, False, 55.0, 0.0, Blocks.DISCHARGE, Release(5.0, 600.0))
    load = stepped([0, 300], [60, 10])
    pair = [affine("back", 2e-3, rules=[rule]), affine("stay", 2e-3, z=0.7)]
    found = cautions(bank_of(*pair, load=load, duration_s=6000))["surge when one comes back"]
    assert (found.severity, found.unit) == ("warning", "A")
    assert found.value == approx(33.75, rel=1e-3)
    assert '"back" gives, "stay" takes charge' in found.text
    label = [pair[0], replace(pair[1], continuous_charge_A=20.0)]
    found = cautions(bank_of(*label, load=load, duration_s=6000))["surge when one comes back"]
    assert (found.severity, found.limit) == ("danger", 20.0)
    assert '"stay" jumps to 33.' in found.text


def test_a_calm_return_is_no_surge():
    rule = Rule(DISCHARGE_CURRENT, False, 40.0, 0.0, Blocks.DISCHARGE, Release(5.0, 60.0))
    pair = [affine(name, rules=[rule] if name == "a" else []) for name in "ab"]
    bank = bank_of(*pair, load=stepped([0, 30], [90, 10]), duration_s=600)
    assert run(bank).returns
    assert "surge when one comes back" not in cautions(bank)


def test_charge_voltage_against_chemistry_and_rule():
    lfp = typical("LFP", "lithium", 0.5)
    high = cautions(bank_of(lfp, chargers=(charger(15.0),)))["charge voltage too high"]
    assert (high.severity, high.value, high.limit) == ("danger", 15.0, approx(14.6))
    gel = cautions(bank_of(typical("gel", "old", 0.5), chargers=(charger(14.7),)))
    assert gel["charge voltage too high"].limit == approx(14.4)
    stop = Rule(Watch.HIGHEST_CELL, False, 3.5, 1.0, Blocks.CHARGE)
    early = replace(lfp, rules=(stop,))
    assert stops_charge_V(early) == approx(14.0)
    found = cautions(bank_of(early, chargers=(charger(14.4),)))
    assert found["charge voltage above a cut-out"].limit == approx(14.0)
    fine = cautions(bank_of(lfp, chargers=(charger(14.4),)))
    assert not [topic for topic in fine if topic.startswith("charge voltage")]


def test_lithium_beside_lead_acid():
    pair = [typical("LFP", "lithium", 0.6), typical("AGM", "old", 0.95)]
    found = cautions(bank_of(*pair, chargers=(charger(14.2),), duration_s=60))
    assert 'on "mains"' in found["lithium beside lead-acid"].text
    lead = [typical("AGM", "one"), typical("flooded", "two")]
    assert "different chemistries in parallel" in cautions(bank_of(*lead, duration_s=60))
    same = cautions(bank_of(typical("LFP", "a"), typical("LFP", "b"), duration_s=60))
    assert not {"lithium beside lead-acid", "different chemistries in parallel"} & set(same)


def test_only_lithium_minds_the_cold():
    def topics(word):
        bank = bank_of(typical(word, "a", 0.5), load=steady(-5.0), temperature_K=263.15)
        return cautions(bank)

    for word in ("LFP", "NMC"):
        assert topics(word)["charged below freezing"].severity == "danger"
        assert "5.00 Ah" in topics(word)["charged below freezing"].text
    assert "charged below freezing" not in topics("AGM")


def test_left_empty_for_hours():
    low = typical("LFP", "low", 0.10, rules=(Rule(Watch.LOWEST_CELL, True, 2.5, 1.0),))
    load = stepped([0, HOUR_S], [9.0, 0.0])
    found = cautions(bank_of(low, load=load, duration_s=5 * HOUR_S, stop_when_empty=False))
    assert found["left deeply discharged"].severity == "warning"
    assert found["left deeply discharged"].value == approx(1.0, abs=0.5)
    soon = bank_of(low, load=load, duration_s=2 * HOUR_S, stop_when_empty=False)
    assert "left deeply discharged" not in cautions(soon)
    lead = bank_of(typical("AGM", "half", 0.4), duration_s=24 * HOUR_S)
    assert cautions(lead)["left deeply discharged"].severity == "note"
    flat = bank_of(typical("AGM", "flat", 0.1), duration_s=24 * HOUR_S)
    assert cautions(flat)["left deeply discharged"].severity == "warning"
    assert "mean of its cells" not in cautions(flat)["left deeply discharged"].text
    uneven = (
        *flat.batteries[0].cells[1:],
        replace(flat.batteries[0].cells[0], state_of_charge=0.3),
    )
    mixed = replace(flat, batteries=(replace(flat.batteries[0], cells=uneven),))
    assert "(the mean of its cells, 9.9 to 30 %)" in cautions(mixed)["left deeply discharged"].text


@pytest.mark.parametrize(("time", "severity"), [("", "note"), ("duration_h = 240", "warning")])
def test_hours_that_nobody_asked_for_are_no_neglect(time, severity):
    # without duration_h a run goes on to 240 h: it is not said that the battery lies for so long
    one = 'name = "a", chemistry = "AGM", cells_in_series = 6, rated_capacity_Ah = 100'
    text = f"""
        title = "20 h rate"
        simulation = {{ {time} }}
        battery = [{{ {one} }}]
        load = [{{ name = "steady", current_A = 5.0, cut_off_V = 10.5 }}]
    """
    result = simulate(parse_scenario(text, Path()))
    assert result.end_time_s == approx(240 * HOUR_S)
    (found,) = [one for one in result.cautions if one.topic == "left deeply discharged"]
    assert found.severity == severity
    assert ("if it is left so" in found.text) is (severity == "note")
    assert (" h: " in found.text) is (severity == "warning")


def test_a_run_to_empty_is_no_neglect():
    low = typical("LFP", "low", 0.2, rules=(Rule(Watch.LOWEST_CELL, True, 2.5, 1.0),))
    found = cautions(bank_of(low, load=steady(20.0), duration_s=24 * HOUR_S))
    assert not {"left deeply discharged", "cell driven below empty"} & set(found)


def test_lead_acid_driven_flat_is_told_although_charge_is_left_in_the_bound_well():
    bank = bank_of(typical("AGM", "old", 0.6), load=steady(100.0), temperature_K=290.0)
    assert cautions(bank)["cell driven below empty"].severity == "danger"
    assert run(bank).batteries[0].final_state_of_charge[0] > 0.1


def test_a_reversed_cell_is_told_without_a_voltage_that_no_curve_holds():
    weak, cell = (affine_cell(1e-3, base=2.0, span=0.2, Ah=Ah) for Ah in (5.0, 100.0))
    bank = bank_of(
        battery("a", weak, *[cell] * 5, chemistry="AGM"), load=steady(100.0), duration_s=HOUR_S
    )
    told = cautions(bank)["cell driven below empty"]
    assert told.value < 0.0
    assert 'of "a" is driven below 0 V (reversed; how far is not modelled) and' in told.text


def test_lead_acid_that_a_trickle_takes_to_its_usual_cut_off_is_not_harmed():
    cut_out = Rule(Watch.BATTERY_VOLTAGE, True, 10.5, 1.0, Blocks.DISCHARGE)
    slow = bank_of(
        typical("AGM", "old", 0.1, rules=(cut_out,)), load=steady(1.0), duration_s=24 * HOUR_S
    )
    assert run(slow).batteries[0].lowest_state_of_charge < -0.02
    assert "cell driven below empty" not in cautions(slow)


def test_loads_that_stop_by_themselves_guard_lead_acid():
    load = replace(steady(20.0), cut_off=CutOff(11.5, 5.0))
    found = cautions(bank_of(typical("AGM", "old"), load=load))
    assert "no low-voltage cut-out" not in found
    assert "no low-voltage cut-out" in cautions(bank_of(typical("AGM", "old"), load=steady(20.0)))
    assert "no low-voltage cut-out" in cautions(bank_of(typical("LFP", "new"), load=load))


@pytest.mark.parametrize(
    ("kinds", "told"),
    [
        (["AGM"], "Give the loads low-voltage cut-offs"),
        (["LFP"], "Give each battery electronics that stop discharge by the lowest cell"),
        (["AGM", "LFP"], "Give lithium batteries their own electronics, and the loads of lead"),
    ],
)
def test_who_has_no_cut_out_is_told_what_fits_it(kinds, told):
    bare = [typical(kind, kind) for kind in kinds]
    found = cautions(bank_of(*bare, load=steady(20.0)))["no low-voltage cut-out"]
    assert found.advice.startswith(told)


def test_loads_without_power_and_batteries_without_charge_are_told_apart():
    strong = cautions(bank_of(affine("a", 0.05), load=steady(1000.0, 0.0)))["load cannot be fed"]
    assert strong.severity == "warning"
    assert "more power than the bank can give" in strong.text
    rule = Rule(Watch.LOWEST_CELL, True, 13.2, 0.0, Blocks.DISCHARGE)
    out = bank_of(
        affine("a", rules=[rule]), load=steady(50.0), duration_s=4 * HOUR_S, stop_when_empty=False
    )
    assert cautions(out)["load cannot be fed"].severity == "note"
    assert "no battery is left to feed the loads" in cautions(out)["load cannot be fed"].text


def test_a_flat_battery_is_told_from_a_wrong_one():
    # half charged they would match: 13.1 V; now 10.4 and 13.4 V
    flat = battery("flat", affine_cell(0.5, z=0.0, base=10.4, span=5.4))
    found = cautions(bank_of(flat, affine("full", 0.5, z=1.0), duration_s=60))
    assert found["voltages do not match"].severity == "warning"
    wrong = affine("wrong", 0.5, base=25.6, span=1.2)
    found = cautions(bank_of(wrong, affine("full", 0.5), duration_s=60))
    assert found["voltages do not match"].severity == "danger"


def test_stays_out_is_part_of_the_hiccups():
    rule = Rule(
        Watch.LOWEST_CELL, True, 13.0, 1.0, Blocks.DISCHARGE, Release(13.05, 5.0, Needs.NOTHING)
    )
    bank = bank_of(
        affine("a", 10e-3, z=0.5, rules=[rule]), load=steady(20.0, schedule=Schedule()),
        duration_s=24 * HOUR_S, stop_when_empty=False,
    )  # fmt: skip
    found = cautions(bank)["repeated hiccups"]
    assert found.value >= 100
    assert "in vain 100 times in a row" in found.text

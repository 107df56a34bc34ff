"""Cautions about the cold, body diodes, cells ahead, dips, and charge that nothing stops."""

from dataclasses import replace

import pytest
from pytest import approx
from simple_banks import affine, affine_cell, bank_of, battery, run, steady, stepped

from bankSim.model.charger import Charger, Stage
from bankSim.model.chemistry import CHEMISTRIES
from bankSim.model.curve import Curve
from bankSim.model.load import CutOff
from bankSim.model.rule import Blocks, Needs, Release, Rule, Watch

HOUR_S = 3600.0


def cautions(bank):
    return {caution.topic: caution for caution in run(bank).cautions}


def typical(word, name, z, **more):
    chemistry = CHEMISTRIES[word]
    charge_C = 360_000.0 * chemistry.capacity_per_rated
    cell = replace(chemistry.typical_cell(100.0, charge_C), state_of_charge=z)
    cells = [cell] * (4 if chemistry.is_lithium else 6)
    return replace(battery(name, *cells, internal=1e-3, chemistry=word, **more), rated_C=360_000.0)


def charger(hold_V, limit_A=10.0):
    return Charger("mains", (Stage(hold_V),), limit_A=limit_A)


# at 10 % it freezes at -8 degC, at half charge at -25 degC (from memory)
@pytest.mark.parametrize(("z", "kelvin", "told"), [(0.1, 263.15, True), (0.5, 263.15, False)])
def test_discharged_lead_acid_freezes(z, kelvin, told):
    bank = bank_of(typical("AGM", "old", z), temperature_K=kelvin, duration_s=60)
    assert ("lead-acid may freeze" in cautions(bank)) == told
    lithium = bank_of(typical("LFP", "new", z), temperature_K=kelvin, duration_s=60)
    assert "lead-acid may freeze" not in cautions(lithium)


@pytest.mark.parametrize(("hours", "told"), [(2.0, True), (0.5, False)])
def test_a_charger_that_runs_for_hours_beside_a_battery_too_cold(hours, told):
    cold = affine("cold", rules=[Rule(Watch.TEMPERATURE, True, 273.15, 0.0, Blocks.CHARGE)])
    warm = affine("warm", z=0.1)
    bank = bank_of(
        cold, warm, chargers=(charger(13.4, 5.0),), temperature_K=268.15, duration_s=hours * HOUR_S
    )
    found = cautions(bank)
    assert ("too cold to take charge" in found) == told
    assert not told or found["too cold to take charge"].text.endswith(
        '"warm" is charged meanwhile.'
    )


@pytest.mark.parametrize(
    ("names", "end"),
    [
        ("a", "a charger could charge it."),
        ("ab", '; "b" is not charged meanwhile.'),
        ("abc", "; no other is charged meanwhile."),
    ],
)
def test_where_all_are_too_cold_nobody_is_charged(names, end):
    rule = Rule(Watch.TEMPERATURE, True, 273.15, 0.0, Blocks.CHARGE)
    bank = bank_of(
        *(affine(name, z=0.1, rules=[rule]) for name in names), load=steady(3.0),
        chargers=(charger(13.4, 5.0),), temperature_K=268.15, duration_s=2 * HOUR_S,
    )  # fmt: skip
    found = [one for one in run(bank).cautions if one.topic == "too cold to take charge"]
    assert len(found) == len(names)
    assert found[0].text.endswith(end)


@pytest.mark.parametrize(("amperes", "told"), [(40.0, True), (8.0, False)])
def test_much_current_through_a_body_diode(amperes, told):
    full = affine("full", rules=[Rule(Watch.TEMPERATURE, True, 320.0, 0.0, Blocks.CHARGE)])
    found = cautions(bank_of(full, load=steady(amperes), duration_s=1800))
    topic = "large current through a body diode"
    assert (topic in found) == told
    if told:
        assert found[topic].value == approx(amperes)
        assert "30.0 min" in found[topic].text


def test_a_cell_that_runs_ahead_blocks_charge_early():
    stop = Rule(Watch.HIGHEST_CELL, False, 3.5, 0.0, Blocks.CHARGE)
    cell = affine_cell(1e-3, base=3.1, span=0.4)
    for ahead, told in ((0.2, True), (0.02, False)):
        cells = [replace(cell, state_of_charge=z) for z in (0.5, 0.5 + ahead, 0.5, 0.5)]
        bank = bank_of(
            battery("a", *cells, rules=[stop]), load=steady(-50.0), duration_s=HOUR_S
        )  # fmt: skip
        found = cautions(bank).get("cell runs ahead")
        assert (found is not None) == told
        if found is not None:
            assert found.value == approx(0.4 * 0.2)
            assert 'Cell 2 of "a" runs ahead (3.500 V, the others 3.420 V)' in found.text


# Ohm's law: 50 A over 1 and 5 mohm, 0.25 V beside 0.05 V at the same charge
@pytest.mark.parametrize(
    ("behind", "told"),
    [(0.0, "without current all would read about 3.25 V"), (0.15, "only 0.060 V of that")],
)
def test_a_cell_that_reads_high_for_its_resistance_does_not_run_ahead(behind, told):
    stop = Rule(Watch.HIGHEST_CELL, False, 3.5, 0.0, Blocks.CHARGE)
    cell = affine_cell(1e-3, base=3.1, span=0.4)
    low, high = replace(cell, state_of_charge=0.3 - behind), affine_cell(5e-3, base=3.1, span=0.4)
    one = battery("a", low, low, replace(high, state_of_charge=0.3), rules=[stop])
    found = cautions(bank_of(one, load=steady(-50.0), duration_s=HOUR_S))
    assert "cell runs ahead" not in found
    text = found["cell of high resistance"].text
    assert 'Cell 3 of "a" reads 3.500 V' in text
    assert "while 50.0 A flow in: it is its higher resistance" in text
    assert told in text


def test_lfp_that_is_not_full_is_not_held_at_the_top():
    # 3.3 V and a little, 15 A over 20 mohm: above 3.6 V a cell from the start
    stiff = typical("LFP", "a", 0.4)
    cells = tuple(replace(cell, ohmic_ohm=Curve.constant(20e-3)) for cell in stiff.cells)
    bank = bank_of(replace(stiff, cells=cells), load=steady(-15.0), duration_s=4 * HOUR_S)
    result = run(bank)
    assert result.trace[:, 6].max() > 4 * 3.55
    assert "held at a high voltage" not in {caution.topic for caution in result.cautions}


def test_12_v_on_24_v_is_told_what_is_there_and_never_to_match_voltages():
    # it comes back where no load draws, and stays out beside one
    let_go = Release(5.0, 60.0, Needs.LOAD_REMOVED)
    fuse = Rule(Watch.DISCHARGE_CURRENT, False, 100.0, 1.0, Blocks.DISCHARGE, let_go)
    lead, lfp = typical("AGM", "twelve", 1.0), typical("LFP", "other", 1.0)
    big = replace(lfp, name="twenty-four", cells=lfp.cells * 2, rules=(fuse,))
    limits = {"continuous_charge_A": 25.0, "continuous_discharge_A": 100.0}
    pair = [replace(one, lead_ohm=5e-3, **limits) for one in (lead, big)]
    found = cautions(bank_of(*pair, load=steady(100.0, 0.0), duration_s=HOUR_S))
    first = found["current when first connected"]
    assert first.severity == "danger"
    assert first.advice.startswith("Do not connect them")
    assert "in all without loads, 1.00 s in this run with its loads" in first.text
    full = found["cell charged beyond full"]
    assert "charge voltage" not in full.advice
    assert "the other batteries that charge it" in full.advice


def test_a_charger_at_the_very_voltage_of_a_cut_out():
    rule = Rule(Watch.HIGHEST_CELL, False, 3.6, 1.0, Blocks.CHARGE)
    one = typical("LFP", "a", 0.5, rules=(rule,))
    topic = "charge voltage above a cut-out"
    assert topic in cautions(bank_of(one, chargers=(charger(14.4),), duration_s=60))
    assert topic not in cautions(bank_of(one, chargers=(charger(14.39),), duration_s=60))


def test_lithium_whose_charge_nothing_stops():
    topic = "no cut-out at high voltage"
    bare = typical("LFP", "a", 0.5)
    assert topic in cautions(bank_of(bare, chargers=(charger(14.2),), duration_s=60))
    assert topic not in cautions(bank_of(bare, duration_s=60))
    stop = Rule(Watch.HIGHEST_CELL, False, 3.65, 1.0, Blocks.CHARGE)
    guarded = typical("LFP", "a", 0.5, rules=(stop,))
    assert topic not in cautions(bank_of(guarded, chargers=(charger(14.2),), duration_s=60))


# 14.0 V is 3.5 V a cell: the very voltage counts, and not by rounding
@pytest.mark.parametrize(("hold_V", "told"), [(14.4, True), (14.0, True), (13.8, False)])
def test_lfp_held_at_the_top_for_hours(hold_V, told):
    bank = bank_of(
        typical("LFP", "a", 0.97), chargers=(charger(hold_V),), duration_s=6 * HOUR_S
    )  # fmt: skip
    assert ("held at a high voltage" in cautions(bank)) == told


# the charger gives 5 A to the load and what the battery takes: 4 A are never reached, 6 A are
@pytest.mark.parametrize(("tail_A", "told"), [(4.0, True), (None, False)])
def test_a_tail_below_what_the_loads_draw_ends_no_charge(tail_A, told):
    one = Charger("mains", (Stage(14.4, tail_A=tail_A), Stage(13.4)), limit_A=30.0)
    if tail_A is None:
        one = charger(14.4)
    bank = bank_of(
        typical("LFP", "a", 0.97), load=steady(5.0), chargers=(one,), duration_s=6 * HOUR_S
    )  # fmt: skip
    advice = cautions(bank)["held at a high voltage"].advice
    assert ("does not fall to its tail of 4.00 A" in advice) == told
    assert ("feeds the loads with 5.00 A" in advice) == told
    soon = Charger("mains", (Stage(14.4, tail_A=6.0), Stage(13.4)), limit_A=30.0)
    assert "held at a high voltage" not in cautions(replace(bank, chargers=(soon,)))


# by the curve of LFP (docs): 13.25 V at 60 %, 13.38 V at 90 %; 14.0 to 14.4 V are common practice
@pytest.mark.parametrize(
    ("hold_V", "z", "told"),
    [(13.3, 0.5, True), (13.0, 0.5, False), (14.2, 0.5, False), (13.3, 0.93, False)],
    ids=["half full for ever", "gives nothing", "gets full", "is full"],
)
def test_lfp_that_its_charger_leaves_half_full(hold_V, z, told):
    bank = bank_of(
        typical("LFP", "a", z), chargers=(charger(hold_V),), duration_s=24 * HOUR_S,
        stop_when_empty=False,
    )  # fmt: skip
    found = cautions(bank).get("charge voltage too low for LFP")
    assert (found is not None) == told
    if found:
        assert found.severity == "note"
        assert "gets no further than 6" in found.text
        assert "14.0 to 14.4 V for 4 cells" in found.advice


def test_hours_in_which_charge_is_blocked_are_not_held_though_the_charger_feeds_loads():
    # at 14.4 V within half an hour, blocked 12 h after a cell has passed 3.55 V
    stop = Rule(Watch.HIGHEST_CELL, False, 3.55, 12 * HOUR_S, Blocks.CHARGE)
    bank = bank_of(
        typical("LFP", "a", 0.97, rules=(stop,)), load=steady(1.0), chargers=(charger(14.4),),
        duration_s=48 * HOUR_S, stop_when_empty=False,
    )  # fmt: skip
    assert cautions(bank)["held at a high voltage"].value == approx(12.0, abs=0.5)


@pytest.mark.parametrize(("seconds", "told"), [(2.0, "dips"), (300.0, "driven below empty")])
def test_a_dip_under_load_is_not_a_deep_discharge(seconds, told):
    # 3.2 V at half charge, less 130 A through 10 mohm: 1.9 V
    cell = replace(affine_cell(10e-3, base=3.0, span=0.4), state_of_charge=0.5)
    load = stepped([0, 600, 600 + seconds], [0.0, 130.0, 0.0])
    bank = bank_of(battery("a", cell, chemistry="LFP"), load=load, duration_s=1800)
    topics = {"dips": "cell voltage dips under load"}
    other = {"dips", "driven below empty"} - {told}
    found = cautions(bank)
    assert topics.get(told, "cell driven below empty") in found
    assert not {topics.get(one, "cell driven below empty") for one in other} & set(found)


def test_lead_acid_sagging_below_what_any_cut_off_allows():
    bank = bank_of(
        battery("a", *[affine_cell(2e-3, base=1.9, span=0.2, z=0.5)] * 6, chemistry="AGM"),
        load=stepped([0, 600], [200.0, 0.0]), duration_s=1800,
    )  # fmt: skip
    found = cautions(bank)
    assert found["lead-acid cell low under load"].severity == "warning"
    assert "cell driven below empty" not in found


def over_current(name, amperes, **more):
    return affine(name, rules=[Rule(Watch.DISCHARGE_CURRENT, False, amperes, 1.0)], **more)


def test_a_bank_put_out_by_current_needs_no_capacity():
    out = bank_of(
        over_current("a", 40.0), load=steady(50.0), duration_s=HOUR_S, stop_when_empty=False
    )
    assert "It is the current" in cautions(out)["load cannot be fed"].advice
    low = Rule(Watch.LOWEST_CELL, True, 13.2, 0.0, Blocks.DISCHARGE)
    empty = bank_of(
        affine("a", rules=[low]), load=steady(50.0), duration_s=4 * HOUR_S, stop_when_empty=False
    )
    assert "add capacity" in cautions(empty)["load cannot be fed"].advice


def test_a_nearly_empty_bank_needs_no_thicker_leads():
    weak = bank_of(affine("a", 0.05, z=0.05), load=steady(1000.0, 0.0), stop_when_empty=False)
    found = cautions(weak)["load cannot be fed"]
    assert '"a" is nearly empty' in found.text
    assert "leads" not in found.advice


def test_advice_for_a_battery_that_comes_back_goes_by_what_blocked_it():
    def advice(rule, load):
        pair = [affine("back", 2e-3, rules=[rule]), affine("stay", 2e-3, z=0.7)]
        bank = bank_of(*pair, load=load, duration_s=6000)
        return cautions(bank)["surge when one comes back"].advice

    stop = Rule(Watch.DISCHARGE_CURRENT, False, 55.0, 0.0, Blocks.DISCHARGE, Release(5.0, 600.0))
    assert "Use less power" in advice(stop, stepped([0, 300], [60, 10]))


def at_20_h(share, cells, cut_off_V):
    """An AGM of 100 Ah with one cell that holds so much of the others, down to the end voltage."""
    one = typical("AGM", "old", 1.0)
    weak = replace(one.cells[0], charge_C=share * one.cells[0].charge_C)
    load = replace(steady(5.0), cut_off=CutOff(cut_off_V, 0.0) if cut_off_V else None)
    every = (weak, *[one.cells[0]] * (cells - 1))
    return bank_of(replace(one, cells=every), load=load, duration_s=30 * HOUR_S)


# 10.5 V, 1.75 V a cell, is the end voltage of the 20 h rate (IEC 60896-21/-22, from memory): a
# capacity test is no ruin. A cell that holds a fifth less cannot get below 0 V
# in a block of 12 V (10.5 V less five times 2.1 V is 0 V), but in one of 24 V it does.
@pytest.mark.parametrize(
    ("share", "cells", "cut_off_V", "severity", "topic"),
    [
        (0.985, 6, 10.5, "warning", "lead-acid cell low under load"),
        (0.93, 6, 10.5, "warning", "lead-acid cell low under load"),
        (0.80, 12, 21.0, "danger", "cell driven below empty"),
        (0.985, 6, 0.0, "danger", "cell driven below empty"),  # nothing stops it
    ],
)
def test_a_capacity_test_of_lead_acid_ruins_no_cell(share, cells, cut_off_V, severity, topic):
    result = run(at_20_h(share, cells, cut_off_V))
    lowest_V = result.batteries[0].lowest_cell_voltage_V
    assert lowest_V < 1.5  # below what was taken for ruin
    topics = {"lead-acid cell low under load", "cell driven below empty"}
    (found,) = [one for one in result.cautions if one.topic in topics]
    assert (found.topic, found.severity) == (topic, severity)
    assert found.value == lowest_V
    if severity == "warning":
        assert 'The weakest cell of "old" falls to ' in found.text
        assert lowest_V > 0.5
    if cells == 12:
        assert lowest_V < 0.0


@pytest.mark.parametrize(("hours", "severity"), [(98.0, "warning"), (108.0, "danger")])
def test_a_cell_clearly_below_empty_is_ruined_though_a_trickle_keeps_its_voltage_up(
    hours, severity
):
    # 0.1 A for 108 h and self-discharge take 11 Ah of 108 Ah out of a cell that was empty
    one = typical("AGM", "old", 0.5)
    flat = replace(one.cells[0], state_of_charge=0.0)
    bank = bank_of(
        replace(one, cells=(flat, *one.cells[1:])), load=steady(0.1), duration_s=hours * HOUR_S
    )
    result = run(bank)
    assert 1.0 < result.batteries[0].lowest_cell_voltage_V < 1.5
    topics = {"lead-acid cell low under load", "cell driven below empty"}
    (found,) = [one for one in result.cautions if one.topic in topics]
    assert found.severity == severity


# Cells of a sound battery differ by some percent, and the first full one is some 0.1 V ahead of
# the others (common practice, no source); with a cell that is shorted the others get 14.4 V / 5.
@pytest.mark.parametrize(
    ("ahead", "shorted", "severity", "topic"),
    [
        (0.02, False, "note", "lead-acid cell ahead on charge"),
        (0.0, True, "danger", "cell charged beyond full"),
    ],
)
def test_the_first_full_cell_of_a_usual_charge_is_no_danger(ahead, shorted, severity, topic):
    one = typical("AGM", "new", 0.6)
    first = replace(one.cells[0], state_of_charge=0.6 + ahead)
    cells = one.cells[1:] if shorted else (first, *one.cells[1:])
    feeds = Charger("mains", (Stage(14.4),), limit_A=10.0)
    bank = bank_of(replace(one, cells=cells), chargers=(feeds,), duration_s=12 * HOUR_S)
    result = run(bank)
    assert result.batteries[0].highest_cell_voltage_V > 2.5
    topics = {"lead-acid cell ahead on charge", "cell charged beyond full"}
    (told,) = [one for one in result.cautions if one.topic in topics]
    assert (told.topic, told.severity) == (topic, severity)
    assert told.value == result.batteries[0].highest_cell_voltage_V
    assert ("The fullest cell of" in told.text) == (severity == "note")

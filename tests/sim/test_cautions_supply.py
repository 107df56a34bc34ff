"""Cautions about loads, chargers and heat: what a careful electrician would ask."""

from dataclasses import replace

import pytest
from pytest import approx
from simple_banks import affine, affine_cell, bank_of, battery, run, steady, stepped
from test_cautions_life import cautions, typical

from bankSim.model.bank import Wiring
from bankSim.model.cell import REFERENCE_K, ZERO_C_K, Cell
from bankSim.model.charger import Charger, Stage
from bankSim.model.curve import Curve
from bankSim.model.load import Schedule
from bankSim.model.rule import Blocks, Release, Rule, Watch
from bankSim.sim.at_rest import instant_ohm
from bankSim.sim.cautions.drops import twelves
from bankSim.sim.cautions.heads import ohm_at
from bankSim.sim.cautions.supply import IDLE_A, _source
from bankSim.sim.result import COLLAPSE

HOUR_S = 3600.0


def most_W(result, event):
    """E^2 / (4 R)."""
    emf_V, ohm = _source(result, event)
    return emf_V**2 / (4.0 * ohm)


def charger(hold_V, limit_A=10.0, name="mains", **more):
    return Charger(name, (Stage(hold_V),), limit_A=limit_A, **more)


# 100 A through 5 and 15 mohm of main: 0.5 V and 1.5 V of some 13 V
@pytest.mark.parametrize(("main_ohm", "kind"), [(0.001, None), (0.005, "note"), (0.015, "warning")])
def test_voltage_lost_in_the_main_leads(main_ohm, kind):
    bank = bank_of(affine("a", 1e-3, 200.0), load=steady(100.0), wiring=Wiring(main_ohm=main_ohm))
    found = cautions(bank).get("voltage lost on the way to the loads")
    assert (found.severity if found else None) == kind
    if found:
        assert found.value == approx(100.0 * 100.0 * main_ohm / 12.97, rel=0.02)
        assert f"lose {100.0 * main_ohm:.3g}" in found.text
        assert "allow 3 % for what must not fail and 10 % for the rest" in found.text


def test_voltage_lost_on_the_way_from_a_charger():
    # Ohm: 40 A through 20 mohm, 0.8 V of some 13.2 V
    bank = bank_of(
        affine("a", 1e-3, 200.0, z=0.2), chargers=(charger(15.0, 40.0),), duration_s=HOUR_S,
        wiring=Wiring(main_ohm=0.02),
    )  # fmt: skip
    found = cautions(bank)
    assert "voltage lost on the way to the loads" not in found
    told = found["voltage lost on the way from the chargers"]
    assert told.severity == "note"
    assert told.value == approx(100.0 * 0.8 / 13.0, rel=0.02)
    assert "At 40.0 A of charge the main leads (20.0 mohm) lose 0.800 V" in told.text
    assert "reaches its voltage early" in told.text


@pytest.mark.parametrize(("start_A", "told"), [(400.0, True), (120.0, False)])
def test_the_largest_loss_is_told_beside_that_which_lasts(start_A, told):
    # Ohm: 5 mohm lose 0.5 V at 100 A, and 2 V of 13.34 - 0.4 = 12.9 V at 400 A: 15 %
    load = stepped([0, 100, 103], [100.0, start_A, 100.0])
    bank = bank_of(affine("a", 1e-3, 200.0), load=load, wiring=Wiring(main_ohm=0.005))
    text = cautions(bank)["voltage lost on the way to the loads"].text
    assert ("; for moments it is up to 2.00 V at 400 A, 15 %" in text) is told
    assert "lose 0.5" in text
    assert ("for moments" in text) is told


def test_a_start_of_seconds_loses_no_voltage_worth_a_word():
    load = stepped([0, 10], [300, 5])
    bank = bank_of(affine("a", 1e-3, 200.0), load=load, wiring=Wiring(main_ohm=0.005))
    assert "voltage lost on the way to the loads" not in cautions(bank)


@pytest.mark.parametrize(("hold_V", "told"), [(15.8, True), (14.7, False)])
def test_loads_that_see_what_equalising_takes(hold_V, told):
    one = typical("flooded", "a", 0.98)
    bank = bank_of(one, load=steady(1.0), chargers=(charger(hold_V),), duration_s=12 * HOUR_S)
    found = cautions(bank)
    assert ("high voltage at the loads" in found) == told
    assert (found["charge voltage too high"].severity if told else None) in (None, "warning")
    silent = bank_of(one, chargers=(charger(hold_V),), duration_s=12 * HOUR_S)
    assert "high voltage at the loads" not in cautions(silent)


def test_how_many_times_12_v():
    assert [twelves(bank_of(typical("LFP", "a", cells=n))) for n in (4, 8, 16)] == [1, 2, 4]
    assert [twelves(bank_of(typical("AGM", "a", cells=n))) for n in (6, 12, 24)] == [1, 2, 4]
    assert [twelves(bank_of(typical("NMC", "a", cells=n))) for n in (3, 4, 7, 13)] == [1, 1, 2, 4]


@pytest.mark.parametrize(
    ("word", "kelvin", "told"),
    [("LFP", 321.15, "makers usually end"), ("AGM", 316.15, "0.43 V less"), ("LFP", 308.15, None)],
)
def test_charged_while_hot(word, kelvin, told):
    # AGM at 43 degC: 6 cells x 4 mV/K x 18 K = 0.43 V (common practice, no source)
    one = typical(word, "a", 0.5)
    bank = bank_of(one, chargers=(charger(14.2),), temperature_K=kelvin, duration_s=HOUR_S)
    found = cautions(bank).get("charged while hot")
    assert (found is not None) == (told is not None)
    if found:
        assert told in found.text + found.advice
        assert found.value == approx(kelvin - 273.15)


def test_charger_that_gives_nothing():
    one, low = affine("a", z=0.9), charger(12.5)
    found = cautions(bank_of(one, chargers=(low,)))["charger gives nothing"]
    assert (found.value, found.limit) == (12.5, approx(12.8 + 0.6 * 0.9))
    late = charger(14.4, schedule=Schedule(active_s=((5 * HOUR_S, 6 * HOUR_S),)))
    result = run(bank_of(one, chargers=(late,)))
    assert result.chargers[0].peak_A < IDLE_A
    assert "charger gives nothing" not in {caution.topic for caution in result.cautions}


def test_a_cell_that_lags_is_named_and_not_the_others():
    stop = Rule(Watch.HIGHEST_CELL, False, 3.5, 0.0, Blocks.CHARGE)
    cell = affine_cell(1e-3, base=3.1, span=0.4)
    cells = [replace(cell, state_of_charge=z) for z in (0.7, 0.2, 0.7, 0.7)]
    bank = bank_of(battery("a", *cells, rules=[stop]), load=steady(-50.0), duration_s=HOUR_S)
    found = cautions(bank)["cell lags behind"]
    assert 'Cell 2 of "a" lags behind (3.300 V, the others 3.500 V)' in found.text


def test_chargers_too_high_for_many_are_one_caution():
    bank = bank_of(
        *(typical("AGM", name, 0.6) for name in "ab"), typical("LFP", "c", 0.6),
        chargers=(charger(15.2),), duration_s=60,
    )  # fmt: skip
    (found,) = [c for c in run(bank).cautions if c.topic == "charge voltage too high"]
    assert found.severity == "danger"
    assert found.limit == approx(14.6)
    assert '14.70 V by "a" and "b" (AGM, 6 cells)' in found.text
    assert '14.60 V by "c" (LFP, 4 cells)' in found.text
    assert "at most 14.60 V" in found.advice
    mild = bank_of(typical("AGM", "a", 0.6), chargers=(charger(14.8),), duration_s=60)
    assert cautions(mild)["charge voltage too high"].severity == "warning"


def test_all_above_their_labels_at_the_first_connection_are_named():
    full = replace(affine("full", 4e-3, z=1.0), continuous_discharge_A=20.0)
    low = [replace(affine(n, 4e-3, z=0.3), continuous_charge_A=5.0) for n in ("one", "two")]
    found = cautions(bank_of(full, *low, load=steady(1.0), duration_s=8 * HOUR_S))
    text = found["current when first connected"].text
    for name in ("full", "one", "two"):
        assert f'"{name}" {"gives" if name == "full" else "takes"}' in text
    assert text.count("is above its limit") == 3
    assert not [topic for topic in found if topic.endswith("above label")]


def test_a_charger_that_pushes_after_the_first_connection_is_told_too():
    full = affine("full", 10e-3, z=1.0)
    low = replace(affine("low", 10e-3, z=0.2), continuous_charge_A=15.0)
    mains = charger(14.4, 40.0, schedule=Schedule(active_s=((3 * HOUR_S, 4 * HOUR_S),)))
    result = run(bank_of(full, low, chargers=(mains,), duration_s=5 * HOUR_S))
    found = {caution.topic: caution for caution in result.cautions}
    assert "current when first connected" in found
    later = found["charge above label"]
    assert "the first connection left out" in later.text
    line = result.timeline()
    assert later.value == approx(-line["low.current_A"][line["time_s"] > 2 * HOUR_S].min())


def test_a_pair_is_safe_at_any_state_of_charge():
    # R0 falls from 30 to 5 mohm as it fills: who charges it up to a difference has 5 mohm
    from bankSim.model.curve import Curve
    from bankSim.sim.joining_pairs import join_pair

    cell = replace(affine_cell(z=0.0), ohmic_ohm=Curve.linear([0.0, 1.0], [0.03, 0.005]))
    low = replace(battery("low", cell), continuous_charge_A=20.0)
    pair = join_pair(bank_of(affine("full", 5e-3, z=1.0), low), 0, 1)
    assert pair.safe_difference_V == approx(20.0 * (0.005 + 0.005))
    assert pair.first_A == approx(0.6 / 0.035)


@pytest.mark.parametrize(
    ("watch", "blocks", "limit", "word"),
    [
        (Watch.CHARGE_CURRENT, Blocks.CHARGE, 20.0, "smaller charger"),
        (Watch.DISCHARGE_CURRENT, Blocks.DISCHARGE, 20.0, "load's removal"),
    ],
)
def test_hiccups_have_the_cure_of_their_cause(watch, blocks, limit, word):
    rule = Rule(watch, False, limit, 2.0, blocks, Release(limit - 5.0, 20.0))
    sign = 1.0 if blocks is Blocks.DISCHARGE else -1.0
    pair = [affine("a", 5e-3, z=0.5, rules=[rule]), affine("b", 5e-3, z=0.5)]
    found = cautions(bank_of(*pair, load=steady(sign * 60.0), duration_s=600))
    assert word in found["repeated hiccups"].advice


def test_a_bank_that_collapses_is_told_its_most_power():
    # by hand: E^2 / (4 R) = 13.4^2 / (4 x 20 mohm) = 2.24 kW
    one = affine("a", 15e-3, z=1.0)
    load = steady(3000.0, 0.0)
    bank = bank_of(one, load=load, wiring=Wiring(main_ohm=5e-3), duration_s=60)
    found = cautions(bank)["load cannot be fed"]
    assert "about 2.2 kW" in found.text


@pytest.mark.parametrize("word", ["AGM", "flooded"])
def test_what_two_wells_can_give_as_they_collapse(word):
    # a load of constant power that is fed until it cannot be any more then asks for E^2 / (4 R),
    # the most that a source can give (theorem of maximum power): its own 200 W
    bank = bank_of(typical(word, "a", 1.0), load=steady(200.0, 0.0), duration_s=40 * HOUR_S)
    result = run(bank)
    (told,) = [c.text for c in result.cautions if c.topic == "load cannot be fed"]
    assert "about 200 W at that moment" in told or "nearly empty" in told
    row = result.trace.shape[0] - 1
    level = float(result.trace[row, 7])
    assert ohm_at(result, 0, row) > 1.5 * instant_ohm(bank.batteries[0], REFERENCE_K, level)
    assert most_W(result, result.events[-1]) == approx(200.0, rel=0.02)


@pytest.mark.parametrize(("part", "fed"), [(0.85, True), (1.15, False)])
def test_a_battery_that_is_charged_at_that_moment_counts_as_it_discharges(part, fed):
    # nearly empty it takes in charge easily and gives hardly any; no load above the most power can
    # be fed, one below it can (theorem of maximum power); by bisection 951 W
    pair = typical("AGM", "full", 0.9, Ah=10.0), typical("AGM", "flat", 0.12, Ah=200.0)

    def result_at(load_W):
        cold = bank_of(*pair, load=stepped([0, 36], [0.0, load_W], 0.0), duration_s=40)
        return run(replace(cold, temperature_K=ZERO_C_K))

    short = result_at(5000.0)
    event = next(one for one in short.events if one.what == COLLAPSE)
    events = result_at(part * most_W(short, event)).events
    assert all(one.what != COLLAPSE for one in events) == fed


def test_a_load_on_top_of_the_first_connection_is_not_hidden_by_it():
    full = replace(affine("full", 10e-3, z=1.0), continuous_discharge_A=10.0)
    bank = bank_of(full, affine("low", 10e-3, z=0.3), load=stepped([0, 5, 25], [0, 150, 0]))
    found = cautions(bank)
    assert "current when first connected" in found
    assert found["discharge above label"].value > 80.0


def test_voltage_lost_is_a_part_of_what_there_is_then():
    # by hand: 100 A x 5 mohm over some 12.9 V, though the bus is dead for most of the run
    low = Rule(Watch.BATTERY_VOLTAGE, True, 12.5, 0.0)
    one = affine("a", 1e-3, 20.0, rules=[low])
    bank = bank_of(one, load=steady(100.0), wiring=Wiring(main_ohm=0.005), duration_s=50 * HOUR_S)
    found = cautions(replace(bank, stop_when_empty=False))
    assert found["voltage lost on the way to the loads"].value == approx(3.87, abs=0.05)


def test_a_rule_at_a_high_voltage_is_no_low_voltage_cut_out():
    high = Rule(Watch.BATTERY_VOLTAGE, False, 15.0, 0.0, Blocks.BOTH)
    assert "no low-voltage cut-out" in cautions(bank_of(affine("a", rules=[high]), duration_s=60))


def test_all_chargers_that_hold_too_much_are_named():
    high = [charger(15.4, name="c"), charger(15.3, name="d"), charger(14.2, name="e")]
    bank = bank_of(typical("LFP", "a", 0.6), chargers=high, duration_s=60)
    assert cautions(bank)["charge voltage too high"].advice == 'Set "c" and "d" to at most 14.60 V.'


@pytest.mark.parametrize("amps", [1300.0, 1400.0])
def test_a_load_of_constant_current_is_told_in_amperes(amps):
    # Ohm: 12.8 V + 0.6 V 0.9 = 13.34 V behind 5 mohm and 5 mohm of main give 1334 A into a short;
    # by power it would be "4.4 kW"
    bank = bank_of(affine("a"), load=steady(amps), wiring=Wiring(main_ohm=0.005), duration_s=1.0)
    found = cautions(bank).get(COLLAPSE)
    assert (found is None) == (amps < 1334.0)
    if found:
        assert found.text.endswith(
            "the loads ask for more current than the bank can give: about 1334 A at that moment, "
            "and at 0 V, of 1400 A."
        )
        assert found.advice.startswith("Use less current at a time")


def test_a_current_that_the_bank_has_come_down_to_is_not_told_twice():
    # the voltage sinks to 0 under the very current that is asked for: E / R is just as large
    curve = Curve.linear([0.0, 0.4, 0.5, 1.0], [0.0, 0.5, 11.0, 12.0])
    cell = Cell(curve, Curve.constant(0.02), 20.0 * HOUR_S, 0.9)
    one = battery("a", cell)
    found = cautions(bank_of(one, load=steady(60.0), duration_s=HOUR_S))[COLLAPSE]
    assert found.text.endswith("can give: at 60.0 A no voltage is left for them.")


def test_a_current_beside_a_power_is_told_as_power():
    loads = (steady(900.0), replace(steady(5000.0, 0.0), name="power"))
    bank = replace(bank_of(affine("a"), duration_s=1.0), loads=loads)
    found = cautions(bank)[COLLAPSE]
    assert (
        "more power than the bank can give: about 8.9 kW at that moment, and at half" in found.text
    )


@pytest.mark.parametrize(
    ("more", "severity", "told"),
    [
        ({"continuous_discharge_A": 40.0}, "danger", "its label allows 40.0 A"),
        ({"continuous_discharge_A": 50.0}, "warning", None),
        ({}, "warning", None),
        (
            {
                "continuous_discharge_A": 40.0,
                "limits_assumed": frozenset({"continuous_discharge_A"}),
            },
            "warning",
            "its label was not given, 40.0 A is assumed",
        ),
    ],
)
def test_what_the_last_battery_would_have_to_carry(more, severity, told):
    # 600 W: both feed it (E^2 / 4R is 440 W each); "a" goes after a minute, and "b" alone cannot.
    # It would carry more than 600 W / 13.34 V = 45.0 A, the voltage falling
    rule = Rule(Watch.DISCHARGE_CURRENT, False, 20.0, 60.0)
    pair = (affine("a", 0.1, rules=[rule]), replace(affine("b", 0.1), **more))
    found = cautions(bank_of(*pair, load=steady(600.0, 0.0), duration_s=HOUR_S))[COLLAPSE]
    assert found.severity == severity
    assert '"a" has cut out' in found.text
    assert ("would have to carry" in found.text) is (told is not None)
    if told:
        assert f'"b" would have to carry at least 45.0 A; {told}. A load that' in found.text


@pytest.mark.parametrize(
    ("word", "celsius", "severity"),
    [("LFP", 60.5, "danger"), ("LFP", 59.0, "warning"), ("AGM", 62.0, "warning")],
)
def test_no_lithium_is_charged_above_60_degrees(word, celsius, severity):
    # common practice, no source
    one = typical(word, "a", 0.5)
    bank = bank_of(
        one, chargers=(charger(14.2),), temperature_K=celsius + ZERO_C_K, duration_s=HOUR_S
    )
    found = cautions(bank)["charged while hot"]
    assert found.severity == severity
    assert ("none allows it above 60 degrees C" in found.text) == (severity == "danger")

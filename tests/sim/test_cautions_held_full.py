"""Cautions about lead-acid held at gassing voltage although it is full."""

import math
from dataclasses import replace

import pytest
from pytest import approx
from simple_banks import bank_of, run, steady
from test_cautions_life import cautions, typical

from bankSim.model.charger import Charger, Stage
from bankSim.model.load import Schedule
from bankSim.sim.cautions.lead_full import gas_of, held_full

HOUR_S = 3600.0
TOPIC = "lead-acid held at gassing voltage"


def mains(*stages, limit_A=15.0, **more):
    return Charger("mains", stages, limit_A=limit_A, **more)


def stored(word, *stages, hours, z=1.0, **more):
    """One of 100 Ah at a charger, the timeline in steps of 10 min."""
    bank = bank_of(
        typical(word, "one", z), chargers=(mains(*stages),), duration_s=hours * HOUR_S,
        output_every_s=600.0, stop_when_empty=False, **more,
    )  # fmt: skip
    return bank


# Faraday's law by hand: 3600 / 96485 / 2 = 0.018656 mol an Ah; water 18.015 g/mol, gas 22.414 l/mol
def test_water_and_hydrogen_of_an_ampere_hour():
    assert gas_of(1.0) == (approx(0.3361, abs=1e-4), approx(0.4181, abs=1e-4))
    assert gas_of(100.0)[0] == approx(33.61, abs=0.01)


# Tafel (theory eq. 3.8): 0.5 A at 2.40 V a cell, e-fold every 0.1 V from 2.1417 V at rest;
# 3 % of what goes in is lost beside it; 4.5 + 3 mohm stand between charger and cells (R0 and the
# relaxation, of 100 Ah; what gasses meets nothing of what hinders a charge)
@pytest.mark.parametrize(("hold_V", "hours"), [(14.4, 100.0), (14.7, 150.0)])
def test_held_at_absorption_it_takes_its_gassing_current_all_the_time(hold_V, hours):
    def tafel(volts):
        return math.exp((volts / 6.0 - 12.85 / 6.0) / 0.1) - 1.0

    bank = stored("AGM", Stage(hold_V), hours=hours)
    amps = 0.5
    for _ in range(20):
        amps = 0.5 * tafel(hold_V - 0.0075 * amps) / tafel(14.4) / 0.97
    by_hand_Ah = amps * hours
    found = cautions(bank)[TOPIC]
    assert found.severity == "danger"
    assert found.value == approx(by_hand_Ah, rel=0.02)
    result = run(bank)
    assert found.value == approx(result.chargers[0].delivered_Ah, abs=3.0)  # hardly any is stored
    water_g = 3600.0 / 96_485.0 / 2.0 * 18.015 * found.value
    assert f"{water_g:.3g} g of water from each cell" in found.text
    assert 'Let "mains" drop to float (13.5 to 13.8 V for 6 cells' in found.advice
    assert "what is lost cannot be put back" in found.advice
    assert "explosive from 4 %" in found.advice


def test_flooded_is_told_to_be_topped_up():
    found = cautions(stored("flooded", Stage(14.7), hours=72.0))[TOPIC]
    assert "Top up its water" in found.advice
    assert "(13.2 to 13.6 V for 6 cells" in found.advice


@pytest.mark.parametrize("word", ["AGM", "gel", "flooded"])
@pytest.mark.parametrize(
    "stages",
    [
        (Stage(14.4, tail_A=2.0, most_s=8 * HOUR_S), Stage(13.5)),  # a usual full charge
        (Stage(14.4, most_s=6 * HOUR_S), Stage(13.5)),
        (Stage(13.5),),
    ],
)
def test_a_usual_full_charge_and_two_months_of_float_are_fine(word, stages):
    assert TOPIC not in cautions(stored(word, *stages, hours=1440.0, z=0.5))


def test_a_little_above_float_for_weeks_is_no_danger():
    found = cautions(stored("flooded", Stage(13.9), hours=400.0))[TOPIC]
    assert found.severity == "warning"
    assert found.value > 0.2 * 100.0


def test_float_is_higher_in_the_cold():
    # -4 mV a cell and K: 2.30 + 0.02 + 0.08 V at 5 degrees C, 14.4 V for six
    cold = stored("AGM", Stage(14.3), hours=300.0, temperature_K=278.15)
    assert TOPIC not in cautions(cold)
    assert TOPIC in cautions(stored("AGM", Stage(14.3), hours=300.0))


# 20 K above 25 degrees C: 6 x 20 x 4 mV = 0.48 V less; 13.8 V is 0.36 V above 13.32 + 0.12 V
def test_who_floats_a_warm_battery_as_usual_is_not_told_to_let_it_drop_to_float():
    warm = stored(
        "AGM", Stage(14.4, tail_A=2.0, most_s=8 * HOUR_S), Stage(13.8), hours=400.0,
        temperature_K=318.15,
    )  # fmt: skip
    found, held = cautions(warm)[TOPIC], held_full(run(warm), 0)
    assert 390.0 < held.warm_hours < held.hours < 400.0
    assert "to float" not in found.advice
    assert "about 0.48 V less at its warmest" in found.advice
    assert "of it only because float is lower for its warmth, up to 45" in found.text
    # the hours of float take 0.3 of the label below 2.35 V a cell, those before it 0.03 above that
    assert held.worst_Ah > 25.0 > held.brisk_Ah
    assert found.severity == "warning"
    hot = stored("AGM", Stage(14.4), hours=400.0, temperature_K=318.15)
    assert "drop to float" in cautions(hot)[TOPIC].advice


@pytest.mark.parametrize(("used_A", "told"), [(0.2, True), (5.0, False)])
def test_many_short_holds_add_up_where_little_is_used(used_A, told):
    # 4 h a day at 14.6 V for 40 days: some 0.7 A each hour, by Tafel, of which most while full
    bank = bank_of(
        typical("AGM", "one", 1.0), load=steady(used_A, schedule=Schedule()),
        chargers=(mains(Stage(14.6), limit_A=40.0,
                        schedule=Schedule(daily_s=((10 * HOUR_S, 15 * HOUR_S),))),),
        duration_s=40 * 24 * HOUR_S, output_every_s=600.0,
    )  # fmt: skip
    found = cautions(replace(bank, stop_when_empty=False)).get(TOPIC)
    assert (found.severity if found else None) == ("warning" if told else None)


def test_a_short_break_does_not_end_a_hold_and_a_long_one_does():
    def held(off_h):
        windows = ((0.0, 20 * HOUR_S), ((20 + off_h) * HOUR_S, (40 + off_h) * HOUR_S))
        one = mains(Stage(14.6), schedule=Schedule(active_s=windows))
        bank = bank_of(
            typical("AGM", "one", 1.0), load=steady(0.5), chargers=(one,),
            duration_s=(40 + off_h) * HOUR_S,
        )  # fmt: skip
        return held_full(run(bank), 0)

    assert held(1.0).worst_Ah == approx(held(1.0).gassed_Ah)
    assert held(6.0).worst_Ah == approx(0.5 * held(6.0).gassed_Ah, rel=0.05)


def test_lithium_has_no_gas_to_tell_of():
    assert TOPIC not in cautions(stored("LFP", Stage(14.2), hours=200.0))

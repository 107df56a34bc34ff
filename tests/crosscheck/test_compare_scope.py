"""How far a prediction can be compared, and the sentence for everything that is left out."""

from dataclasses import replace

import numpy as np
import pytest
from crosscheck_banks import bare_pair, steady, string

from bankSim.cli.crosscheck import differences
from bankSim.crosscheck import compare, compare_scope
from bankSim.crosscheck.compare import charge_of_a_step
from bankSim.crosscheck.compare_lines import Line
from bankSim.crosscheck.compare_scope import comparable_part, most_shift_K, near_ties, remarks
from bankSim.crosscheck.deck import build_deck
from bankSim.crosscheck.deck_limits import left_out
from bankSim.crosscheck.spice import SpiceGaveUpError
from bankSim.model.bank import Bank, Wiring
from bankSim.model.rule import Rule, Watch
from bankSim.model.upkeep import Heater, Thermal
from bankSim.scenario.record import Scenario
from bankSim.show.printing import story_text
from bankSim.sim.result import (
    COLLAPSE,
    LOAD_STAYS_OFF,
    REFUSED,
    STAYS_OUT,
    TRIP,
    BankOutcome,
    Event,
    Numerics,
    Result,
)
from bankSim.sim.run import simulate

WARM = Thermal(9000.0, 2.0)
HOT = Rule(Watch.TEMPERATURE, False, 330.0)


def finished(events=()):
    outcome = BankOutcome(1.0, 1.0, 0.0, 0.0, 0.0, 1e4)
    numerics = Numerics(1e-9, 1e-10, 0, 0, 0)
    parts = (outcome, (), tuple(events), (), numerics)
    scenario = Scenario("test", bare_pair())
    return Result(scenario, 1e4, "end of duration", *parts, np.empty(0))


def happening(what, time_s, watches=None):
    return Event(time_s, what, "small", watches, None, 1, 1, "", "charge", 12.0, 12.0, (), (), ())


@pytest.mark.parametrize(
    ("what", "words"),
    [
        (COLLAPSE, "the loads cannot be fed"),
        (REFUSED, "charge is refused"),
        (STAYS_OUT, "stays out after many fruitless reconnections"),
        (LOAD_STAYS_OFF, "a load stays off"),
    ],
)
def test_what_the_netlist_cannot_do_ends_the_comparison(what, words):
    until_s, reason = comparable_part(finished([happening(what, 3000.0)]))
    assert until_s == 3000.0
    assert words in reason


def test_what_ends_the_run_leaves_it_comparable_to_its_end():
    assert comparable_part(finished([happening(COLLAPSE, 1e4)]))[0] == 1e4


def test_batteries_that_switch_together_are_told():
    small, large = happening(TRIP, 3600.0), replace(happening(TRIP, 3601.0), battery="large")
    (words,) = near_ties(finished([small, large]), 2.0)
    assert "At 1.000 h small and large switch" in words
    assert near_ties(finished([small, large]), 0.5) == []
    assert near_ties(finished([small, replace(small, time_s=3601.0)]), 2.0) == []


def test_charge_of_a_step_is_told_where_it_explains_a_difference():
    # 360 A over 2 s are 0.2 Ah
    trip = replace(happening(TRIP, 3600.0), currents_A=(120.0,), currents_after_A=(-360.0,))
    off = Line("a delivered", "Ah", 90.0, 90.25, -0.3, "%", 0.1, agrees=False)
    (words,) = charge_of_a_step(finished([trip]), [off], 2.0)
    assert "at up to 360 A a step is 0.200 Ah" in words
    assert charge_of_a_step(finished([trip]), [replace(off, spice=91.0)], 2.0) == []
    assert charge_of_a_step(finished([trip]), [replace(off, agrees=True)], 2.0) == []


def test_ordinary_trips_are_no_hindrance():
    assert comparable_part(finished([happening(TRIP, 10.0, "charge current")])) == (1e4, None)


def test_temperatures_are_held_for_the_comparison_and_that_is_told():
    # 30 A through 4 x 2 mohm + 2.6 mohm warm 900 J/K by some 1 K in 100 s
    heater = Heater(40.0, 275.0, 280.0)
    warm = replace(string("small", 10.0, 2.0), thermal=Thermal(900.0, 0.1), heater=heater, rules=())
    bank = Bank((warm,), Wiring(), (steady(30.0),), duration_s=600.0, swing_K=3.0)
    result = simulate(Scenario("test", bank))
    compared = compare_scope.held(result)
    assert most_shift_K(result) > 3.0
    assert most_shift_K(compared) == 0.0
    assert compared.scenario.bank.batteries[0].heater is None
    note = remarks(result, compared)[0]
    assert "hold every battery at 25.0 degrees C" in note
    assert "the bank delivers 5.0000 Ah instead of 5.0000 Ah" in note


def test_fixed_temperatures_need_no_second_prediction():
    result = finished()
    assert compare_scope.held(result) is result
    assert remarks(result, result) == []


def test_comparison_stops_before_what_cannot_be_compared(monkeypatch):
    seen = []

    def predicted(scenario, until_s):
        seen.append(until_s)
        return replace(finished(), end_time_s=until_s)

    monkeypatch.setattr(compare, "first_part", predicted)
    monkeypatch.setattr(compare, "_solve", lambda result: ([], 2.0))
    late = finished([happening(STAYS_OUT, 3000.0)])
    comparison = compare.crosscheck(late.scenario, late)
    assert comparison.expressible
    assert seen == [2999.0]
    assert any("Compared up to 0.8331 h only; then a battery" in n for n in comparison.notes)
    early = finished([happening(STAYS_OUT, 5.0)])
    assert not compare.crosscheck(early.scenario, early).expressible


def test_ngspice_that_gives_up_is_a_finding(monkeypatch):
    def gives_up(*_, **__):
        raise SpiceGaveUpError("ngspice failed: timestep too small")

    monkeypatch.setattr(compare, "solve_spice", gives_up)
    result = finished()
    comparison = compare.crosscheck(result.scenario, result)
    assert (comparison.agrees, comparison.expressible) == (False, False)
    assert comparison.notes[0] == "ngspice failed: timestep too small."
    told = story_text(differences("T", comparison))
    assert "CANNOT BE COMPARED: ngspice gave up, see below." in told
    assert "timestep too small" in told


def test_first_part_is_the_same_bank_with_an_earlier_end():
    part = compare_scope.first_part(Scenario("test", bare_pair()), 120.0)
    assert part.end_time_s == 120.0


def test_left_out_sentences():
    plain = bare_pair()
    assert left_out(plain) == []
    first = plain.batteries[0]
    warm = replace(first, thermal=WARM, heater=Heater(40.0, 275.0, 280.0), rules=(HOT,))
    watching = replace(plain.batteries[1], rules=(HOT,))
    words = left_out(replace(plain, batteries=(warm, watching), swing_K=5.0))
    assert words == [
        "changes of temperature: every battery is at the surroundings' mean",
        "the heat balance of small",
        "the heater of small, its power and its warmth",
        "changes of temperature that rules watch, of small and large",
    ]
    deck = build_deck(replace(plain, swing_K=5.0))
    assert "* left out changes of temperature every battery is at the surroundings mean" in deck

"""How far a prediction can be compared, and the sentence for everything that is left out."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from crosscheck_banks import bare_pair, string

from bankSim.crosscheck import compare, compare_scope
from bankSim.crosscheck.compare_scope import comparable_part, most_shift_K, remarks
from bankSim.crosscheck.deck import build_deck
from bankSim.crosscheck.deck_limits import left_out
from bankSim.model.bank import Bank, Wiring
from bankSim.model.rule import Rule, Watch
from bankSim.model.upkeep import Heater, Thermal
from bankSim.scenario.record import Scenario
from bankSim.sim.result import (
    COLLAPSE,
    HEATER_ON,
    LOAD_STAYS_OFF,
    REFUSED,
    STAYS_OUT,
    TRIP,
    BankOutcome,
    Event,
    Numerics,
    Result,
)

WARM = Thermal(9000.0, 2.0)
HOT = Rule(Watch.TEMPERATURE, False, 330.0)


class WarmResult(Result):
    """A result whose battery gets as warm as the trace says. [K above the mean]"""

    def timeline(self, *, jumps=False):
        mean_degC = self.scenario.bank.temperature_K - 273.15
        return pd.DataFrame({"small.temperature_C": mean_degC + self.trace})


def finished(events=(), rise_K=(), battery=None):
    bank = bare_pair() if battery is None else Bank((battery,), Wiring(), ())
    outcome = BankOutcome(1.0, 1.0, 0.0, 0.0, 0.0, 1e4)
    numerics = Numerics(1e-9, 1e-10, 0, 0, 0)
    scenario = Scenario("test", bank)
    parts = (outcome, (), tuple(events), (), numerics)
    return WarmResult(scenario, 1e4, "end of duration", *parts, np.array(rise_K))


def happening(what, time_s, watches=None):
    return Event(time_s, what, "small", watches, None, 1, 1, "", "charge", 12.0, 12.0, (), (), ())


@pytest.mark.parametrize(
    ("what", "words"),
    [
        (COLLAPSE, "the loads cannot be fed"),
        (REFUSED, "charge is refused"),
        (STAYS_OUT, "stays out after many fruitless reconnections"),
        (LOAD_STAYS_OFF, "a load stays off"),
        (HEATER_ON, "a heater is on"),
    ],
)
def test_what_the_netlist_cannot_do_ends_the_comparison(what, words):
    until_s, reason = comparable_part(finished([happening(what, 3000.0)]))
    assert until_s == 3000.0
    assert words in reason


def test_what_ends_the_run_leaves_it_comparable_to_its_end():
    assert comparable_part(finished([happening(COLLAPSE, 1e4)]))[0] == 1e4


def test_ordinary_trips_are_no_hindrance():
    assert comparable_part(finished([happening(TRIP, 10.0, "charge current")])) == (1e4, None)


def test_rules_on_temperatures_that_move_end_the_comparison():
    trip = happening(TRIP, 700.0, "temperature")
    warm = replace(string("small", 10.0, 0.5), thermal=WARM)
    assert comparable_part(finished([trip], [0.0, 0.2], warm))[0] == 700.0
    assert comparable_part(finished([trip])) == (1e4, None)


@pytest.mark.parametrize(("rise_K", "told"), [(0.4, False), (3.0, True)])
def test_temperatures_that_move_are_told(rise_K, told):
    result = finished((), [0.0, rise_K], replace(string("small", 10.0, 0.5), thermal=WARM))
    assert most_shift_K(result) == pytest.approx(rise_K)
    assert any("3.0 K away" in note for note in remarks(result)) is told


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
    assert seen == [3000.0]
    assert any("Compared up to 0.8333 h only; then a battery" in n for n in comparison.notes)
    early = finished([happening(HEATER_ON, 5.0)])
    assert not compare.crosscheck(early.scenario, early).expressible


def test_first_part_is_the_same_bank_with_an_earlier_end():
    part = compare_scope.first_part(Scenario("test", bare_pair()), 120.0)
    assert part.end_time_s == 120.0


def test_left_out_sentences():
    plain = bare_pair()
    assert left_out(plain) == []
    first = plain.batteries[0]
    warm = replace(first, thermal=WARM, heater=Heater(40.0, 275.0, 280.0), rules=(HOT,))
    words = left_out(replace(plain, batteries=(warm, plain.batteries[1]), swing_K=5.0))
    assert [word.split(":")[0] for word in words] == [
        "the surroundings' daily swing",
        "the heat balance of 'small'",
        "the heater of 'small', its power and its warmth",
        "changes of temperature that the rules of 'small' watch",
    ]
    deck = build_deck(replace(plain, swing_K=5.0))
    assert "* left out the surroundings daily swing the netlist takes every battery" in deck

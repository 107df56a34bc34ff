"""A value held against a claim, and what a log proves of it: by hand, at both sides of a limit."""

import math
from dataclasses import replace

import pytest
from pytest import approx

from bankSim.measured.count import Counted
from bankSim.measured.discharge import Discharge, Ending, Pause
from bankSim.measured.trial import Trial
from bankSim.measured.uncertainty import Budget, Contribution
from bankSim.measured.verdict import Word, judge, withheld, within_proof

EXACT = Budget(100.0, "Ah", ())
# one-sided 95 % of the normal distribution: k = 1.6449 (any table); guard 1.645 Ah
GUARDED = Budget(100.0, "Ah", (Contribution("meter", 1.0, "Ah"),))


@pytest.mark.parametrize(
    ("claim", "word"),
    [
        (98.35, Word.MET), (98.36, Word.UNDECIDED), (101.64, Word.UNDECIDED),
        (101.65, Word.NOT_MET), (None, None),
    ],
)  # fmt: skip
def test_a_claim_is_decided_outside_the_guard(claim, word):
    found = judge("it", GUARDED, claim, 0.95)
    assert found.word is word
    assert (found.factor, found.guard) == (approx(1.6449, abs=1e-4), approx(1.6449, abs=1e-4))
    assert (found.low, found.high) == (approx(98.3551, abs=1e-4), approx(101.6449, abs=1e-4))
    assert not found.at_least


def test_a_lower_bound_proves_and_never_disproves():
    assert judge("it", GUARDED, 98.0, 0.95, at_least=True).word is Word.MET
    assert judge("it", GUARDED, 110.0, 0.95, at_least=True).word is Word.UNDECIDED


def test_a_value_without_error_meets_its_own_claim():
    # met: value - g >= claim (docs/theory.md, eq. 27.1)
    assert judge("it", EXACT, 100.0, 0.95).word is Word.MET


@pytest.mark.parametrize(
    ("claim", "least", "most", "word"),
    [
        (95.0, 95.0, 100.0, Word.MET),
        (95.0, 94.9, 100.0, Word.UNDECIDED),
        (105.0, 100.0, 104.9, Word.NOT_MET),
        (105.0, 100.0, 105.0, Word.UNDECIDED),  # the most it may be would meet the claim
        (95.0, 95.0, 200.0, Word.MET),  # what speaks for a verdict does not shake it
        (105.0, 10.0, 104.0, Word.NOT_MET),
    ],
)
def test_a_verdict_goes_no_further_than_the_log(claim, least, most, word):
    found = within_proof(judge("it", EXACT, claim, 0.95), least, most, claim)
    assert found.word is word
    assert found.sure_Ah == ((least, most) if word is Word.UNDECIDED else None)


def test_a_wrong_log_decides_nothing():
    met, silent = judge("it", EXACT, 95.0, 0.95), judge("it", EXACT, None, 0.95)
    assert (withheld(met).word, withheld(met).spoilt) == (Word.UNDECIDED, True)
    assert (withheld(silent).word, withheld(silent).spoilt) == (None, True)


def trial(given_Ah=100.0, bridged_Ah=0.0, most_Ah=100.0, regained_Ah=(), **more):
    pauses = tuple(Pause(0.0, 600.0, 0.0, one) for one in regained_Ah)
    counted = Counted(
        Budget(given_Ah, "Ah", ()), Budget(12.0 * given_Ah, "Wh", ()), 5.0, 20.0, 12.0, 13.0, 11.0,
        0.0, bridged_Ah, most_Ah,
    )  # fmt: skip
    cut = Discharge(0, 9, 1.0, Ending.CUT_OUT, math.nan, pauses)
    return Trial("x", "a", cut, 0.0, counted, None, None, None, None, None, (), (), "", (), **more)


@pytest.mark.parametrize(
    ("words", "proven"),
    [
        ({}, (1.0, 1.0)),
        ({"bridged_Ah": 4.0, "most_Ah": 104.0}, (0.96, 1.04)),
        ({"regained_Ah": (3.0, 5.0)}, (0.90, 1.0)),  # own choice: a quarter more than is seen
        ({"bridged_Ah": 4.0, "regained_Ah": (8.0,)}, (0.86, 1.0)),
        ({"bridged_Ah": -3.0, "most_Ah": 97.0}, (1.0, 1.0)),  # a charge was bridged
        ({"given_Ah": 0.5, "bridged_Ah": 0.1, "most_Ah": 0.6}, (0.8, 1.2)),
        ({"given_Ah": 0.0}, (1.0, 1.0)),
    ],
)
def test_least_and_most_part_that_a_log_proves(words, proven):
    assert trial(**words).proven == approx(proven)
    assert trial(**words).regained_Ah == sum(words.get("regained_Ah", ()))


def test_a_whole_test_is_complete_from_full_and_ended_by_the_battery():
    one = trial()
    assert (one.whole, one.ending) == (True, Ending.CUT_OUT)
    by_hand = replace(one.discharge, ending=Ending.BY_HAND)
    others = ({"not_full": "it was not"}, {"open_end": True}, {"discharge": by_hand})
    assert [replace(one, **words).whole for words in others] == [False, False, False]

"""Which exponent corrects which tests, by Peukert's law (docs/theory.md, eq. 20.4)."""

import math

import pytest
from pytest import approx

from bankSim.measured.claims import Repeats
from bankSim.measured.correct import Wanted
from bankSim.measured.count import Counted
from bankSim.measured.discharge import Discharge, Ending
from bankSim.measured.own_exponent import own_exponent
from bankSim.measured.trial import Trial
from bankSim.measured.trial_corrections import corrected_trials, exponent_of_trials
from bankSim.measured.uncertainty import Budget
from bankSim.model.peukert import time_from_rating_h


def trial(amperes, exponent=1.2, *, part=1.0, temperature_C=None, unit="a", **more):
    """A test of a battery of 100 Ah at 20 h that follows the law, at a temperature."""
    hours = part * time_from_rating_h(amperes, 100.0, 20.0, exponent)
    charge = amperes * hours
    counted = Counted(
        Budget(charge, "Ah", ()), Budget(12.0 * charge, "Wh", ()), hours, amperes, 12.0, 13.0, 11.0,
        0.0, 0.0, charge,
    )  # fmt: skip
    seen = None if temperature_C is None else (temperature_C, -40.0, 50.0)
    one = Discharge(0, 9, 1.0, Ending.CUT_OUT, math.nan, ())
    return "x.csv", Trial("x", unit, one, 0.0, counted, None, None, seen, None, None, (), (), "",
                          (), **more)  # fmt: skip


BOTH = [trial(5.0), trial(25.0)]
RATE = Wanted(("rate",), "AGM")


def charges(trials):
    return [None if one.corrected is None else one.corrected.value for one in trials]


def test_the_exponent_of_the_tests_corrects_them_all_to_one():
    own = exponent_of_trials(BOTH, RATE, Repeats())
    assert own.value == approx(1.2)
    found = corrected_trials(BOTH, RATE, own)
    assert charges(found) == approx([100.0, 100.0])
    assert [one.name for one in found[0].corrections] == ["rate"]


def test_an_exponent_that_was_given_goes_first():
    own = exponent_of_trials(BOTH, RATE, Repeats())
    (_, fast) = corrected_trials(BOTH, Wanted(("rate",), "AGM", exponent=1.1), own)
    hours = time_from_rating_h(25.0, 100.0, 20.0, 1.2)
    assert fast.corrected.value == approx(25.0 * hours * (20.0 / hours) ** (1.0 - 1.0 / 1.1))


def test_an_exponent_that_no_battery_has_is_not_used():
    # more Ah at the faster rate: an exponent below 1; the usual one takes its place
    odd = [trial(5.0, part=0.5), trial(25.0)]
    own = exponent_of_trials(odd, RATE, Repeats())
    assert own.value < 1.0
    assert charges(corrected_trials(odd, RATE, own)) == approx(
        charges(corrected_trials(odd, RATE, None))
    )


def test_nothing_is_corrected_unasked():
    own = exponent_of_trials(BOTH, Wanted(), Repeats())
    assert own.value == approx(1.2)  # told all the same
    found = corrected_trials(BOTH, Wanted(), own)
    assert charges(found) == [None, None]
    assert found == tuple(one for _, one in BOTH)


def test_only_whole_tests_tell_the_exponent():
    broken = [*BOTH, trial(25.0, part=0.4, not_full="it was not")]
    assert exponent_of_trials(broken, RATE, Repeats()).value == approx(1.2)
    assert exponent_of_trials([BOTH[0], broken[-1]], RATE, Repeats()) is None


@pytest.mark.parametrize(("names", "exponent"), [(("temperature", "rate"), 1.2), (("rate",), None)])
def test_a_cold_test_counts_warmed_up_where_that_was_asked_for(names, exponent):
    # AGM at 10 h and slower, and at 3 h and faster: 0.006 and 0.01 a kelvin below 25 degC (the
    # pair published for the correction). The fast one ran at 5 degC: 80 % of its Ah
    cold = [trial(2.5, temperature_C=25.0), trial(25.0, part=1.0, temperature_C=5.0)]
    file, fast = cold[1]
    hours = fast.counted.hours_on
    assert hours < 3.0
    shown = 0.8 * fast.counted.Ah.value
    less = Counted(
        Budget(shown, "Ah", ()), fast.counted.Wh, hours, 25.0, 12.0, 13.0, 11.0, 0.0, 0.0, shown
    )
    cold[1] = file, Trial("x", "a", fast.discharge, 0.0, less, None, None, fast.temperature_C,
                          None, None, (), (), "", ())  # fmt: skip
    found = exponent_of_trials(cold, Wanted(names, "AGM"), Repeats()).value
    if exponent is not None:
        assert found == approx(exponent)
        return
    # as it is: n = 1 + ln(Ah1 / Ah2) / ln(I2 / I1)
    slow_Ah = cold[0][1].counted.Ah.value
    assert found == approx(1.0 + math.log(slow_Ah / shown) / math.log(10.0))


def test_it_is_the_exponent_of_each_battery_alone():
    others = [trial(5.0, unit="a"), trial(25.0, unit="b")]
    assert exponent_of_trials(others, RATE, Repeats()) is None
    assert own_exponent([], Repeats(), "AGM") is None

import math

import pytest
from capacity_logs import make_log
from pytest import approx

from bankSim.measured.capacity_test import Question, evaluate_tests
from bankSim.measured.claims import Repeats
from bankSim.measured.correct import Wanted, usual_exponent
from bankSim.measured.own_exponent import Rated, own_exponent
from bankSim.model.chemistry import AGM, FLOODED, GEL
from bankSim.model.peukert import exponent_of, exponent_of_wells, time_from_rating_h

NONE = Repeats()


def rated(unit, amperes, exponent, capacity_Ah=100.0):
    """A test of a battery that follows Peukert's law exactly."""
    hours = time_from_rating_h(amperes, capacity_Ah, 20.0, exponent)
    return Rated(unit, amperes * hours, amperes)


@pytest.mark.parametrize("exponent", [1.0, 1.05, 1.21, 1.4])
def test_two_tests_give_back_the_exponent_of_the_law(exponent):
    # I^n t the same in both and Ah = I t: n = 1 + ln(Ah1 / Ah2) / ln(I2 / I1)
    slow, fast = rated("a", 5.0, exponent), rated("a", 25.0, exponent)
    found = own_exponent([fast, slow], NONE, "AGM")
    assert found.value == approx(exponent)
    assert found.value == approx(1.0 + math.log(slow.Ah / fast.Ah) / math.log(25.0 / 5.0))
    assert found.value == approx(exponent_of(5.0, slow.Ah / 5.0, 25.0, fast.Ah / 25.0))
    assert (found.tests, found.slow_A, found.fast_A) == (2, 5.0, 25.0)
    # 2 % from test to test in each: sqrt(2) 0.02 / ln 5
    assert found.deviation == approx(math.sqrt(2.0) * 0.02 / math.log(5.0))


def test_several_batteries_of_different_size_share_one_exponent():
    tests = [
        rated(unit, amperes, 1.2, capacity_Ah)
        for unit, capacity_Ah in (("a", 100.0), ("b", 80.0))
        for amperes in (5.0, 10.0, 20.0)
    ]
    found = own_exponent([*tests, Rated("c", 70.0, 5.0)], NONE, "AGM")
    assert found.value == approx(1.2)
    assert found.tests == 6


def test_nothing_is_said_of_one_rate_or_of_different_batteries():
    assert own_exponent([Rated("a", 90.0, 5.0), Rated("a", 89.0, 6.0)], NONE, "AGM") is None
    assert own_exponent([Rated("a", 90.0, 5.0), Rated("b", 70.0, 25.0)], NONE, "AGM") is None
    assert own_exponent([], NONE, None) is None


def test_what_no_battery_has_is_told_and_not_used():
    found = own_exponent([Rated("a", 80.0, 5.0), Rated("a", 90.0, 25.0)], NONE, "AGM")
    assert found.value < 1.0
    assert not found.possible


@pytest.mark.parametrize(
    ("chemistry", "told"), [(AGM, 1.206), (GEL, 1.20), (FLOODED, 1.25)], ids=lambda x: str(x)[:9]
)
def test_the_usual_exponent_is_that_of_the_chemistry_pages(chemistry, told):
    # the closed form of two wells (Manwell and McGowan), put into Peukert's law between 1 and 20 h
    wells = chemistry.available_fraction, chemistry.well_rate_per_h
    assert exponent_of_wells(*wells, 1.0, 20.0) == approx(told, abs=1e-3)
    assert usual_exponent(chemistry.word).value == approx(told, abs=1e-3)
    assert exponent_of_wells(1.0, 1.0, 1.0, 20.0) == approx(1.0)  # one well: plain counting


def test_limits_take_in_what_is_published():
    # an encyclopaedic page: 1.05 to 1.15 for AGM; half of the span from 1.05 to 1.206
    agm, lithium = usual_exponent("AGM"), usual_exponent("LFP")
    assert agm.width == approx((1.2056 - 1.05) / 2.0, abs=1e-4)
    assert (lithium.value, lithium.width) == (approx(1.03), approx(0.02))
    assert usual_exponent("NMC") is None


def ask(*logs, **words):
    return evaluate_tests(logs, ["a"] * len(logs), Question(**words))[0]


def two_rates():
    """100 Ah over 20 h by n = 1.2: 5 A for 20 h; 25 A for 20 (5 / 25)^1.2 = 2.899 h."""
    return make_log(20.0, 5.0, step_s=60.0), make_log(20.0 * 0.2**1.2, 25.0)


def test_tests_at_two_rates_are_corrected_by_their_own_exponent():
    answer = ask(*two_rates(), wanted=Wanted(("rate",), "AGM"))
    assert answer.exponent.value == approx(1.2, abs=2e-3)
    assert [one.corrected.value for one in answer.trials] == approx([100.0, 100.0], rel=2e-3)
    assert "from the 2 tests themselves" in answer.trials[1].corrections[0].source
    given = ask(*two_rates(), wanted=Wanted(("rate",), "AGM", exponent=1.1))
    assert given.trials[1].corrections[0].source == "given"
    assert given.exponent.value == approx(1.2, abs=2e-3)


def test_temperature_is_taken_out_first():
    # the same battery, the fast test at 0 degrees C, 0.01 a kelvin at 3 h and faster: 75 % of it
    slow = make_log(20.0, 5.0, step_s=60.0)
    fast = make_log(20.0 * 0.2**1.2 * 0.75, 25.0)
    warm = [
        type(log)(log.file, log.time_s, log.voltage_V, log.current_A,
                  temperature_C=0.0 * log.time_s + at_C)
        for log, at_C in ((slow, 25.0), (fast, 0.0))
    ]  # fmt: skip
    answer = ask(*warm, wanted=Wanted(("temperature", "rate"), "AGM"))
    assert answer.exponent.value == approx(1.2, abs=2e-3)


def test_a_part_of_a_discharge_says_nothing_of_the_rate():
    slow, _ = two_rates()
    assert ask(slow, make_log(1.0, 25.0, after="stop")).exponent is None

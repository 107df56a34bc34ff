"""Charge taken below freezing: from how much on, how cold, and from whom."""

from dataclasses import replace

import pytest
from made_results import Course, made
from pytest import approx
from simple_banks import affine, bank_of

from bankSim.sim.cautions.charged_cold import coldest_charged_C, of_charged_cold

ZERO_K = 273.15


def affine_of(word, Ah):
    return replace(affine(Ah=Ah), chemistry=word)


def of_one(word, cold_Ah, Ah=100.0):
    bank = bank_of(affine_of(word, Ah))
    outcome = {"charged_below_freezing_Ah": cold_Ah}
    course = Course(A=-5.0, K=ZERO_K - 4.5)
    return list(of_charged_cold(made(bank, [0.0, 10.0], course, outcomes=[outcome]), 0))


# 1e-3 of the label (COLD_SHARE): 0.2 Ah of 200 Ah
@pytest.mark.parametrize(("cold_Ah", "told"), [(0.19, False), (0.21, True)])
def test_how_much_charge_in_the_cold_is_worth_a_word(cold_Ah, told):
    assert len(of_one("LFP", cold_Ah, 200.0)) == told


@pytest.mark.parametrize(
    ("word", "severity"), [("LFP", "danger"), ("NMC", "danger"), (None, "warning"), ("AGM", None)]
)
def test_lithium_must_not_and_what_may_be_lithium_is_told_so(word, severity):
    cautions = of_one(word, 1.234)
    assert [one.severity for one in cautions] == ([severity] if severity else [])
    for one in cautions:
        assert (one.value, one.limit, one.unit) == (approx(-4.5), 0.0, "degC")
        assert one.text.startswith(
            '"a" takes 1.23 Ah below 0 degrees C, down to -4.50 degrees C: '
            + ("if it is lithium, metal can" if word is None else "lithium can")
        )
        assert one.advice.endswith("block charge below 0 degrees C.")


# 0.1 A into 100 Ah is charge in earnest (TAKES_PER_H), any charge counts where there is none
@pytest.mark.parametrize(
    ("into_A", "at_C", "coldest_C"),
    [
        ((0.09, 0.15, 5.0, -10.0, 0.0), (-9.0, -4.0, 3.0, -12.0, -15.0), -4.0),
        ((0.09, 0.05, 5.0, -10.0, 0.0), (-9.0, -4.0, 0.5, -12.0, -15.0), -9.0),
        ((0.0, 0.0, 5.0, -10.0, 0.0), (-9.0, -4.0, 0.5, -12.0, -15.0), -20.0),  # of the totals
    ],
)
def test_the_coldest_moment_at_which_it_is_charged(into_A, at_C, coldest_C):
    course = Course(A=[-one for one in into_A], K=[ZERO_K + one for one in at_C])
    times_s = [0.0, 1.0, 2.0, 3.0, 4.0]
    result = made(bank_of(affine()), times_s, course, outcomes=[{"coldest_C": -20.0}])
    assert coldest_charged_C(result, 0) == approx(coldest_C)


ALONE, AS_WELL, OTHERS = "", "; the charger is not alone, other", "; here it is the other batteries"


# 10 A for 100 s in the cold are 1000 C; two others give 5 A times a part on the mean, falling in a
# straight line; below 10 % and above 90 % (FROM_OTHERS) it is all of one
@pytest.mark.parametrize(
    ("part", "ending"), [(0.09, ALONE), (0.11, AS_WELL), (0.89, AS_WELL), (0.91, OTHERS)]
)
def test_who_charges_it_in_the_cold(part, ending):
    times_s = [0.0, 50.0, 100.0, 100.0, 200.0, 200.0, 300.0]
    # the last two parts do not count: it is warm, then it is cold and gives
    low = Course(
        A=[-10.0, -10.0, -10.0, -10.0, -10.0, 10.0, 10.0],
        K=[ZERO_K - 5.0] * 3 + [ZERO_K + 5.0] * 2 + [ZERO_K - 5.0] * 2,
    )
    gives = Course(A=[5.5 * part, 5.0 * part, 4.5 * part, 10.0, 10.0, 10.0, 10.0])
    takes = Course(A=[-3.0] * 3 + [0.0] * 4)
    bank = bank_of(affine_of("LFP", 100.0), affine("b"), affine("c"), affine("d"))
    cold = {"charged_below_freezing_Ah": 1000.0 / 3600.0}
    outcomes = [cold, {}, {}, {}]
    (one,) = of_charged_cold(made(bank, times_s, low, gives, gives, takes, outcomes=outcomes), 0)
    said = one.advice.split("below 0 degrees C")[-1]
    assert said.startswith(ending) if ending else said == "."


# what others give beyond that goes elsewhere: 5 A of 8 A here while 5 A are taken, then none of 5
def test_others_cannot_give_it_more_than_it_takes():
    low = Course(A=-5.0, K=ZERO_K - 5.0)
    gives = Course(A=[8.0, 8.0, 0.0, 0.0])
    bank = bank_of(affine_of("LFP", 100.0), affine("b"))
    outcomes = [{"charged_below_freezing_Ah": 1.0}, {}]
    times_s = [0.0, 85.0, 85.0, 100.0]
    (one,) = of_charged_cold(made(bank, times_s, low, gives, outcomes=outcomes), 0)
    # 85 % of the time, so 85 % of the charge, though 8 x 85 are more than 5 x 100 x 90 %
    assert AS_WELL in one.advice

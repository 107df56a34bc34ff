"""Voltages that do not match, and what flows as batteries are first connected."""

from dataclasses import replace

import pytest
from made_results import Course, made
from pytest import approx
from simple_banks import affine, bank_of

from bankSim.sim.cautions.joined import is_wrong, of_joining
from bankSim.sim.joining_result import JoinedBattery, JoinedPair, Joining

APART, FIRST = "voltages do not match", "current when first connected"


def resting(name, empty_V, z=0.0, span=0.0, **more):
    return replace(affine(name, 0.01, base=empty_V, span=span, z=z), **more)


def found(*batteries, joining=None, outcomes=()):
    bank = bank_of(*batteries)
    courses = [Course()] * len(batteries)
    result = made(bank, [0.0, 1.0], *courses, joining=joining, outcomes=outcomes)
    return {one.topic: one for one in of_joining(result)}


# more than 10 % apart (MISMATCH_SHARE): 12 V and 13.2 V
@pytest.mark.parametrize(
    ("low", "high", "severity"),
    [
        (resting("a", 12.0), resting("b", 13.19), None),
        (resting("a", 12.0), resting("b", 13.21), "danger"),
        # empty and full, they agree at half charge: 12 V + 4 V z
        (resting("a", 10.0, 0.4, 4.0), resting("b", 10.0, 0.9, 4.0), "warning"),
        # now they agree: that is not seen
        (resting("a", 10.0, 0.5, 4.0), resting("b", 12.0), None),
    ],
)
def test_rest_voltages_far_apart(low, high, severity):
    assert is_wrong(bank_of(low, high)) == (severity == "danger")
    for some in ((low, resting("m", 12.3), high), (high, resting("m", 12.3), low)):
        told = found(*some)
        assert set(told) == ({APART} if severity else set())
        assert not severity or told[APART].severity == severity


def test_how_it_is_told():
    one = found(resting("b", 25.6789), resting("a", 12.0), resting("c", 12.5))[APART]
    assert (one.value, one.limit, one.unit) == (approx(13.6789), approx(1.2), "V")
    assert one.text == (
        'At rest "b" has 25.68 V and "a" 12.00 V. Batteries this far apart do not belong in '
        "parallel."
    )
    assert one.advice.startswith("Do not connect them:")
    one = found(resting("a", 10.0, 0.1, 4.0), resting("b", 10.0, 0.9, 4.0))[APART]
    assert one.text.endswith("do not belong in parallel as they are.")
    assert one.advice.startswith("Charge each battery by itself first; one that stays low")


def half(name, first_A, most_A=None, **given):
    """One battery of a first connection."""
    told = {
        "rest_voltage_V": 13.0, "limit_A": None, "above_label_s": 0.0, "given_Ah": 0.0,
        "taken_Ah": 0.0, "lead_heat_Wh": 0.0, "first_rule": None,
    } | given  # fmt: skip
    return JoinedBattery(
        name, first_A=first_A, most_A=first_A if most_A is None else most_A, **told
    )


def connected(*halves, labels=None, above_s=1e9, other_way_s=1e9, Ah=(100.0,) * 3):
    names = [one.name for one in halves]
    batteries = [
        replace(
            affine(name, 0.01, Ah=holds_Ah),
            continuous_discharge_A=out_A,
            continuous_charge_A=into_A,
        )
        for name, (out_A, into_A), holds_Ah in zip(
            names, labels or [(None, None)] * 3, Ah, strict=False
        )
    ]
    pair = JoinedPair("b", "a", 0.1, 1.0, 1.0, 1.0, "", 1.0, 0.0, "")
    ways = ["above_discharge_label_s", "above_charge_label_s"]
    ways = ways if halves[0].first_A > 0.0 else ways[::-1]
    outcomes = [dict(zip(ways, (above_s, other_way_s), strict=True))] * len(names)
    joining = Joining(7200.0, None, tuple(halves), (pair,))
    return found(*batteries, joining=joining, outcomes=outcomes)


LABELS = [(100.0, 50.0)] * 3


# above a label of 100 A or, charged, 50 A; within it 20 A into 100 Ah are worth a word, 20 % of the
# label in an hour (WORTH_PER_H)
@pytest.mark.parametrize(
    ("a_A", "limit_A"),
    [(-51.0, 50.0), (-49.0, 20.0), (-21.0, 20.0), (-19.0, None), (101.0, 100.0), (99.0, None)],
)
def test_what_is_worth_a_word(a_A, limit_A):
    # the other one shares it with many
    cautions = connected(half("a", a_A), half("b", -a_A / 9.0), labels=LABELS)
    assert set(cautions) == ({FIRST} if limit_A else set())
    assert not limit_A or cautions[FIRST].limit == approx(limit_A)


def test_how_a_first_current_is_told():
    one = connected(
        half("a", -60.0, rest_voltage_V=12.345, above_label_s=90.0, taken_Ah=5.0),
        half("b", 45.0, rest_voltage_V=13.456, given_Ah=4.96, taken_Ah=0.0),
        half("c", 15.0, rest_voltage_V=13.2, given_Ah=0.04),
        labels=LABELS,
    )[FIRST]
    # 60 A on a label of 50 A is little more: a warning
    assert (one.severity, one.value, one.limit, one.unit) == ("warning", 60.0, 50.0, "A")
    assert one.text == (
        'When first connected, about 60.0 A flow from "b" (13.46 V at rest) and "c" (13.20 V at '
        'rest) into "a" (12.35 V at rest), before any load; "a" takes 60.0 A and is above its '
        'limit for 1.50 min (its label allows 50.0 A). Left alone, "a" takes 5.00 Ah and "b" gives '
        "4.96 Ah within 2.00 h."
    )


def test_the_worst_of_several_above_their_limits_comes_first():
    one = connected(
        half("a", -60.0, above_label_s=90.0), half("b", 250.0, above_label_s=0.09),
        half("c", -190.0, above_label_s=11.0), labels=LABELS,
    )[FIRST]  # fmt: skip
    # 1.2, 2.5 and 3.8 times their labels
    assert (one.severity, one.value, one.limit) == ("danger", 190.0, 50.0)
    assert (
        'about 190 A flow from "b" (13.00 V at rest) into "c" (13.00 V at rest), before' in one.text
    )
    assert (
        '; "c" takes 190 A and is above its limit for 11.0 s (its label allows 50.0 A); '
        in one.text
    )
    # a tenth of a second is a moment (BRIEF_S)
    assert '; "b" gives 250 A and is above its limit for moments (its label allows 100 A); "a"' in (
        one.text
    )
    one = connected(half("a", -40.0), half("b", 150.0, above_label_s=0.11), half("c", -40.0),
                    labels=LABELS)[FIRST]  # fmt: skip
    assert 'flow from "b" (13.00 V at rest) into "a" (13.00 V at rest) and "c" (13.0' in one.text
    assert "above its limit for 0.110 s (" in one.text


# at most 60 A where the resistance near empty is not there at once: beyond a label of 50 A
@pytest.mark.parametrize(
    ("most_A", "limit_A"), [(-19.0, None), (-49.0, 20.0), (-51.0, 50.0), (60.0, None)]
)  # fmt: skip
def test_a_first_current_that_may_be_larger(most_A, limit_A):
    cautions = connected(half("a", -10.0, most_A), half("b", 10.0), labels=LABELS)
    assert set(cautions) == ({FIRST} if limit_A else set())
    if limit_A:
        one = cautions[FIRST]
        assert (one.severity, one.value, one.limit) == ("warning", 10.0, approx(limit_A))
    if limit_A == 50.0:
        assert (
            " It may be up to 51 A: how much of the resistance near empty is there in the first "
            'instant is not known; "a" is above its limit then (its label allows 50.0 A).'
        ) in one.text


def test_who_is_above_its_limit_anyway_is_not_told_to_be_above_it_then():
    one = connected(half("a", -60.0, -80.0), half("b", 60.0, 80.0), labels=LABELS)[FIRST]
    assert "It may be up to 80 A" in one.text
    assert "is above its limit then" not in one.text


def test_the_worst_of_those_that_may_be_above():
    one = connected(half("a", -10.0, -60.0), half("b", 10.0, 110.0), half("c", -10.0, -70.0),
                    labels=LABELS)[FIRST]  # fmt: skip
    assert 'into "c"' in one.text.split(", before")[0]


# it is told from 1.2 times the first current on (RISE_MATTERS)
@pytest.mark.parametrize(("most_A", "said"), [(-119.0, False), (-121.0, True)])
def test_a_rise_that_matters(most_A, said):
    one = connected(half("a", -100.0, most_A), half("b", 100.0))[FIRST]
    assert ("It may be up to" in one.text) == said
    assert "is above its limit then" not in one.text


def test_without_labels_the_largest_by_its_capacity_is_told():
    one = connected(half("a", -25.0), half("b", 55.0), half("c", -30.0))[FIRST]
    assert (one.severity, one.value, one.limit) == ("warning", 30.0, approx(20.0))
    # what may come in the first instant counts, too
    one = connected(half("a", -10.0, -40.0), half("b", 40.0, 70.0), half("c", -30.0))[FIRST]
    assert one.value == 10.0
    # 25 A into 50 Ah are more than 30 A into 100 Ah
    one = connected(half("a", -25.0), half("c", -30.0), Ah=(50.0, 100.0))[FIRST]
    assert (one.value, one.limit) == (25.0, approx(10.0))


def moved(*halves):
    return connected(*halves)[FIRST].text.split("before any load. ")[1]


def test_what_passes_over():
    # less than 1 % of the most is left out (WORTH_MOVED); comings and goings cancel
    many = half("a", -50.0, taken_Ah=18.0, given_Ah=8.0), half("b", 50.0, given_Ah=4.94)
    assert moved(*many, half("c", 0.0, given_Ah=0.11)) == (
        'Left alone, "a" takes 10.0 Ah, "b" gives 4.94 Ah and "c" gives 0.110 Ah within 2.00 h.'
    )
    assert '"c"' not in moved(*many, half("c", 0.0, given_Ah=0.09))
    assert moved(half("a", -50.0), half("b", 50.0)) == (
        "Left alone, next to nothing passes over within 2.00 h."
    )


def test_rules_that_act():
    text = moved(half("a", -50.0), half("b", 50.0, first_rule="B stops."))
    assert text.startswith("Without loads, their rules acting, next to nothing passes over")
    assert text.endswith("within 2.00 h. This makes a rule act: B stops.")
    # that of the one told, where it has one
    text = moved(half("b", 50.0, first_rule="B stops."), half("a", -50.0, first_rule="A stops."))
    assert text.endswith("This makes a rule act: A stops.")


# 100 s above its label, left alone; less than half as long in the run (MUCH_SHORTER) is told where
# a rule acted, its own or another's
@pytest.mark.parametrize(
    ("above_s", "rules", "told"),
    [
        (49.0, ("A.", None), True), (49.0, (None, "B."), True), (49.0, (None, None), False),
        (51.0, ("A.", None), False),
    ],
)  # fmt: skip
def test_a_run_in_which_it_is_above_for_less_long(above_s, rules, told):
    for sign in (1.0, -1.0):
        one = connected(
            half("a", sign * 150.0, above_label_s=100.0, first_rule=rules[0]),
            half("b", -sign * 20.0, first_rule=rules[1]), labels=LABELS, above_s=above_s,
        )[FIRST]  # fmt: skip
        said = f" for 1.67 min in all without loads, {above_s} s in this run with its loads ("
        assert (said in one.text) == told


def test_voltages_apart_are_told_once():
    # beside the first current only where they are wrong
    halves = half("a", -50.0), half("b", 50.0)
    joining = Joining(7200.0, None, halves, (JoinedPair("b", "a", 1, 1, 1, 1, "", 1, 0, ""),))
    flat = resting("a", 10.0, 0.1, 4.0), resting("b", 10.0, 0.9, 4.0)
    assert set(found(*flat, joining=joining)) == {FIRST}
    wrong = resting("a", 12.0), resting("b", 25.6)
    told = found(*wrong, joining=joining)
    assert set(told) == {FIRST, APART}
    assert told[FIRST].advice.startswith("Do not connect them:")


# docs/theory.md, eq. 17.2: limit x (R_k + R of the others beside each other); 10 mohm each
def test_how_far_apart_two_may_be():
    one = connected(half("a", -60.0), half("b", 60.0), labels=[(100.0, 50.0), (100.0, 40.0)])[FIRST]
    # 40 A over 20 mohm
    assert 'the limit for "b" and "a" is a difference of 0.80 V (40.0 A through 20.0 mohm,' in (
        one.advice
    )
    assert "the least that both have at any charge), measured at rest" in one.advice


def test_how_far_apart_several_may_be():
    # a's 50 A over 10 + 5 mohm; c's 40 A over the same
    labels = [(100.0, 50.0), (100.0, 50.0), (100.0, 40.0)]
    one = connected(half("a", -60.0), half("b", 40.0), half("c", 20.0), labels=labels)[FIRST]
    assert (
        'the limit for "a" and the others, all joined at once, is a difference of 0.75 V (50.0 A '
        "through 15.0 mohm, its own and theirs beside each other, the least at any charge), "
        "between any two 0.60 V, measured at rest"
    ) in one.advice
    one = connected(half("c", -60.0), half("b", 40.0), half("a", 20.0), labels=labels[::-1])[FIRST]
    assert "is a difference of 0.60 V (40.0 A" in one.advice
    assert "between any two" not in one.advice

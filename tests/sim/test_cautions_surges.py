"""Surges when a battery comes back: which is told, how, and what keeps a battery in."""

from dataclasses import replace

import pytest
from made_results import Course, event, made
from pytest import approx
from simple_banks import affine, bank_of

from bankSim.model.charger import Charger, Stage
from bankSim.model.upkeep import Heater
from bankSim.sim.cautions.surges import cure, of_surges, pushed_above, told_returns
from bankSim.sim.joining_result import Return
from bankSim.sim.result import RELEASE, TRIP

MAINS = Charger("mains", (Stage(14.0),), limit_A=50.0)
TIMES_S = [0.0, 60.0, 60.0, 80.0, 80.0, 4000.0]


def back(after_A, before_A=None, time_s=60.0, name="a", **given):
    names = "abcd"[: len(after_A)]
    told = {
        "direction": "discharge", "looked_at_s": 600.0, "above_label_s": 0.0, "given_Ah": 1.234,
        "gives": tuple(n for n, amps in zip(names, after_A, strict=True) if amps > 0.0),
        "takes": tuple(n for n, amps in zip(names, after_A, strict=True) if amps < 0.0),
    } | given  # fmt: skip
    return Return(
        time_s, name, currents_A=before_A or (0.0,) * len(after_A), currents_after_A=after_A, **told
    )


def labelled(name, out_A=None, into_A=None, Ah=100.0, **more):
    return replace(
        affine(name, Ah=Ah), continuous_discharge_A=out_A, continuous_charge_A=into_A, **more
    )


def result_of(batteries, *backs, courses=None, chargers=(), above_s=1e9, **more):
    """A run with these returns; every battery is above its labels for that long in all."""
    bank = bank_of(*batteries, chargers=tuple(chargers))
    outcomes = [{"above_discharge_label_s": above_s, "above_charge_label_s": above_s}]
    courses = courses or [Course()] * len(batteries)
    return made(
        bank, TIMES_S, *courses, outcomes=outcomes * len(batteries), returns=backs, **more
    )  # fmt: skip


PAIR = affine("a"), affine("b")


def jump(size_A):
    """A current that lasts 20 s from 60 s on."""
    return Course(A=[0.0, 0.0, size_A, size_A, 0.0, 0.0])


# a label of 100 A one way and 50 A the other; 20 % of 100 Ah in an hour, 20 A, is a jump worth a
# word (WORTH_PER_H)
@pytest.mark.parametrize(
    ("before_A", "after_A", "pushed"),
    [
        (0.0, 101.0, True), (0.0, 99.0, False), (82.0, 101.0, False), (80.0, 101.0, True),
        (-82.0, 101.0, False), (-80.0, 101.0, True),
        (0.0, -51.0, True), (0.0, -49.0, False), (32.0, -51.0, False),
    ],
)  # fmt: skip
def test_who_is_pushed_above_a_label(before_A, after_A, pushed):
    one = back((after_A,), (before_A,))
    result = result_of([labelled("a", 100.0, 50.0)], one, courses=[jump(after_A)])
    (*found,) = pushed_above(result, one)
    assert [(p.name, p.current_A) for p in found] == ([("a", after_A)] if pushed else [])
    # 20 s of it, in straight lines between rows
    assert all(p.above_s == approx(20.0) for p in found)


def test_no_longer_above_than_in_all_and_than_looked_at():
    batteries, long = [labelled("a", 100.0, 50.0)], Course(A=150.0)
    one = back((150.0,))
    (pushed,) = pushed_above(result_of(batteries, one, courses=[long]), one)
    assert pushed.above_s == approx(4000.0 - 60.0)  # to the first row at or after 660 s
    for sign in (1.0, -1.0):
        one = back((sign * 150.0,))
        outcome = {"above_discharge_label_s": 7.0, "above_charge_label_s": 8.0}
        result = made(bank_of(*batteries), TIMES_S, Course(A=sign * 150.0), outcomes=[outcome])
        (pushed,) = pushed_above(result, one)
        assert pushed.above_s == (7.0 if sign > 0.0 else 8.0)


def test_the_worst_of_those_pushed_comes_first():
    three = [labelled("a", 100.0), labelled("b", None), labelled("c", 50.0)]
    one = back((150.0, 900.0, 120.0))
    courses = [jump(amps) for amps in one.currents_after_A]
    result = result_of(three, one, courses=courses)
    assert [p.name for p in pushed_above(result, one)] == ["c", "a"]
    # an assumed label within a tenth for less than a second is met
    assumed = replace(three[0], limits_assumed=("continuous_discharge_A",))
    one = back((109.0, 0.0, 0.0))
    assert pushed_above(result_of([assumed, *three[1:]], one, above_s=0.9), one) == []


def test_how_a_push_is_told():
    three = [labelled("a", 100.0), labelled("b", None, 20.0), labelled("c")]
    one = back((150.0, -60.0, -10.0), above_label_s=90.0)
    result = result_of(three, one, courses=[jump(150.0), jump(-60.0), Course()])
    (caution,) = of_surges(result)
    # b at three times its label, a at 1.5: 20 s of each are a danger
    assert (caution.severity, caution.value, caution.limit, caution.unit) == (
        "danger", 60.0, 20.0, "A",
    )  # fmt: skip
    assert caution.text == (
        'When "a" allows discharge again after 1.00 min, "b" jumps to 60.0 A; its label allows '
        '20.0 A. "a" jumps to 150 A; its label allows 100 A. "a" gives, "b" and "c" take charge. '
        'In the next 10.0 min "a" gives 1.23 Ah and is above its label for 1.50 min.'
    )
    # 1.1 times a label is a warning however long
    one = back((110.0, 0.0, 0.0))
    (caution,) = of_surges(result_of(three, one, courses=[jump(110.0), Course(), Course()]))
    assert caution.severity == "warning"
    # the gravest of all counts
    one = back((110.0, -60.0, 0.0))
    result = result_of(three, one, courses=[jump(110.0), jump(-60.0), Course()])
    assert [caution.severity for caution in of_surges(result)] == ["danger"]


# timeline rows are 60 s apart
@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"above_label_s": 59.0}, 'In the next 10.0 min "a" gives 1.23 Ah and is above its label'
         " at first."),
        ({"above_label_s": 61.0}, '"a" gives 1.23 Ah and is above its label for 1.02 min.'),
        ({"given_Ah": -2.5}, '"a" takes 2.50 Ah.'),
        ({"given_Ah": 0.0}, '"a" gives 0 Ah.'),
    ],
)  # fmt: skip
def test_what_it_does_then(given, said):
    one = back((50.0, -50.0), **given)
    (caution,) = of_surges(result_of(PAIR, one))
    assert caution.text.endswith(said)


# beyond what the loads take, or a charger gives; 20 A is worth a word, also of the one that is back
@pytest.mark.parametrize(
    ("after_A", "exchanged_A"),
    [
        ((21.0, -21.0), 21.0), ((19.0, -19.0), None),
        ((100.0, -21.0), 21.0), ((100.0, -19.0), None),  # 79 A into loads
        ((21.0, -100.0), 21.0),  # 79 A from a charger
        ((19.0, -100.0), None),
        ((-30.0, 100.0), 30.0),
        ((19.0, 30.0, -60.0), None), ((21.0, 30.0, -60.0), 51.0),
        ((50.0, 50.0), None), ((-50.0, -50.0), None),
    ],
)  # fmt: skip
def test_what_flows_from_battery_to_battery(after_A, exchanged_A):
    batteries = [affine(name) for name in "abc"[: len(after_A)]]
    found = list(of_surges(result_of(batteries, back(after_A))))
    assert [one.value for one in found] == ([approx(exchanged_A)] if exchanged_A else [])
    for one in found:
        assert (one.severity, one.limit) == ("warning", approx(20.0))
        assert f", {exchanged_A:.1f} A flow from battery to battery. " in one.text


def test_the_smallest_battery_says_what_is_worth_a_word():
    pair = affine("a", Ah=200.0), affine("b", Ah=50.0)
    (one,) = of_surges(result_of(pair, back((11.0, -11.0))))
    assert one.limit == approx(10.0)


def test_who_gives_and_takes():
    def said(after_A, **given):
        batteries = [affine(name) for name in "abcd"[: len(after_A)]]
        return next(of_surges(result_of(batteries, back(after_A, **given)))).text

    assert '"a" and "b" give, "c" and "d" take charge. In' in said((50.0, 5.0, -50.0, -5.0))
    assert '"a" gives, "b" takes charge. In' in said((50.0, -50.0))
    assert "battery to battery. In the" in said((50.0, -50.0), takes=())
    assert 'When "a" allows charge again' in said((-50.0, 50.0), direction="charge")
    assert 'When "a" allows charge and discharge again' in said((-50.0, 50.0), direction="both")


def test_the_worst_surge_of_each_is_told():
    weak, strong = back((30.0, -30.0)), back((40.0, -40.0), time_s=90.0)
    other = back((-35.0, 35.0), time_s=100.0, name="b")
    for backs in ((weak, strong, other), (strong, weak, other)):
        assert told_returns(result_of(PAIR, *backs)) == [strong, other]
    # who is pushed above a label goes before more that is exchanged
    pair = labelled("a", 21.0), affine("b")
    pushes = back((25.0, 5.0), time_s=70.0)
    result = result_of(pair, replace(weak, currents_after_A=(20.5, -90.0)), pushes)
    result = replace(result, returns=(back((20.5, -20.5)), pushes, back((20.9, -20.9))))
    assert told_returns(result) == [pushes]
    # of those that come back together one is told
    both = back((30.0, -30.0)), back((30.0, -30.0), name="b")
    assert len(told_returns(result_of(PAIR, *both))) == 1


def trip(watches, time_s=10.0, name="a", **given):
    return event(time_s, TRIP, name, watches=watches, **({"blocks": "charge"} | given))


COLD = {"value": -1.0, "threshold": 0.0}


def cured(*events, after_A=(30.0, -30.0), direction="discharge", chargers=(), pair=PAIR, K=None):
    kelvin = K or (298.0, 298.0)
    one = back(after_A, direction=direction)
    courses = [Course(K=k) for k in kelvin]
    result = result_of(pair, one, events=events, chargers=chargers, courses=courses)
    return cure(result, one)


OUT, INTO = {"blocks": "discharge"}, {"direction": "charge", "after_A": (-30.0, 30.0)}
LESS = "Use less power at a time, or stop the loads earlier"


def test_what_keeps_a_battery_in_that_left_by_voltage_or_current():
    assert cured().startswith(LESS)
    assert cured(trip("lowest cell voltage", **OUT)).startswith(LESS)
    for chargers, start in (((MAINS,), "Use a smaller charger"), ((), "Charge with less")):
        stop = trip("charge current")
        assert cured(stop, chargers=chargers, **INTO).startswith(f"{start}, or more and evener")
    even = "that every battery accepts, balance the cells so that none blocks early, and"
    high = trip("highest cell voltage")
    assert cured(high, **INTO) == f"Stop the charge at a voltage {even} charge with less."
    assert cured(high, chargers=(MAINS,), **INTO) == (
        f"Set a charge voltage {even} use a smaller charger."
    )
    # it gives at once: it had been left behind
    assert cured(high, direction="charge") == (
        f'Stop the charge at a voltage {even} let "a" allow charge again (its release) before the '
        "others have drained far below it."
    )


def test_the_last_rule_that_blocked_what_comes_back_counts():
    early, late = trip("charge current", 10.0), trip("lowest cell voltage", 50.0, **OUT)
    assert cured(early, late, **INTO).startswith("Charge with less, or more")
    assert cured(early, late).startswith(LESS)
    assert cured(late, early, direction="both").startswith("Charge with less, or more")
    assert cured(early, late, direction="both").startswith(LESS)
    # of itself, before it comes back, and a trip
    assert cured(trip("charge current", name="b"), direction="both").startswith(LESS)
    assert cured(trip("charge current", 60.0), direction="both").startswith(LESS)
    other = replace(early, what=RELEASE)
    assert cured(other, direction="both").startswith(LESS)
    assert cured(trip("charge current", blocks="both")).startswith("Charge with less, or more")


def test_what_keeps_a_battery_in_that_was_too_hot_or_cold():
    hot = trip("temperature", value=60.0, threshold=55.0)
    assert cured(hot, **INTO) == "Keep the batteries cool enough that none drops out alone."
    at_limit = trip("temperature", value=0.0, threshold=0.0)
    for cold in (trip("temperature", **COLD), at_limit, trip("temperature")):
        assert cured(cold, **INTO) == (
            'Keep "a" warm enough to take charge (insulation, a heater), or charge only when it is.'
        )
    # the last one counts
    early = trip("temperature", 5.0, **COLD, blocks="both")
    assert cured(early, hot, **INTO).startswith("Keep the batteries cool")
    assert "warm enough to take charge" in cured(hot, early, trip("temperature", **COLD), **INTO)
    cold = trip("temperature", **COLD, blocks="discharge")
    assert "warm enough to give (insulation, a heater), or draw only" in cured(cold)
    cold = trip("temperature", **COLD, blocks="both")
    assert "warm enough to work (insulation, a heater), or use the bank only" in cured(cold)


# colder by more than 1 K than all others at that time (COLDER_K)
@pytest.mark.parametrize(("below_K", "colder"), [(1.1, True), (0.9, False)])
def test_who_is_colder_than_the_others(below_K, colder):
    # of both rows at 60 s the first counts: after it all are warm
    times_K = ([298.0, 270.0 - below_K] + [298.0] * 4, [298.0, 270.0] + [250.0] * 4)
    advice = cured(trip("temperature", 60.0 - 1e-9, **COLD), K=times_K, **INTO)
    assert advice.startswith('Keep "a" as warm as the others (insulation, a heater), or') == colder
    heated = replace(PAIR[0], heater=Heater(20.0, 275.0, 280.0))
    advice = cured(
        trip("temperature", 60.0 - 1e-9, **COLD), K=times_K, pair=(heated, PAIR[1]), **INTO
    )  # fmt: skip
    assert "(insulation, more power of its heater, or for longer)" in advice


def test_as_cold_as_the_coldest_of_the_others_is_not_colder():
    three, warmth_K = (*PAIR, affine("c")), (270.0, 270.5, 290.0)
    after_A = (-30.0, 15.0, 15.0)
    advice = cured(trip("temperature", **COLD), pair=three, K=warmth_K, direction="charge",
                   after_A=after_A)  # fmt: skip
    assert advice.startswith('Keep "a" warm enough')


def test_one_too_cold_to_be_charged_that_gives_as_it_comes_back():
    cold = trip("temperature", **COLD)
    assert cured(cold, direction="charge") == (
        'Charge "b" by itself first, so that voltages match; "a" was too cold to be charged, not '
        "to give."
    )
    both = trip("temperature", **COLD, blocks="both")
    assert cured(both, direction="charge").startswith('Keep "a" warm enough to work')
    three = (*PAIR, affine("c"))
    advice = cured(
        cold, direction="charge", pair=three, after_A=(60.0, -30.0, -30.0), K=(298.0,) * 3
    )  # fmt: skip
    assert advice.startswith('Charge "b" and "c" by themselves first')
    # it gives to loads alone
    advice = cured(cold, direction="charge", after_A=(30.0, 30.0))
    assert advice.startswith('Keep "a" warm enough to take charge')

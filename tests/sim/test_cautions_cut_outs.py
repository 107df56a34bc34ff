"""Cascades, overloads after a cut-out, and batteries that come and go."""

from dataclasses import replace

import pytest
from made_results import Course, event, made
from simple_banks import affine, bank_of

from bankSim.model.charger import Charger, Stage
from bankSim.model.rule import Blocks, Rule, Watch
from bankSim.sim.cautions.cut_outs import blocked_names, of_cut_outs
from bankSim.sim.result import RELEASE, STAYS_OUT, TRIP

CASCADE, OVERLOAD, HICCUPS = (
    "over-current cascade", "overload after a cut-out", "repeated hiccups"
)  # fmt: skip
OUT, INTO = "discharge current", "charge current"
MAINS = Charger("mains", (Stage(14.0),), limit_A=100.0)


def trip(time_s, name, before_A, after_A, watches="lowest cell voltage", **given):
    told = {"blocks": "discharge", "threshold": 70.0, "text": f"{name.upper()} leaves."} | given
    return event(
        time_s, TRIP, name, watches=watches, currents_A=before_A, currents_after_A=after_A, **told
    )


def cautions(bank, *events, modes=None, times_s=(0.0, 100.0, 100.0, 7200.0), **more):
    """What is told of a run, by topic; `modes` are the blocked directions of each battery."""
    modes = modes or [0] * len(bank.batteries)
    result = made(bank, list(times_s), *(Course(mode=one) for one in modes), events=events, **more)
    return {one.topic: one for one in of_cut_outs(result)}


def three(watch=Watch.DISCHARGE_CURRENT, blocks=Blocks.DISCHARGE, names="abc", **more):
    """Batteries that trip 5 s after more than 70 A."""
    rule = Rule(watch, False, 70.0, 5.0, blocks)
    return bank_of(*(affine(name, rules=[rule]) for name in names), **more)


# 150 A shared by three, two and one
FIRST, SECOND, THIRD = (50.0, 50.0, 50.0), (0.0, 75.0, 75.0), (0.0, 0.0, 150.0)
NONE = (0.0, 0.0, 0.0)


def test_a_cascade_that_leaves_nobody():
    events = [
        trip(120.0, "a", FIRST, SECOND),
        trip(125.0, "b", SECOND, THIRD, OUT),
        trip(130.0, "c", THIRD, NONE, OUT),
    ]
    modes = [[0, 2], [0, 2], [0, 2]]
    found = cautions(three(), *events, modes=modes, times_s=(0.0, 130.0))
    one = found.pop(CASCADE)
    assert found == {}
    assert (one.severity, one.value, one.limit, one.unit) == ("danger", 3.0, 1.0, "batteries")
    assert one.text == (
        'After 2.00 min one cut-out takes others with it. A leaves. "b" then carried 75.0 A '
        'instead of 50.0 A and tripped on over-current 5.00 s later; "c" then carried 150 A '
        "instead of 75.0 A and tripped on over-current 10.0 s later. No battery was left."
    )
    assert one.advice == (
        'Use less power, so that the others stay within their limits without "a", or stop before '
        '"a" cuts out.'
    )


def test_a_cascade_that_leaves_some_and_comes_again():
    # c was out before; each time b follows a at once, by its lowest cell and then by current
    before, after = (50.0, 50.0, 0.0, 50.0), (0.0, 75.0, 0.0, 75.0)
    events = [
        trip(120.0, "a", before, after),
        trip(120.0002, "b", after, (0.0, 0.0, 0.0, 150.0), OUT),
        trip(3600.0, "a", before, after),
        trip(3605.0, "b", after, (0.0, 0.0, 0.0, 150.0), OUT),
        trip(7000.0, "a", before, after),
        trip(7005.0, "b", after, (0.0, 0.0, 0.0, 150.0), OUT),
    ]
    bank, times_s = three(names="abcd"), (0.0, 120.0002, 8000.0)
    modes = [[0, 2, 0], [0, 2, 0], 2, 0]
    one = cautions(bank, *events[:4], modes=modes, times_s=times_s)[CASCADE]
    assert "tripped on over-current at the same instant. 1 of 4 stayed connected." in one.text
    assert one.text.endswith("The same happens once more after 1.00 h.")
    assert 'their limits without "c" and "a", or stop before "a" cuts out.' in one.advice
    # a is out already as the row of that instant tells: it is named once
    modes = [2, [0, 2, 0], 2, 0]
    one = cautions(bank, *events, modes=modes, times_s=times_s)[CASCADE]
    assert one.text.endswith("The same happens 2 more times, the last after 1.94 h.")
    assert 'their limits without "c" and "a", or stop' in one.advice


def test_trips_that_follow_by_voltage_alone_are_no_over_current():
    low = Rule(Watch.LOWEST_CELL, True, 70.0)
    bank = bank_of(*(affine(name, rules=[low]) for name in "abc"))
    follows = trip(120.5, "b", SECOND, THIRD)
    assert CASCADE not in cautions(bank, trip(120.0, "a", FIRST, SECOND), follows)
    # one link on over-current makes it one: the others are told by what they trip on
    by_current = trip(121.0, "c", THIRD, NONE, OUT)
    one = cautions(bank, trip(120.0, "a", FIRST, SECOND), follows, by_current)[CASCADE]
    assert 'and tripped on its lowest cell voltage 0.500 s later; "c" then' in one.text


# 100 A of charge for two, as charge a negative current
@pytest.mark.parametrize(
    ("chargers", "easier"), [((MAINS,), "Use a smaller charger"), ((), "Charge with less")]
)
def test_a_cascade_on_charge(chargers, easier):
    bank = three(Watch.CHARGE_CURRENT, Blocks.CHARGE, "ab", chargers=chargers)
    events = [
        trip(120.0, "a", (-50.0, 10.0), (0.0, -100.0), blocks="charge"),
        trip(125.0, "b", (0.0, -100.0), (0.0, 0.0), INTO, blocks="charge"),
    ]
    found = cautions(bank, *events, modes=[[0, 1], 0], times_s=(0.0, 125.0))
    one = found[CASCADE]
    assert "one battery that blocks its charge takes others with it. A leaves." in one.text
    # it gave 10 A: it was charged with none
    assert '"b" then carried 100 A instead of 0 A and tripped' in one.text
    assert one.text.endswith("1 of 2 stayed connected to be charged.")
    assert one.advice.startswith(f"{easier}, so that")
    assert one.advice.endswith('or stop before "a" blocks its charge.')


def labelled(limit_A=100.0, names="abc", **more):
    return bank_of(
        *(replace(affine(name), continuous_discharge_A=limit_A, **more) for name in names)
    )


# above the label of 100 A, and by more than 5 % (RAISED)
@pytest.mark.parametrize(
    ("before_A", "after_A", "told"),
    [(80.0, 99.0, False), (80.0, 101.0, True), (100.5, 105.0, False), (100.5, 106.0, True),
     (-50.0, 101.0, True)],
)  # fmt: skip
def test_who_is_pushed_above_its_label(before_A, after_A, told):
    found = cautions(labelled(), trip(60.0, "a", (90.0, before_A, 0.0), (0.0, after_A, 0.0)))
    assert set(found) == ({OVERLOAD} if told else set())


def test_how_an_overload_is_told():
    before, after = (90.0, 80.0, 70.0), (0.0, 150.4, 0.0)
    together = [trip(60.0, "a", before, after), trip(60.0, "c", before, after)]
    found = cautions(labelled(), *together)[OVERLOAD]
    assert (found.severity, found.value, found.limit, found.unit) == ("danger", 150.4, 100.0, "A")
    assert found.text == (
        'When "a" and "c" cut out after 1.00 min, "b" jumps from 80.0 A to 150 A; its label '
        "allows 100 A."
    )
    assert found.advice == 'Keep the load small enough for the bank without "a" and "c".'
    alone = trip(60.0, "a", before, after)
    assert cautions(labelled(), alone)[OVERLOAD].text.startswith('When "a" cuts out after')
    # an assumed label, less than three times that (BEYOND_ANY)
    assumed = labelled(limits_assumed=("continuous_discharge_A",))
    assert cautions(assumed, alone)[OVERLOAD].severity == "warning"
    # without a label, and where charge alone is blocked, nothing is told
    assert cautions(labelled(None), alone) == {}
    assert cautions(labelled(), replace(alone, blocks="charge")) == {}


@pytest.mark.parametrize("sizes_A", [(110.0, 130.0), (130.0, 110.0)])
def test_the_worst_overload_of_each_is_told(sizes_A):
    events = [
        trip(60.0 + k, name, (90.0, 50.0, 50.0), (0.0, size_A, 20.0))
        for k, (name, size_A) in enumerate(zip("ac", sizes_A, strict=True))
    ]
    assert cautions(labelled(), *events)[OVERLOAD].value == 130.0


def test_who_is_part_of_a_cascade_is_not_told_again():
    rule = Rule(Watch.DISCHARGE_CURRENT, False, 70.0, 5.0)
    bank = bank_of(
        *(replace(affine(n, rules=[rule]), continuous_discharge_A=60.0) for n in "abc")
    )  # fmt: skip
    events = [trip(120.0, "a", FIRST, SECOND), trip(125.0, "b", SECOND, THIRD, OUT)]
    result = made(bank, [0.0, 1.0], Course(), Course(), Course(), events=events)
    told = [(one.topic, one.text.split('"')[-2]) for one in of_cut_outs(result)][1:]
    # b follows a; c is pushed from 50 to 75 and to 150 A
    assert told == [(OVERLOAD, "c")]
    # a, which began it, is pushed above its label itself, hours later
    events.append(trip(7000.0, "c", (50.0, 0.0, 50.0), (100.0, 0.0, 0.0)))
    told = [one.text.split('"')[-2] for one in of_cut_outs(replace(result, events=tuple(events)))]
    assert sorted(told[1:]) == ["a", "c"]


def test_who_is_blocked_when():
    times_s, charge, out = [0.0, 10.0, 10.0, 20.0], [0, 0, 1, 3], [2, 2, 0, 0]
    result = made(labelled(names="ab"), times_s, Course(mode=charge), Course(mode=out))

    def names(time_s, direction, **more):
        return "".join(blocked_names(result, time_s, direction, **more))

    assert [names(at_s, "charge") for at_s in (0.0, 9.0, 10.0, 20.0)] == ["", "", "a", "a"]
    assert [names(at_s, "discharge") for at_s in (0.0, 9.0, 10.0, 20.0)] == ["b", "b", "", "a"]
    assert names(10.0, "discharge", before=True) == "b"
    assert names(0.0, "discharge", before=True) == "b"
    assert names(15.0, "charge", before=True) == "a"


def hiccups(count, *events):
    bank = bank_of(affine("b"), affine())
    found = cautions(bank, *events, outcomes=[{}, {"hiccups": count}])
    return found.get(HICCUPS)


def test_three_returns_in_vain_are_told():
    assert hiccups(2) is None
    one = hiccups(3)
    assert (one.severity, one.value, one.limit, one.unit) == ("warning", 3.0, 3.0, "times")
    assert one.text == (
        '"a" comes back 3 times only to be blocked again within the hour, before it has passed '
        "1.00 % of its label capacity."
    )
    stays = event(9.0, STAYS_OUT, "a", text="It stays out.")
    assert hiccups(4, stays).text.endswith("capacity. It stays out.")
    assert hiccups(4, event(9.0, RELEASE, "a", text="It is back.")).text.endswith("capacity.")


@pytest.mark.parametrize(
    ("watches", "blocks", "cure"),
    [
        ("highest cell voltage", "charge", "Set its release further from its trip, and charge with "
         "a lower voltage."),
        (INTO, "charge", "Set its release further from its trip, and charge with a smaller"),
        (OUT, "discharge", "Let it wait for the load's removal before it comes back, and"),
        ("lowest cell voltage", "discharge", "Set its release further from its trip, or let it"),
    ],
)  # fmt: skip
def test_what_ends_the_hiccups_is_told_by_what_blocks_most_often(watches, blocks, cure):
    other = OUT if watches != OUT else "lowest cell voltage"
    often = [trip(t, "a", (0.0, 0.0), (0.0, 0.0), watches, blocks=blocks) for t in (10.0, 30.0)]
    seldom = trip(20.0, "a", (0.0, 0.0), (0.0, 0.0), other)
    # of another battery, and releases, tell nothing
    foreign = [trip(t, "b", (0.0, 0.0), (0.0, 0.0), other) for t in (40.0, 50.0)]
    back = [event(t, RELEASE, "a", watches=other) for t in (60.0, 61.0)]
    assert hiccups(3, often[0], seldom, often[1], *foreign, *back).advice.startswith(cure)


def test_hiccups_without_a_trip_that_is_known():
    assert hiccups(3).advice.startswith("Set its release further from its trip, or let it wait")

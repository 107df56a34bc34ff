"""Currents above a label: how much, for how long, by what, and what is told elsewhere already."""

from dataclasses import replace

import pytest
from made_results import Course, made
from pytest import approx
from simple_banks import affine, bank_of
from test_cautions_surges import back

from bankSim.model.charger import Charger, Stage
from bankSim.sim.cautions.labels import of_labels
from bankSim.sim.joining_result import JoinedBattery, Joining

OUT, INTO, LARGE = "discharge above label", "charge above label", "large charge current"
MAINS = Charger("mains", (Stage(14.0),), limit_A=50.0)


def labelled(name="a", out_A=100.0, into_A=50.0, **more):
    return replace(
        affine(name), continuous_discharge_A=out_A, continuous_charge_A=into_A, **more
    )  # fmt: skip


def found(times_s, *amps, above_s=(0.0,), peaks_A=None, batteries=None, chargers=(), **more):
    """What is told of a, beside others without a label, by topic.

    `above_s` are the times above its label, as a discharge and, where given, as a charge.
    """
    others = [labelled(name, None, 1e9) for name in "bc"[: len(amps) - 1]]
    batteries = batteries or [labelled(), *others]
    outcome = {"above_discharge_label_s": above_s[0], "above_charge_label_s": above_s[-1]}
    outcomes = [outcome | (peaks_A or {}), *[{}] * len(others)]
    bank = bank_of(*batteries, chargers=tuple(chargers))
    result = made(bank, times_s, *(Course(A=one) for one in amps), outcomes=outcomes, **more)
    return {one.topic: one for one in of_labels(result)}


HOUR = [0.0, 3600.0]


@pytest.mark.parametrize(
    ("amps", "topic"), [(99.0, None), (101.0, OUT), (-49.0, None), (-51.0, INTO)]
)
def test_what_is_above_a_label(amps, topic):
    assert set(found(HOUR, amps, above_s=(3600.0,))) == ({topic} if topic else set())


def test_how_it_is_told():
    told = found([0.0, 900.0, 900.0, 3600.0], [60.0, 60.0, 150.0, 150.0], above_s=(2700.0,))
    one = told[OUT]
    assert (one.severity, one.value, one.limit, one.unit) == ("danger", 150.0, 100.0, "A")
    assert one.text == (
        '"a" delivers up to 150 A; its label allows 100 A. It is above that for 45.0 min in all.'
    )
    assert one.advice == (
        'Use less power at a time, until "a" stays within its label at every moment.'
    )
    # the totals see more than the rows; beside another battery shares may be evened out
    one = found(HOUR, -60.0, -1.0, above_s=(1.0, 120.0), peaks_A={"peak_charge_A": 70.0},
                chargers=[MAINS])[INTO]  # fmt: skip
    assert one.text.startswith('"a" takes up to 70.0 A; its label allows 50.0 A. It is above that')
    assert "for 2.00 min in all." in one.text
    assert one.advice.startswith("Use a smaller charger, or even out the shares (equal leads,")


def test_a_peak_that_no_row_shows():
    one = found(HOUR, 60.0, above_s=(0.5,), peaks_A={"peak_discharge_A": 150.0})[OUT]
    assert (one.severity, one.value) == ("warning", 150.0)
    assert one.text.endswith("It is above that for 0.500 s in all.")


def by_two(exchange_s, load_A=150.0, exchange_A=120.0, above_s=None):
    """1000 s of loads, then so many seconds of current into the other battery."""
    times_s = [0.0, 1000.0, 1000.0, 1000.0 + exchange_s]
    own = [load_A, load_A, exchange_A, exchange_A]
    other = [0.0, 0.0, -exchange_A, -exchange_A]
    return found(times_s, own, other, above_s=(above_s or 1000.0 + exchange_s,))[OUT]


def test_two_things_that_drive_it():
    # 1000 s of 1120 s: of less than a tenth (MUCH_OF_IT) nothing is told, but of the peak
    one = by_two(120.0)
    assert one.text.endswith(
        "It is above that for 18.7 min in all: 16.7 min by loads and 2.00 min from battery to "
        "battery."
    )
    assert one.advice.startswith("Use less power at a time, or even out the shares")
    assert " For the rest: this current flows from battery to battery" in one.advice
    assert by_two(108.0).text.endswith("for 18.5 min in all.")
    assert by_two(60.0, exchange_A=160.0).text.endswith("1.00 min from battery to battery.")
    # the longer one comes first
    longer = by_two(3000.0).text
    assert longer.endswith("50.0 min from battery to battery and 16.7 min by loads.")


def test_rows_far_apart_that_do_not_add_up():
    # the totals know of 560 s, half of what the rows tell
    assert by_two(120.0, above_s=560.0).text.endswith(
        "9.33 min in all: 8.33 min by loads and 1.00 min from battery to battery."
    )
    # and of more: the rows are all that is known of parts
    assert "16.7 min by loads and 2.00 min" in by_two(120.0, above_s=1180.0).text


def test_charge_from_a_load_that_feeds_back():
    one = found(HOUR, -60.0, above_s=(3600.0,))[INTO]
    assert one.advice.startswith("Charge with less, until")


# beside the first connection, told by itself: 150 A for 20 s
def joined(at_first_A=150.0, above_s=None, direction=1.0, name="a", later_A=110.0, later_s=100.0):
    first = JoinedBattery(name, 13.0, direction * 150.0, 150.0, 100.0, 20.0, 0.0, 0.0, 0.0, None)
    other = JoinedBattery("b", 13.0, -direction * 150.0, 150.0, 100.0, 20.0, 0.0, 0.0, 0.0, None)
    times_s = [0.0, 20.0, 20.001, 20.001 + later_s]
    own = [at_first_A, at_first_A, later_A, later_A]
    return found(
        times_s, own, [-at_first_A, -at_first_A, 0.0, 0.0],
        above_s=(20.0 + later_s if above_s is None else above_s,),
        joining=Joining(3600.0, None, (other, first), ()),
    )  # fmt: skip


def test_the_first_connection_is_left_out():
    one = joined()[OUT]
    assert one.value == approx(110.0)
    assert one.text.endswith("above that for 1.67 min in all, the first connection left out.")
    # up to 1.25 times as much is that one (MUCH_THE_SAME)
    assert joined(187.0)[OUT].value == approx(110.0)
    for other in (joined(188.0), joined(name="c"), joined(direction=-1.0)):
        assert other[OUT].value >= 150.0
        assert "left out" not in other[OUT].text


def test_a_first_connection_that_charges_is_left_out():
    told = joined(-150.0, direction=-1.0, later_A=-60.0)
    assert set(told) == {INTO}
    assert told[INTO].value == approx(60.0)
    # more than 1.25 times that
    assert joined(-188.0, direction=-1.0, later_A=-60.0)[INTO].value == approx(188.0)


# a second beyond it is nothing (LEAST_LATER_S)
@pytest.mark.parametrize(("above_s", "told"), [(20.9, False), (21.1, True)])
def test_what_is_left_of_it(above_s, told):
    assert (OUT in joined(above_s=above_s)) == told
    # but without a first connection it is told
    assert OUT in found(HOUR, 150.0, above_s=(0.1,))


# a surge to 150 A for 20 s, told by itself
def surged(peak_A=150.0, above_s=20.0, *others, **more):
    times_s = [0.0, 60.0, 60.0, 80.0, 80.0, 4000.0]
    own = [0.0, 0.0, 150.0, 150.0, 0.0, 0.0]
    more = {"peaks_A": {"peak_discharge_A": peak_A}} | more
    return found(
        times_s, own, 0.0, above_s=(above_s,), returns=(back((150.0, 0.0)), *others), **more
    )  # fmt: skip


# the same peak to 2 % (SAME), the same time to 2 % and a second
@pytest.mark.parametrize(
    ("peak_A", "above_s", "told"),
    [
        (150.0, 20.0, False), (152.9, 20.0, False), (153.1, 20.0, True),
        (150.0, 21.3, False), (150.0, 21.5, True),
    ],
)  # fmt: skip
def test_what_a_surge_has_told_already(peak_A, above_s, told):
    assert (OUT in surged(peak_A, above_s)) == told


def test_a_smaller_surge_that_is_not_told_is_part_of_it():
    # the second lasts 20 s, too, and is not told: the one told is as bad
    times_s = [0.0, 60.0, 60.0, 80.0, 80.0, 800.0, 800.0, 820.0, 820.0, 4000.0]
    own = [0.0, 0.0, 150.0, 150.0, 0.0, 0.0, 140.0, 140.0, 0.0, 0.0]
    backs = back((150.0, 0.0)), back((140.0, 0.0), time_s=800.0)
    assert OUT not in found(times_s, own, 0.0, above_s=(40.0,), returns=backs)
    assert OUT in found(times_s, own, 0.0, above_s=(43.0,), returns=backs)
    # charge above a label is no matter of surges of discharge
    own[-1] = own[-2] = -60.0
    told = found(times_s, own, 0.0, above_s=(40.0, 3000.0), returns=backs)
    assert set(told) == {INTO}


def test_a_surge_of_charge_and_that_of_another_battery():
    times_s, zero = [0.0, 60.0, 60.0, 80.0, 80.0, 4000.0], [0.0] * 6
    own = [0.0, 0.0, -150.0, -150.0, 0.0, 0.0]
    told = found(times_s, own, zero, above_s=(20.0,), returns=(back((-150.0, 0.0)),))
    assert told == {}
    # the same of b alone
    batteries = [labelled(), labelled("b")]
    told = found(times_s, own, own, above_s=(20.0,), batteries=batteries,
                 returns=(back((-1.0, -150.0), (-1.0, 0.0), name="b"),))  # fmt: skip
    assert told[INTO].text.startswith('"a" takes up to 150 A')


def test_a_limit_one_way_alone():
    told = found(HOUR, -51.0, above_s=(60.0,), batteries=[labelled("a", None, 50.0)])
    assert set(told) == {INTO}


# half of the label in an hour, 50 A of 100 Ah, where no limit is given (UNLABELLED_PER_H)
@pytest.mark.parametrize(
    ("amps", "into_A", "told"), [(-49.0, None, False), (-51.0, None, True), (-51.0, 60.0, False)]
)
def test_a_large_charge_without_a_limit(amps, into_A, told):
    cautions = found(HOUR, amps, batteries=[labelled("a", None, into_A)])
    assert set(cautions) == ({LARGE} if told else set())
    if told:
        one = cautions[LARGE]
        assert (one.severity, one.value, one.limit, one.unit) == ("warning", 51.0, 50.0, "A")
        assert '"a" is charged with up to 51.0 A, more than half its capacity' in one.text

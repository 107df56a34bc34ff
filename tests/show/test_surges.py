"""Surges at the instant of a come-back, on currents written by hand (discharge positive)."""

import made_up
import pytest

from bankSim.show.episodes import Episode
from bankSim.show.surges import is_loud, jump, surges
from bankSim.sim.result import RELEASE

NAMES = ("a", "b", "c", "d", "e")
BANK = made_up.result([made_up.outcome(name) for name in NAMES])  # of 100 Ah each


def back(place, before, after):
    """The battery at this place comes back; currents of all before and after. [A]"""
    opened = made_up.trip(NAMES[place], 2.0, NAMES, what=RELEASE, currents_A=tuple(before),
                          currents_after_A=tuple(after))  # fmt: skip
    return Episode(place, "discharge", 3600.0, 7200.0, None, opened)


def of_first(before_A, after_A):
    return back(0, (before_A, 0.0), (after_A, -after_A))


@pytest.mark.parametrize(
    ("before_A", "after_A", "told"),
    [
        (0.0, 38.5, "gives 38.5 A at once"),
        (0.0, -38.5, "takes 38.5 A at once"),
        (3.9, 38.5, "gives 38.5 A at once (3.90 A before)"),
        (-3.9, -38.5, "takes 38.5 A at once (3.90 A before)"),
        (-3.9, 0.5, "gives 0.500 A at once"),  # the other way before: no size to compare
        (3.9, -0.5, "takes 0.500 A at once"),
        (0.005, 2.0, "gives 2.00 A at once (0.00500 A before)"),
        (0.004, 2.0, "gives 2.00 A at once"),
    ],
)
def test_how_a_current_jumps(before_A, after_A, told):
    assert jump(of_first(before_A, after_A)) == told


def test_more_than_a_hundredth_of_the_label_an_hour_is_loud():
    assert is_loud(BANK, of_first(0.0, 1.01))  # 100 Ah: 1 A
    assert not is_loud(BANK, of_first(0.0, 1.0))
    assert is_loud(BANK, of_first(0.6, -0.5))  # 1.1 A from one to the other
    assert not is_loud(BANK, of_first(20.0, 20.9))
    assert surges(BANK, [of_first(0.0, 1.0)]) == "the currents hardly change at once"


def test_the_other_side_of_a_surge_is_named():
    zero = (0.0,) * 3
    gives = back(1, zero, (-30.0, 40.0, -10.0))
    assert surges(BANK, [gives]) == 'it gives 40.0 A at once, "a" takes 30.0 A'
    takes = back(1, zero, (10.0, -40.0, 30.0))
    assert surges(BANK, [takes]) == 'it takes 40.0 A at once, "c" gives 30.0 A'


@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_nobody_is_named_who_has_less_than_a_fifth(sign):
    zero = (0.0,) * 3
    half = [back(0, zero, (sign * 40.0, -sign * amps, 0.0)) for amps in (8.0, 7.9)]
    told = [surges(BANK, [one]) for one in half]
    assert ['"b"' in one for one in told] == [True, False]
    # the load takes it all, others give beside it
    alike = back(0, zero, (sign * 40.0, sign * 30.0, sign * 0.5))
    assert '"b"' not in surges(BANK, [alike])
    alone = back(0, (0.0,), (sign * 40.0,))
    assert surges(BANK, [alone]).endswith("40.0 A at once")


def test_several_at_one_instant_the_largest_first():
    after = (5.0, -60.0, 20.0, 0.9, 30.0)
    group = [back(place, (0.0,) * 5, after) for place in range(5)]
    assert surges(BANK, group) == (
        '"b" takes 60.0 A at once, "e" gives 30.0 A at once and "c" gives 20.0 A at once'
    )
    assert surges(BANK, [group[0], group[3]]) == '"a" gives 5.00 A at once'

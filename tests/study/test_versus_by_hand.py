"""When a difference is known well enough, and what counts as one: on draws written by hand."""

from types import SimpleNamespace

import numpy as np
import pytest
from pytest import approx
from scipy import stats

from bankSim.study.answers import BANK, CHARGED
from bankSim.study.happenings import FirstTimes, Happenings
from bankSim.study.spread import Precision
from bankSim.study.versus import CHARGING, UNTIL_OFF, _between, _hours, _is_precise, _larger


def both(one, other):
    """Draws of two scenarios that know what their banks deliver."""
    return [SimpleNamespace(column=lambda _, own=own: np.asarray(own)) for own in (one, other)]


@pytest.mark.parametrize("share", [0.05, 0.5, 0.95])
def test_each_of_three_points_of_the_difference_must_be_sharp(share):
    # 0 or 1 Ah more than 100 Ah in 400 draws: half of an interval from 0 to 1 is 0.5 Ah in the
    # middle; at both ends, where the point lies 0.05 Ah inside (definition 7), 0.95 Ah
    draws = both(np.full(400, 100.0), 100.0 + (np.arange(400) >= share * 400))
    assert not _is_precise(BANK, draws, Precision(0.0049, 1.0))
    assert _is_precise(BANK, draws, Precision(0.0096, 1.0))


def test_the_chance_of_more_must_be_sharp_too():
    # Wilson, of 100 in 400
    draws = both(np.full(400, 100.0), np.where(np.arange(400) < 100, 100.001, 100.0))
    interval = stats.binomtest(100, 400).proportion_ci(method="wilson")
    half = interval.high - 0.25
    assert not _is_precise(BANK, draws, Precision(0.005, half - 1e-6))
    assert _is_precise(BANK, draws, Precision(0.005, half + 1e-6))


def test_a_millionth_of_the_larger_number_counts_as_the_same():
    one = np.array([1e6, 1e6, 1e6, -1e6, 0.0, 0.0, 3.0])
    other = np.array([1e6 + 0.9, 1e6 + 1.1, 1e6 - 2.0, -1e6 + 1.1, 0.0, 1e-30, np.nan])
    assert _larger(one, other).tolist() == [False, True, False, True, False, True, False]


def test_more_and_less_are_counted_apart():
    found = _between(BANK, np.array([5.0, 5.0, 5.0, 5.0]), np.array([6.0, 7.0, 5.0, 1.0]), (5, 9))
    assert (found.larger.value, found.smaller.value) == (0.5, 0.25)
    assert found.mean.value == approx(-0.25)  # (1 + 2 + 0 - 4) / 4
    assert (found.one.central, found.other.central, found.difference.central) == (5, 9, 4)
    assert found.difference.percentiles[2].value == approx(0.5)  # of -4, 0, 1, 2


def told(off=(), charging_h=(1.0, 2.0), until_off_h=(3.0, 4.0)):
    """Two draws run in full; hours at which each of some loads is off for good."""
    loads = tuple(FirstTimes(str(n), np.array(hours)) for n, hours in enumerate(off))
    happened = Happenings(off_for_good=loads, charging_h=np.array(charging_h),
                          until_off_h=np.array(until_off_h))  # fmt: skip
    return SimpleNamespace(happenings=happened)


def test_hours_until_a_load_stays_off_where_it_mostly_does():
    never, once, always = (np.nan, np.nan), (3.0, np.nan), (3.0, 4.0)
    assert _hours((BANK,), (told(), told((never, never)))) == []
    (found,) = _hours((BANK,), (told(), told((never, once), until_off_h=(3.0, 9.0))))
    assert (found.answer, found.mean.value) == (UNTIL_OFF, 2.5)
    assert _hours((BANK,), (told((always,)), told()))[0].answer == UNTIL_OFF


def test_a_load_that_stays_off_in_fewer_than_half_of_the_draws_is_not_asked():
    seldom = (3.0, np.nan, np.nan)
    assert _hours((BANK,), (told((seldom,)), told())) == []


def test_where_nothing_is_drawn_charging_is_compared():
    (found,) = _hours((CHARGED,), (told(), told(charging_h=(1.5, 3.5))))
    assert (found.answer, found.mean.value) == (CHARGING, 1.0)

"""When a difference is known well enough, and what counts as one: on draws written by hand."""

from types import SimpleNamespace

import numpy as np
import pytest
from pytest import approx
from scipy import stats
from simple_banks import affine, bank_of, steady

from bankSim.scenario.record import Scenario
from bankSim.study import versus as question
from bankSim.study.answers import BANK, CHARGED
from bankSim.study.happenings import FirstTimes, Happenings
from bankSim.study.spread import Precision
from bankSim.study.statistics import chance
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


def test_what_scatters_in_both_alike_is_no_difference():
    # 100 or 120 Ah, and 1 Ah more in every draw: the difference is known exactly
    one = np.where(np.arange(400) % 2, 100.0, 120.0)
    assert _is_precise(BANK, both(one, one + 1.0), Precision(1e-6, 1.0))


class AskedError(Exception):
    """Ends a study where its draws would begin."""


@pytest.mark.parametrize(
    ("loads", "answer"), [((1, 1), BANK), ((1, 0), BANK), ((0, 1), BANK), ((0, 0), CHARGED)]
)
def test_charge_is_asked_for_only_where_neither_has_a_load(loads, answer, monkeypatch):
    def march(_plans, _stores, asked, *_):
        raise AskedError(asked)

    monkeypatch.setattr(question, "_march", march)
    one, other = (
        Scenario("made up", bank_of(affine(), load=steady(5.0) if has else None)) for has in loads
    )
    with pytest.raises(AskedError) as told:
        question.study_versus(one, other, None)
    assert told.value.args == (answer,)


@pytest.mark.parametrize(
    ("most", "precise_at", "wanted", "reached"),
    [
        (5000, 900, [400, 600, 900], True),
        (1000, None, [400, 600, 900, 1000], False),
        (600, 600, [400, 600], True),
        (50, None, [50], False),
        (50, 50, [50], True),
    ],
)
def test_half_as_many_pairs_again_until_they_do(most, precise_at, wanted, reached, monkeypatch):
    stores, told = [], []

    def run(_plan, count, _workers, store):
        stores.append(store)
        return SimpleNamespace(count=count, store="kept")

    monkeypatch.setattr(question, "run_draws", run)
    monkeypatch.setattr(question, "_is_precise", lambda _, pair, __: pair[0].count == precise_at)
    pair, found = question._march(
        ("one", "other"),
        ("x", None),
        BANK,
        None,
        most,
        Precision(),
        lambda *words: told.append(words),
    )
    assert told == [("pairs of draws", count, most) for count in wanted]
    assert ([one.count for one in pair], found) == ([wanted[-1]] * 2, reached)
    assert stores == ["x", None] + ["kept"] * (2 * len(wanted) - 2)  # marched on, not again


def side(names, first, more):
    """Four draws of a bank of such batteries; each number tells battery, column and bank."""
    kinds = ("delivered_Ah", "charged_Ah", "peak_discharge_A")
    columns = {f"{name}.{kind}": np.full(4, 10.0 * ord(name) + place + more)
               for name in names for place, kind in enumerate(kinds)}  # fmt: skip
    columns["first_cut_out"] = np.array(first)
    bank = SimpleNamespace(batteries=[SimpleNamespace(name=name) for name in names])
    plan = SimpleNamespace(scenario=SimpleNamespace(bank=bank))
    return SimpleNamespace(plan=plan, count=4, column=columns.get)


def test_batteries_are_held_together_by_their_names():
    # "b" is the second of one bank and the first of the other
    found = question._batteries(side("ab", [2, 2, 2, 1], 0.0), side("bc", [1, 2, 2, 0], 0.5))
    assert [one.name for one in found] == ["a", "b", "c"]
    assert [one.first for one in found] == [
        (chance(1, 4), None), (chance(3, 4), chance(1, 4)), (None, chance(2, 4)),
    ]  # fmt: skip
    b = found[1]
    for bands, value, unit in ((b.delivered, 980.0, "Ah"), (b.charged, 981.0, "Ah"),
                               (b.peak, 982.0, "A")):  # fmt: skip
        told = [(one.percentiles[2].value, one.unit) for one in bands]
        assert told == [(value, unit), (value + 0.5, unit)]
    assert (found[0].delivered[1], found[2].peak[0]) == (None, None)

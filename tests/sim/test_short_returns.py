"""Returns that are worth nothing: the quick count against the plain one, event by event."""

import math
from dataclasses import replace

import numpy as np
import pytest
from pace import within
from simple_banks import affine, bank_of, run, steady

from bankSim.model.rule import Blocks, Release, Rule, Watch
from bankSim.sim.hiccups import SHORT_RETURN, short_returns
from bankSim.sim.returns import LOOKED_AT_S


def plainly(back_s, trips_s, row_s, level):
    """The same, read from the first trip to the last for every return."""
    found = []
    for begin_s in back_s:
        trip_s = next((at for at in trips_s if at > begin_s), math.inf)
        if trip_s - begin_s >= LOOKED_AT_S:
            found.append(False)
            continue
        first, last = (next(n for n, at in enumerate(row_s) if at >= t) for t in (begin_s, trip_s))
        found.append(abs(level[first] - level[last]) < SHORT_RETURN)
    return found


@pytest.mark.parametrize("seed", range(40))
def test_the_quick_count_is_the_plain_one(seed):
    rng = np.random.default_rng(seed)
    count, whole = rng.integers(0, 60, 2), float(rng.choice([100.0, 5_000.0, 200_000.0]))
    trips_s = np.sort(np.round(rng.uniform(0.0, whole, count[0]), int(rng.integers(0, 3))))
    back_s = np.sort(np.round(rng.uniform(0.0, whole, count[1]), int(rng.integers(0, 3))))
    if count[0] and count[1]:
        back_s[0] = trips_s[0]  # a trip of the same instant does not end it
    row_s = np.sort(np.concatenate([trips_s, back_s, back_s, [0.0, whole + 1.0]]))
    level = np.cumsum(rng.normal(0.0, 0.006, row_s.size))
    quick = short_returns(back_s.tolist(), trips_s.tolist(), row_s, level)
    assert quick.tolist() == plainly(back_s, trips_s, row_s, level)


def test_a_hundred_thousand_returns_are_counted_soon():
    back_s = np.arange(100_000) * 20.0
    row_s = np.arange(400_000) * 5.0
    ends_s, level = (back_s + 10.0).tolist(), np.zeros(row_s.size)
    with within(2.0):
        short = short_returns(back_s.tolist(), ends_s, row_s, level)
    assert short.all()


def test_what_a_result_counts_is_what_the_caution_says():
    # by hand: 60 A for 20 s are 0.33 % of 100 Ah: a hiccup, and no return in vain; it is back
    # after 25, 50, ... 275 s and out again 20 s later
    rule = Rule(Watch.DISCHARGE_CURRENT, False, 50.0, 20.0, Blocks.DISCHARGE, Release(5.0, 5.0))
    result = run(bank_of(affine("a", rules=[rule]), load=steady(60.0), duration_s=305.0,
                         stop_when_empty=False))  # fmt: skip
    (told,) = [caution for caution in result.cautions if caution.topic == "repeated hiccups"]
    assert result.batteries[0].hiccups == told.value == 11
    assert "before it has passed 1.00 % of its label capacity" in told.text
    assert result.summary()["batteries"][0]["hiccups"] == 11


def test_the_label_counts_not_what_an_aged_battery_holds():
    # by hand: 60 A for 20 s are 0.33 Ah, 0.33 % of the label, but 1.1 % of the 30 Ah that are left
    rule = Rule(Watch.DISCHARGE_CURRENT, False, 50.0, 20.0, Blocks.DISCHARGE, Release(5.0, 5.0))
    aged = replace(affine("a", Ah=30.0, rules=[rule]), rated_C=100.0 * 3600.0)
    result = run(bank_of(aged, load=steady(60.0), duration_s=305.0, stop_when_empty=False))
    assert result.batteries[0].hiccups == 11

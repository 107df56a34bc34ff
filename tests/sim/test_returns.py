"""What flows when a battery comes back, against the closed form of two straight batteries."""

import math
from dataclasses import replace

import numpy as np
import pytest
from pytest import approx
from simple_banks import affine, bank_of, run, steady, stepped

from bankSim.model.rule import Blocks, Release, Rule, Watch
from bankSim.sim.returns import time_above

# "back" blocks at once (42 A > 40 A), "stay" feeds 60 A for 300 s and 10 A for 300 s, then "back"
# returns: dz = 0.9 - (0.7 - 21000 / 360000), and I = 5 + 15.5 exp(-t / 3000 s) from then on
RULE = Rule(Watch.DISCHARGE_CURRENT, False, 40.0, 0.0, Blocks.DISCHARGE, Release(5.0, 600.0))
TAU_S, FINAL_A, SURGE_A = 3000.0, 5.0, 15.5


@pytest.fixture(scope="module")
def result():
    back = replace(affine("back", rules=[RULE]), continuous_discharge_A=12.0)
    bank = bank_of(back, affine("stay", z=0.7), load=stepped([0, 300], [60, 10]), duration_s=6000)
    return run(bank)


def test_surge_and_who_gives_and_takes(result):
    (back,) = result.returns
    assert (back.time_s, back.battery, back.direction) == (approx(600.0), "back", "discharge")
    assert back.currents_A == approx((0.0, 10.0), abs=1e-9)
    assert back.currents_after_A == approx((20.5, -10.5), rel=1e-4)
    assert (back.gives, back.takes) == (("back",), ("stay",))


def test_the_hour_after(result):
    (back,) = result.returns
    assert back.looked_at_s == approx(3600.0)
    decayed_Ah = SURGE_A * TAU_S * (1.0 - math.exp(-3600.0 / TAU_S)) / 3600.0
    assert back.given_Ah == approx(FINAL_A + decayed_Ah, rel=1e-3)
    assert back.above_label_s == approx(TAU_S * math.log(SURGE_A / 7.0), rel=1e-3)


def test_the_end_of_the_run_ends_the_look():
    load = stepped([0, 300], [60, 10])
    bank = bank_of(affine("back", rules=[RULE]), affine("stay", z=0.7), load=load, duration_s=900)
    assert run(bank).returns[0].looked_at_s == approx(300.0)


def test_a_battery_that_blocks_again_at_that_instant_has_not_come_back():
    bank = bank_of(
        affine("back", rules=[RULE]), affine("stay", z=0.7), load=steady(60.0), duration_s=900
    )
    result = run(bank)
    assert [event.what for event in result.events] == ["trip", "release", "trip"]
    assert result.returns == ()


def test_a_release_that_opens_nothing_is_no_return():
    other = Rule(Watch.DISCHARGE_CURRENT, False, 35.0, 0.0, Blocks.DISCHARGE)  # never lets go
    bank = bank_of(
        affine("back", rules=[RULE, other]), affine("stay", z=0.7), load=steady(60.0),
        duration_s=1800,
    )  # fmt: skip
    result = run(bank)
    assert "release" in {event.what for event in result.events}
    assert result.returns == ()


def test_summary_lists_the_returns(result):
    (row,) = result.summary()["returns"]
    assert row["time_h"] == approx(600.0 / 3600.0)
    assert row["currents_after_A"][0] == approx(20.5, rel=1e-4)
    assert "time_s" not in row


def test_time_above_a_limit_with_straight_lines_and_jumps():
    time_s = np.array([0.0, 10.0, 10.0, 20.0, 30.0])
    value = np.array([0.0, 4.0, -1.0, -1.0, 3.0])
    # above 1: 7.5 s of the rise, none on the way back, 5 s of the last
    assert time_above(time_s, value, 1.0) == approx(12.5)
    assert time_above(time_s, value, 10.0) == 0.0


def test_a_return_at_the_very_end_of_a_run():
    rule = Rule(Watch.DISCHARGE_CURRENT, False, 50.0, 0.0, Blocks.DISCHARGE, Release(5.0, 60.0))
    pair = [affine("a", rules=[rule]), affine("b")]
    result = run(bank_of(*pair, load=stepped([0, 10], [120, 1]), duration_s=60))
    assert [(e.time_s, e.what) for e in result.events] == [(0.0, "trip"), (60.0, "release")]
    (back,) = result.returns
    assert (back.time_s, back.looked_at_s, back.given_Ah) == (60.0, 0.0, 0.0)

"""Chargers that follow the sun and feed loads where no battery may: how much, and until when."""

import math

import pytest
from pytest import approx
from simple_banks import affine, bank_of, run, steady

from bankSim.crosscheck.twin import solve_twin
from bankSim.model.charger import Charger, Stage, Sun
from bankSim.model.rule import Blocks, Rule, Watch
from bankSim.sim.result import COLLAPSE, EMPTY

H = 3600.0
OUT = Rule(Watch.BATTERY_VOLTAGE, True, 14.0, 0.0)  # discharge is blocked from the start
SET_S, PEAK_W = 12.0 * H, 200.0  # sun from 0 h to 12 h
# the sun alone feeds 100 W until sin = 1/2, 100 W at 13.8 V as a resistance or 7.3 A down to a
# fifth of the 13.8 V held: a 25th of 100 W, a fifth of 7.3 A x 13.8 V
LAST_W = {0.0: 100.0, 2.0: 100.0 / 25.0, 1.0: 7.3 * 13.8 / 5.0}
AMOUNT = {0.0: 100.0, 2.0: 100.0 / 13.8**2, 1.0: 7.3}


def unfed(result):
    return [event.time_s for event in result.events if event.what == COLLAPSE]


def dusk(exponent, battery, stop=False, tolerance=2e-5):
    sun = Charger("roof", (Stage(13.8),), sun=Sun(PEAK_W, 0.0, SET_S))
    bank = bank_of(
        battery, load=steady(AMOUNT[exponent], exponent), chargers=(sun,), starts_at_s=8 * H,
        duration_s=5 * H, stop_when_empty=stop, output_every_s=H,
    )  # fmt: skip
    return run(bank, relative_tolerance=tolerance)


@pytest.mark.parametrize("tolerance", [2e-5, 1e-2])
@pytest.mark.parametrize("exponent", LAST_W)
def test_the_instant_is_found_at_which_the_sun_feeds_the_loads_no_longer(exponent, tolerance):
    # by hand: P(t) = 200 W sin(pi t / 12 h) from 8 h on; 13.34 V + 0.7 V: the battery is idle
    end_s = SET_S * (1.0 - math.asin(LAST_W[exponent] / PEAK_W) / math.pi) - 8 * H
    result = dusk(exponent, affine("a", z=0.9, rules=[OUT]), tolerance=tolerance)
    assert unfed(result) == [approx(end_s, abs=1e-4)]
    assert result.bank.runtime_s == approx(end_s, abs=1e-4)
    stopped = dusk(exponent, affine("a", z=0.9, rules=[OUT]), stop=True, tolerance=tolerance)
    assert stopped.end_reason == EMPTY
    assert stopped.end_time_s == result.bank.runtime_s


def test_a_battery_that_takes_the_rest_does_not_blur_that_instant():
    # 12.92 V + 0.7 V: it takes what is left of the sun until 100 W are all there is, at 10 h
    result = dusk(0.0, affine("a", 0.02, z=0.2, rules=[OUT]))
    assert result.bank.runtime_s == approx(2 * H, abs=1e-4)


@pytest.mark.parametrize(("tolerance", "allowed"), [(2e-5, 4e-5), (1e-2, 2e-2)])
def test_the_sun_gives_its_half_sine_where_no_battery_takes_part(tolerance, allowed):
    # a heater of 1.5 ohm far below the 20 V held takes all of it, from 2 h to 10 h: the energy is
    # 200 W x 12 h / pi (cos 30 deg - cos 150 deg)
    both = Rule(Watch.BATTERY_VOLTAGE, False, 12.0, 0.0, Blocks.BOTH)
    sun = Charger("roof", (Stage(20.0),), sun=Sun(PEAK_W, 0.0, SET_S))
    bank = bank_of(
        affine("a", rules=[both]), load=steady(1.0 / 1.5, 2.0), chargers=(sun,), starts_at_s=2 * H,
        duration_s=8 * H, stop_when_empty=False, output_every_s=H,
    )  # fmt: skip
    want_Wh = PEAK_W * 12.0 / math.pi * 2.0 * math.cos(math.pi / 6.0)
    result = run(bank, relative_tolerance=tolerance)
    assert result.chargers[0].delivered_Wh == approx(want_Wh, rel=allowed)
    assert unfed(result) == []


@pytest.mark.parametrize("exponent", LAST_W)
def test_dusk_beside_a_battery_that_is_charged_as_the_plain_twin_has_it(exponent):
    # 12.92 V + 0.7 V: through its diode it takes what the loads leave, and after them all of it
    sun = Charger("roof", (Stage(14.4),), sun=Sun(PEAK_W, 0.0, SET_S))
    bank = bank_of(
        affine("a", 0.02, z=0.2, rules=[OUT]), load=steady(AMOUNT[exponent], exponent),
        chargers=(sun,), starts_at_s=8 * H, duration_s=5 * H, stop_when_empty=False,
        output_every_s=H,
    )  # fmt: skip
    result, twin = run(bank), solve_twin(bank, rtol=1e-7, atol=1e-8)
    for ours, theirs in zip(result.events, twin.events, strict=True):
        assert (ours.what, ours.time_s) == (theirs.what, approx(theirs.time_s, abs=1e-2))
        assert ours.currents_after_A == approx(theirs.after_A, rel=1e-4)
    assert unfed(result) != []
    assert result.batteries[0].charged_Ah == approx(twin.charged_Ah[0], rel=1e-4)

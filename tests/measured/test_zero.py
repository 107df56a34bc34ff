"""What a shunt reads at rest: Ah counted by hand, ampere x hours."""

from dataclasses import replace

import numpy as np
import pytest
from capacity_logs import make_log
from pytest import approx

from bankSim.measured.capacity_test import Question, evaluate_tests
from bankSim.measured.count import Instrument, count
from bankSim.measured.discharge import find_discharges
from bankSim.measured.uncertainty import Shape
from bankSim.measured.verdict import Word
from bankSim.measured.warnings import _zeros
from bankSim.measured.zero import find_zero
from bankSim.show.bench_story import tell_tests
from bankSim.show.log_story import tell_log

HOURS = 5.0 + 10.0 / 3600.0  # 20 A for 5 h, half a sample at each edge


def off_by(amperes, **more):
    log = make_log(hours=5.0, after="rebound", **more)
    return replace(log, current_A=log.current_A + amperes)


def offset_line(log, instrument):
    (one,) = find_discharges(log)
    zero = find_zero(log, one.on_A, instrument.offset_limit_A)
    budget = count(log, one, instrument, None, zero).Ah
    return next(line for line in budget.contributions if line.name == "shunt offset")


@pytest.mark.parametrize("amperes", [0.3, -0.3])
def test_a_steady_reading_at_rest_is_found(amperes):
    zero = find_zero(off_by(amperes))
    assert zero.mean_A == approx(amperes)
    assert zero.spread_A == approx(0.0, abs=1e-9)
    assert zero.rests == 2


@pytest.mark.parametrize("amperes", [0.0, 0.04, -0.04])
def test_an_honest_offset_is_no_news(amperes):
    log = off_by(amperes)
    assert find_zero(log) is None
    assert offset_line(log, Instrument()).share == approx(0.05 * HOURS / np.sqrt(3.0))


def test_it_widens_the_offset_by_ampere_times_hours():
    log = off_by(0.3)
    line = offset_line(log, Instrument())
    assert line.share == approx((0.3 + 0.05) * HOURS / np.sqrt(3.0))
    assert not line.assumed
    assert offset_line(log, Instrument(shunt_offset_A=0.3)).share == approx(
        0.3 * HOURS / np.sqrt(3.0)
    )
    given = Instrument(shunt_offset_A=0.1, shape=Shape.NORMAL)
    assert offset_line(log, given).share == approx((0.3 + 0.2) * HOURS / np.sqrt(3.0))


def test_no_verdict_that_hangs_on_the_zero():
    # true 100 Ah, counted 101.5: against 100.2 Ah neither is proven
    told = evaluate_tests([off_by(0.3)], [""], Question(rated_Ah=100.2))[0]
    assert told.measured.together.word is Word.UNDECIDED
    story = tell_tests(told)
    assert story.headline[0].startswith("Check this first: in bench the shunt reads +0.300 A")
    assert "zero error, or a load that stays on" in story.headline[0]
    assert "1.50 Ah too many were counted in this test" in story.headline[0]
    # an honest shunt that counts the same 101.5 Ah proves it
    honest = make_log(hours=5.0, amperes=20.3, after="rebound")
    told = evaluate_tests([honest], [""], Question(rated_Ah=100.2))[0]
    assert told.measured.together.word is Word.MET


def test_a_claim_far_below_is_met_all_the_same():
    told = evaluate_tests([off_by(0.3)], [""], Question(rated_Ah=95.0))[0]
    assert told.measured.together.word is Word.MET


def test_a_rest_that_reads_zero_shows_that_the_other_current_flowed():
    log = make_log(hours=5.0, after="rebound")
    busy = np.where(np.arange(log.count) < 360, 0.3, 0.0)  # a controller before the load only
    assert find_zero(replace(log, current_A=log.current_A + busy)) is None


def test_a_controller_that_switches_is_no_zero():
    log = make_log(hours=5.0, after="rebound")
    switching = np.resize([0.6] * 30 + [0.0] * 30, log.count) * (log.current_A == 0.0)
    assert find_zero(replace(log, current_A=log.current_A + switching)) is None


def test_a_charge_that_tapers_is_no_zero():
    log = make_log(hours=5.0, after="end", rest_before_s=3600.0)
    taper = np.zeros(log.count)
    taper[:360] = -np.geomspace(0.9, 0.1, 360)
    assert find_zero(replace(log, current_A=log.current_A + taper)) is None


def test_a_charge_that_lifts_the_voltage_is_no_zero():
    log = make_log(hours=5.0, after="end")
    rest = log.current_A == 0.0
    voltage = log.voltage_V.copy()
    voltage[rest] = np.linspace(12.6, 13.6, rest.sum())
    assert find_zero(replace(log, current_A=log.current_A - 0.3 * rest, voltage_V=voltage)) is None


def test_noise_does_not_hide_a_zero():
    rng = np.random.default_rng(1)
    log = off_by(0.3)
    noisy = replace(log, current_A=log.current_A + rng.normal(0.0, 0.1, log.count))
    assert find_zero(noisy).mean_A == approx(0.3, abs=0.02)
    assert find_zero(noisy).spread_A == approx(0.1, rel=0.1)


def test_logs_and_calibrations_tell_it_too():
    log = off_by(-0.3)
    hours = float(log.time_s[-1]) / 3600.0
    (warned,) = _zeros([log, make_log()])
    for told in (tell_log(log).headline[0], warned):
        assert "the shunt reads -0.300 A (charge) at rest" in told
        assert f"{0.3 * hours:.2f} Ah too few" in told
    assert not tell_log(make_log()).headline[0].startswith("Check")

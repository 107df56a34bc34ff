import math

import numpy as np
import pytest
from measured_banks import BARE, bare
from pytest import approx
from scipy import integrate, stats

from bankSim.measured.compare_course import (
    Course,
    area,
    delivered_Ah,
    delivered_Wh,
    floor_of,
    in_steps,
    shares_at_start,
    slip_Ah,
    starts_s,
    stops_s,
)
from bankSim.measured.compare_drive import drive_of
from bankSim.measured.compare_runs import Runs
from bankSim.measured.compare_suspects import moved, reach_of, worth_a_run
from bankSim.model.spread import Shape, Spread
from bankSim.study.fields import Field

TIME = np.linspace(0.0, 7200.0, 721)


def course(current, volts=13.0, batteries=()):
    current = np.broadcast_to(np.asarray(current, float), TIME.shape)
    rows = np.array(batteries) if len(batteries) else np.empty((0, TIME.size))
    return Course(TIME, np.broadcast_to(volts, TIME.shape).astype(float), current, rows)


def test_charge_and_energy_are_integrals():
    wave = 5.0 + 3.0 * np.sin(TIME / 300.0)
    # scipy's trapezoids
    assert delivered_Ah(TIME, wave) == approx(integrate.trapezoid(wave, TIME) / 3600.0)
    assert delivered_Wh(course(wave)) == approx(13.0 * integrate.trapezoid(wave, TIME) / 3600.0)
    assert area(TIME, wave, TIME)[-1] == approx(integrate.trapezoid(wave, TIME))


def test_charge_that_is_taken_does_not_count():
    assert delivered_Ah(TIME, np.where(TIME < 3600.0, 2.0, -9.0)) == approx(2.0, rel=3e-3)


def test_start_and_stop_of_a_current():
    current = np.where((TIME >= 600.0) & (TIME <= 3600.0), 10.0, 0.01)
    current[3] = 10.0  # a blip that does not last
    assert floor_of(current) == approx(0.2)
    assert starts_s(course(current), 0.2) == approx(595.0)  # half a step before the first sample
    assert stops_s(TIME, current, 0.2) == 3600.0
    assert starts_s(course(0.0), 0.2) is None


def test_means_of_steps_end_with_the_course():
    ramp = course(TIME / 7200.0)
    means = in_steps(ramp, np.array([0.0, 3600.0, 7200.0, 10800.0]))
    assert means[1] == approx([0.25, 0.75, np.nan], nan_ok=True)
    assert means[0] == approx([13.0, 13.0, np.nan], nan_ok=True)


def test_shares_are_those_of_the_first_minutes():
    one = np.where(TIME < 1800.0, 3.0, 8.0)
    both = course(10.0, batteries=(one, 10.0 - one))
    assert shares_at_start(both) == approx([0.3, 0.7])
    # what batteries exchange before the load does not count
    rest = TIME < 600.0
    one, two = np.where(rest, -2.0, 4.0), np.where(rest, 2.0, 6.0)
    later = course(one + two, batteries=(one, two))
    assert shares_at_start(later, 0.1) == approx([0.4, 0.6])


def test_coarse_samples_cost_charge():
    # a step of 10 A anywhere between samples 60 s apart: uniform, so its variance is width^2 / 12
    rng = np.random.default_rng(5)
    time = np.arange(0.0, 3600.0, 60.0)
    errors = []
    for at in rng.uniform(600.0, 3000.0, 2000):
        seen = np.where(time >= at, 10.0, 0.0)
        errors.append(delivered_Ah(time, seen) - 10.0 * (time[-1] - at) / 3600.0)
    assert slip_Ah(time, seen) == approx(np.std(errors), rel=0.05)


def test_a_drive_keeps_the_charge_and_goes_on():
    rng = np.random.default_rng(3)
    wave = np.where(TIME % 1200.0 < 500.0, 20.0, 4.0) + 0.05 * rng.standard_normal(TIME.size)
    load = drive_of(course(wave))
    ends = np.append(load.profile_s[1:], 7200.0)
    charge = float((load.profile_amount * (ends - load.profile_s)).sum())
    assert charge == approx(integrate.trapezoid(wave, TIME))
    tail = TIME >= 6480.0
    mean = integrate.trapezoid(wave[tail], TIME[tail]) / 720.0
    assert load.profile_amount[-1] == approx(mean)
    assert load.profile_s.size < 60


@pytest.mark.parametrize(
    ("spread", "variance"),
    [
        (Spread(Shape.NORMAL, 1.0, 0.03, 0.8, 1.2), 0.03**2),
        (Spread(Shape.UNIFORM, 2.0, 0.0, 1.0, 3.0), stats.uniform(1, 2).var()),
        (Spread(Shape.TRIANGULAR, 1.0, 0.0, 0.0, 2.0), stats.triang(0.5, 0, 2).var()),
        # about the peak at its end, not about the mean: variance + (mean - peak)^2
        (
            Spread(Shape.TRIANGULAR, 1.0, 0.0, 0.98, 1.0),
            stats.triang(1, 0.98, 0.02).var() + (stats.triang(1, 0.98, 0.02).mean() - 1.0) ** 2,
        ),
    ],
)
def test_standard_deviations_are_those_of_the_spread(spread, variance):
    assert reach_of(spread).sd == approx(math.sqrt(variance))


def test_a_value_is_moved_within_its_limits():
    assert moved(Spread(Shape.LOGNORMAL, 2.0, 0.1), 3.0) == approx(2.0 * math.exp(0.3))
    full = Spread(Shape.TRIANGULAR, 1.0, 0.0, 0.98, 1.0)
    assert moved(full, 5.0) == 1.0
    assert reach_of(full).high == 0.0


def test_what_the_file_gives_as_exact_is_tried_once(tmp_path):
    runs = Runs(bare(tmp_path), None, 1)
    exact = runs.unknowns[len(runs.drawn) :]
    labels = {one.label for one in exact}
    assert 'capacity of "old"' not in labels  # has a spread in the file
    assert {'lead of "old"', "temperature of the surroundings"} <= labels
    plain = bare(tmp_path, BARE.replace("{ value = 14.0, sd = 0.4 }", "14.0"))
    other = Runs(plain, None, 1)
    assert 'capacity of "old"' in {one.label for one in other.unknowns[len(other.drawn) :]}
    places = worth_a_run(runs.unknowns, runs.scenario.bank)
    assert len(places) == len(set(places)) <= len(runs.unknowns)


def test_a_measured_current_replaces_all_loads(tmp_path):
    load = drive_of(course(5.0))
    runs = Runs(bare(tmp_path), load, 1)
    assert runs.scenario.bank.loads == (load,)
    assert not any(one.key.startswith("load[") for one in runs.drawn)
    assert runs.meter is not None
    assert runs.unknowns[runs.meter].effects[0].field is Field.LOAD
    result = runs.result(runs.middle)
    assert result.bank.delivered_Ah > 10.0  # the last current goes on after the 2 h measured

"""The band for a screen against the same draws run in full."""

import threading
from pathlib import Path

import numpy as np
import pytest
from hybrid_draws import hybrid, hybrid_unknowns
from pytest import approx
from scipy.integrate import cumulative_trapezoid
from study_texts import LFP, LOAD, read

from bankSim.scenario.read import read_scenario
from bankSim.study import quick_fan as quick
from bankSim.study.draws import drawn_values
from bankSim.study.ensemble import Ensemble
from bankSim.study.outcomes import FIRST
from bankSim.study.plan import make_plan, ready
from bankSim.study.quick_march import Course, Track, means_in_steps
from bankSim.study.uniforms import uniforms

SHIPPED = sorted((Path(__file__).parents[2] / "scenarios").glob("*.toml"))
# those that leave out none of what the others have
KINDS = ("boat", "half-known", "holds-back", "hut-opposite-ends", "lfp-beside-agm", "winter-hut")
UNLIKE = [path for path in SHIPPED if path.stem in KINDS]
PERCENT = (5.0, 25.0, 50.0, 75.0, 95.0)
PLENTY_S = 600.0
CHARGER = '\n[[charger]]\nname = "mains"\nlimit_A = 20.0\nhold_V = 14.2\n'


def edges_of(fan):
    """Ends of the even steps of a band. [s]"""
    return 7200.0 * fan.time_h[0] * np.arange(fan.time_h.size + 1)


def mean_lines(result, edges):
    """Currents and states of charge of a full run, mean over what runs of each step; (2 n, t)."""
    table = result.timeline(jumps=True)
    time = table["time_s"].to_numpy()
    found = []
    for what in ("current_A", "state_of_charge"):
        for battery in result.batteries:
            line = table[f"{battery.name}.{what}"].to_numpy()
            area = np.concatenate([[0.0], cumulative_trapezoid(line, time)])
            ran = np.diff(np.minimum(edges, time[-1]))
            passed = np.diff(np.interp(edges, time, area))
            found.append(np.where(ran > 0.0, passed / np.where(ran > 0.0, ran, 1.0), np.nan))
    return np.array(found)


@pytest.mark.parametrize("path", UNLIKE, ids=lambda path: path.stem)
def test_band_is_that_of_the_full_runs(path):
    draws, scenario = 6, read_scenario(path)
    fan = quick.quick_fan(scenario, draws=draws, budget_s=PLENTY_S)
    plan = make_plan(scenario)
    stories = [ready(plan).story_of(plan.values(0, draws)[[n]], n) for n in range(draws)]
    columns = np.array([mean_lines(story, edges_of(fan)) for story in stories])
    running = np.isfinite(columns[:, 0]).mean(axis=0)
    assert fan.running == approx(running, abs=1e-12)
    assert fan.draws == draws
    shown = running > 0.5
    expected = np.nanpercentile(columns[:, :, shown], PERCENT, axis=0).transpose(1, 0, 2)
    count = len(scenario.bank.batteries)
    for found, own, scale in (
        (fan.current_A, expected[:count], np.abs(expected[:count]).max()),
        (fan.state_of_charge, expected[count:], 1.0),
    ):
        assert np.isnan(found[:, :, ~shown]).all()
        gap = np.abs(found[:, :, shown] - own) / scale
        assert np.percentile(gap, 99.0) < 0.025
        assert gap.max() < 0.08  # a coarse timeline in the step of a surge


@pytest.mark.parametrize("seed", range(6))
def test_random_hybrids_march_as_in_full(seed):
    scenario = hybrid(seed)
    unknowns = hybrid_unknowns(scenario.bank)
    ensemble = Ensemble(scenario, unknowns)
    values = drawn_values(unknowns, uniforms([one.label for one in unknowns], 3, 0, 4))
    track = Track(ensemble, values, 240)
    for draw in (2, 0, 3):
        course, story = track.march(draw), ensemble.story_of(values[[draw]], draw)
        assert course.trace[-1, [0, 2]].tolist() == story.trace[-1, [0, 2]].tolist()
        found, own = means_in_steps(course, track.edges_s), mean_lines(story, track.edges_s)
        assert (np.isnan(found[1:]) == np.isnan(own)).all()
        gap = np.abs(found[1:] - own)
        assert np.nanpercentile(gap, 98.0) < 0.03 * np.nanmax(np.abs(own))


def test_a_surge_that_fades_between_two_rows_is_counted_once():
    # 40 A that fade with 30 s: 1200 C in all, which a straight line over 1000 s takes for 20000 C
    rows = np.zeros((2, 10))
    rows[:, 0], rows[:, 2], rows[:, 5] = (0.0, 1000.0), 13.0, (40.0, 0.0)
    rows[:, 7] = (1.0, 1.0 - 1200.0 / 360_000.0)
    course = Course(rows, np.array([360_000.0]), np.array([1.0]))
    assert means_in_steps(course, np.array([0.0, 1000.0]))[1] == approx([1.2])


def test_a_budget_makes_fewer_draws_and_changes_none():
    scenario = read_scenario(SHIPPED[-2])
    few = quick.quick_fan(scenario, draws=40, budget_s=0.0)
    asked = quick.quick_fan(scenario, draws=few.draws, budget_s=PLENTY_S)
    assert few.draws == 8
    for name in ("voltage_V", "current_A", "state_of_charge", "time_h", "running"):
        assert getattr(few, name).tobytes() == getattr(asked, name).tobytes(), name


def test_it_can_be_stopped():
    stop = threading.Event()
    stop.set()
    spread = quick.quick_spread(read_scenario(SHIPPED[-2]), budget_s=PLENTY_S, stop=stop)
    assert spread.fan.draws == 8
    assert 8 <= spread.draws < quick.TABLE_DRAWS


def test_whoever_waits_may_leave_before_the_first_draws_are_done():
    looks = []

    def leave():
        looks.append(1)
        if len(looks) == 3:
            raise InterruptedError

    with pytest.raises(InterruptedError):
        quick.quick_spread(read_scenario(SHIPPED[-2]), budget_s=PLENTY_S, before_each=leave)
    assert len(looks) == 3


def test_chances_are_those_of_the_study():
    scenario = read_scenario(SHIPPED[-2])
    spread = quick.quick_spread(scenario, table_draws=120, budget_s=PLENTY_S)
    plan = make_plan(scenario)
    table = ready(plan).evaluate(plan.values(0, 120))
    for number, battery in enumerate(scenario.bank.batteries, start=1):
        part = np.mean(table[FIRST] == number)
        assert dict(spread.first).get(battery.name, 0.0) == approx(part)
        hours = table[f"{battery.name}.cut_out_h"]
        three = np.nanpercentile(hours, (5, 50, 95))
        assert spread.cut_out_h[battery.name] == approx(three)
        assert spread.cuts_out[battery.name] == approx(np.mean(np.isfinite(hours)))
    assert spread.bank_Ah == approx(np.percentile(table["bank.delivered_Ah"], (5, 50, 95)))
    assert spread.nobody + spread.together + sum(p for _, p in spread.first) == approx(1.0)
    assert spread.draws == 120


def test_draws_that_need_a_new_bank_each(tmp_path):
    text = "[simulation]\nduration_h = 6\n" + LFP.replace("100.0", "{ value = 100, sd = 5 }")
    text += LOAD + "duty = { on_min = { value = 30, sd = 3 }, off_min = 10 }\n"
    scenario = read(text, tmp_path)
    fan = quick.quick_fan(scenario, draws=5, budget_s=PLENTY_S)
    plan = make_plan(scenario)
    assert any(not unknown.effects for unknown in plan.unknowns)
    stories = [ready(plan).story_of(plan.values(0, 5)[[n]], n) for n in range(5)]
    columns = np.array([mean_lines(story, edges_of(fan)) for story in stories])
    expected = np.nanpercentile(columns[:, 0], PERCENT, axis=0)
    assert fan.current_A[0] == approx(expected, abs=0.02 * np.nanmax(expected), nan_ok=True)


def test_a_bank_that_is_only_charged(tmp_path):
    text = "[simulation]\nduration_h = 8\n" + LFP + "state_of_charge = 0.4\n" + CHARGER
    spread = quick.quick_spread(read(text, tmp_path), table_draws=30, budget_s=PLENTY_S)
    assert 20.0 < spread.bank_Ah[0] <= spread.bank_Ah[1] <= spread.bank_Ah[2] < 80.0
    assert spread.nobody == 1.0
    assert spread.first == ()
    assert spread.cut_out_h == {}
    assert np.nanmin(spread.fan.current_A) < -10.0


def test_a_run_that_ends_at_once(tmp_path):
    text = LFP + "state_of_charge = 0.0\n" + LOAD
    spread = quick.quick_spread(read(text, tmp_path), draws=9, table_draws=9)
    assert spread.fan.time_h.size >= 1
    assert spread.bank_Ah[1] == approx(0.0, abs=2.0)

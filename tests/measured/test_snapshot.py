"""What cells still had: against the program's solver, closed forms, common practice, coverage."""

from dataclasses import replace

import numpy as np
import pytest
from cut_out_banks import LIMIT_V, RATED_AH, discharged, truly_left
from pytest import approx

from bankSim.measured.knee import Drive, state_of_charge_at, stretched
from bankSim.measured.snapshot import (
    CURRENT_SD,
    RESISTANCE_SD,
    TEMPERATURE_K,
    Circumstances,
    limit_of,
    take_snapshot,
)
from bankSim.model.lfp import LFP

KNOWN = Circumstances(
    RATED_AH, current_A=15.0, limit_V=LIMIT_V, temperature_C=25.0, stretch=1.0, stretch_sd=0.0
)
CHARGES = (0.97, 0.975, 0.98, 1.0)


def test_the_solvers_own_cells_are_read_back():
    # each cell discharged alone by the solver: 0, 0.75, 1.5 and 4.5 Ah were left
    _, volts, _ = discharged(CHARGES)
    shot = take_snapshot(volts, KNOWN)
    assert [cell.left_Ah.value for cell in shot.cells] == approx(truly_left(CHARGES), abs=0.01)
    assert shot.decider == 1
    assert shot.won_Ah.value == approx(RATED_AH * (np.mean(CHARGES) - 0.97), abs=0.01)


def test_wide_intervals_hold_the_solvers_truth():
    _, volts, _ = discharged(CHARGES)
    shot = take_snapshot(volts, Circumstances(RATED_AH), step_V=0.01)
    assert shot.won_Ah.low < RATED_AH * (np.mean(CHARGES) - 0.97) < shot.won_Ah.high
    for cell, truth in zip(shot.cells, truly_left(CHARGES), strict=True):
        assert cell.left_Ah.low - 0.01 <= truth <= cell.left_Ah.high


def test_repeats_of_one_battery_deliver_the_same():
    # common practice, no source: repeats cut out between 9.05 and 9.9 V with one cell always just
    # above 2.2 V, and delivered the same Ah within 2 %
    around = Circumstances(RATED_AH, limit_V=2.2)
    deciding, others = [], []
    for total in (9.05, 9.3, 9.6, 9.9):
        rest = (total - 2.21) / 3.0
        shot = take_snapshot((2.21, rest, rest, rest), around)
        assert shot.decider == 1
        assert shot.cells[0].chance_lowest > 0.99
        deciding.append(shot.cells[0].left_Ah.high)
        others.append(shot.cells[1].left_Ah)
    assert max(deciding) < 0.02 * RATED_AH  # what the deciding cell could differ by
    assert max(one.high for one in others) - min(one.low for one in others) < 0.02 * RATED_AH


def test_balance_wins_the_mean_less_the_least():
    shot = take_snapshot((2.31, 2.52, 2.47, 2.38), KNOWN)
    left = [cell.left_Ah.value for cell in shot.cells]
    assert shot.won_Ah.value == approx(np.mean(left) - min(left))
    assert shot.gap_Ah is not None
    assert shot.gap_Ah.value == approx((sum(left) - min(left)) / 3.0 - min(left))
    assert shot.sum_V == approx(9.68)


def test_what_balance_wins_hardly_depends_on_the_limit():
    volts = (2.31, 2.52, 2.47, 2.38)
    low = take_snapshot(volts, Circumstances(150.0, limit_V=2.0)).won_Ah.value
    same = take_snapshot(volts, Circumstances(150.0)).won_Ah.value
    assert low == approx(same, rel=0.02)


def test_equal_cells_win_nothing():
    shot = take_snapshot((2.4,) * 4, Circumstances(100.0))
    assert shot.won_Ah.value == approx(0.0, abs=1e-9)
    assert shot.won_Ah.low <= 0.0 <= shot.won_Ah.high
    assert sum(cell.chance_lowest for cell in shot.cells) == approx(1.0)
    assert all(0.15 < cell.chance_lowest < 0.35 for cell in shot.cells)


def test_chance_of_the_lowest_agrees_with_the_normal_law():
    # two readings 10 mV apart, 10 mV each: P = Phi(10 / (10 sqrt 2)) = 0.7602
    shot = take_snapshot((2.40, 2.41), Circumstances(100.0, meter_V=0.010), draws=20_000)
    assert shot.cells[0].chance_lowest == approx(0.7602, abs=0.012)


def test_same_seed_same_numbers_and_other_seed_others():
    volts = (2.31, 2.52)
    first, again = (take_snapshot(volts, Circumstances(100.0), seed=4) for _ in range(2))
    other = take_snapshot(volts, Circumstances(100.0), seed=5)
    assert first.won_Ah == again.won_Ah
    assert first.won_Ah.high != other.won_Ah.high
    assert first.won_Ah.value == other.won_Ah.value


def test_left_scales_with_capacity_at_the_same_rate():
    one = take_snapshot((2.5, 2.6), Circumstances(100.0, current_A=10.0)).won_Ah
    ten = take_snapshot((2.5, 2.6), Circumstances(1000.0, current_A=100.0)).won_Ah
    assert ten.value == approx(10.0 * one.value)


def test_unknown_current_widens():
    known = (
        take_snapshot((2.9,), Circumstances(100.0, limit_V=2.5, current_A=10.0)).cells[0].left_Ah
    )
    wide = take_snapshot((2.9,), Circumstances(100.0, limit_V=2.5)).cells[0].left_Ah
    assert wide.high - wide.low > known.high - known.low


def test_past_the_limit_is_below_nothing():
    shot = take_snapshot((2.1, 2.4), Circumstances(100.0, limit_V=2.2))
    assert shot.cells[0].left_Ah.value < 0.0 < shot.cells[1].left_Ah.value


@pytest.mark.parametrize(
    ("volts", "more", "limit"),
    [
        ((2.31, 2.5), {}, (2.31, "lowest reading")),
        ((2.31, 2.5), {"limit_V": 2.2}, (2.2, "given")),
        ((3.2, 3.3), {}, (2.5, "usual")),
        ((2.6, 2.7), {"rest_s": 600.0}, (2.5, "usual")),
        ((1.75, 1.8), {"chemistry": "AGM"}, (1.75, "lowest reading")),
    ],
)
def test_limits(volts, more, limit):
    assert limit_of(volts, Circumstances(100.0, **more)) == limit


def test_above_the_knee_is_flat_and_wide():
    shot = take_snapshot((3.2, 3.21), Circumstances(100.0))
    assert shot.flat
    assert all(cell.flat for cell in shot.cells)
    left = shot.cells[0].left_Ah
    assert left.high - left.low > 5.0


@pytest.mark.parametrize("word", ["NMC", "AGM", "gel", "flooded"])
def test_other_chemistries_are_read_too(word):
    around = Circumstances(100.0, chemistry=word)
    low = around.facts.usual_limit_V
    shot = take_snapshot((low, low + 0.05), around)
    assert 0.0 < shot.won_Ah.value < 10.0


def test_intervals_cover_what_they_promise():
    # truth drawn from what is assumed (stretch, resistance, rate, temperature, meter); 90 % of the
    # intervals must hold it; of 120 trials fewer than 80 % would be 3.7 standard deviations off
    random = np.random.default_rng(11)
    held = []
    for _ in range(120):
        around = Circumstances(100.0, limit_V=2.3)
        truth = Drive(
            per_h=np.asarray(0.05 * 4.0 ** random.uniform()),
            resistance=np.exp(random.normal(0.0, RESISTANCE_SD)),
            temperature_C=np.asarray(25.0 + random.normal(0.0, TEMPERATURE_K)),
            offset_V=np.asarray(random.normal(0.0, 0.015)),
        )
        volts = 2.3 + random.uniform(0.0, 0.5, 4)
        stretch = np.asarray(min(0.7 * np.exp(random.normal(0.0, 0.45)), 3.0))
        above = state_of_charge_at(LFP, volts, truth) - state_of_charge_at(
            LFP, np.array(2.3), truth
        )
        left = 100.0 * stretched(above, stretch)
        won = left.mean() - left.min()
        typed = tuple(np.round(volts + random.normal(0.0, 0.010, 4), 2).tolist())
        told = take_snapshot(typed, around, step_V=0.01, draws=200).won_Ah
        held.append(told.low <= won <= told.high)
    assert np.mean(held) >= 0.80
    assert 0.0 < CURRENT_SD < 0.1


def test_a_measured_stretch_narrows():
    around = Circumstances(100.0, current_A=10.0, temperature_C=25.0)
    wide = take_snapshot((2.3, 2.6), around).won_Ah
    known = replace(around, stretch=0.7, stretch_sd=0.05)
    narrow = take_snapshot((2.3, 2.6), known).won_Ah
    assert narrow.high - narrow.low < 0.5 * (wide.high - wide.low)
    assert narrow.value == approx(wide.value)

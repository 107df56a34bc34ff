"""Cut-out snapshots of batteries whose true charge left is known, since ngspice went on past it."""

from dataclasses import replace

import numpy as np
import pytest
from spice_logs import (
    ROUGH,
    MadeBattery,
    MadeCell,
    Meter,
    bench,
    cell_columns,
    cut_time_s,
    discharge,
    log_of,
    needs_ngspice,
    solved,
)

from bankSim.measured import knee_facts as facts
from bankSim.measured import snapshot, snapshot_log
from bankSim.model.chemistry import CHEMISTRIES

pytestmark = needs_ngspice
Circumstances, take_snapshot = snapshot.Circumstances, snapshot.take_snapshot
LFP = CHEMISTRIES["LFP"]
RATED_AH, LIMIT_V = 100.0, 2.5
GRID = np.concatenate([np.linspace(0.0, 0.2, 61), np.linspace(0.22, 1.0, 40)])
KNEE_WIDTH = 0.1


def true_cell(rng, current_A, common):
    """A cell as the snapshot's stated assumptions allow it: knee, resistance and curve drawn.

    Its resistance rises near empty; at one current that is put into its table.
    """
    stretch, ohms, offset_V, fill = common
    stretch *= np.exp(rng.normal(0.0, facts.CELL_KNEE_SD))
    ohms *= np.exp(rng.normal(0.0, facts.CELL_RESISTANCE_SD))
    capacity_Ah = RATED_AH * LFP.capacity_per_rated * rng.normal(1.0, 0.01)
    per_Ah = ohms / (RATED_AH * LFP.capacity_per_rated)
    level = LFP.ohmic_ohm_Ah * per_Ah
    rising = level * (LFP.ohmic_factor()(GRID) - 1.0)
    volts = LFP.ocv_V()(GRID) - LFP.hysteresis_V + offset_V - current_A * rising
    place = GRID * (1.0 + (stretch - 1.0) * np.exp(-((GRID / KNEE_WIDTH) ** 2)))
    pairs = tuple((1000.0 * ohm_Ah * per_Ah, tau) for ohm_Ah, tau in LFP.relaxation_ohm_Ah)
    table = tuple(zip(place.tolist(), volts.tolist(), strict=True))
    return MadeCell(capacity_Ah, rng.normal(fill, 0.01), 1000.0 * level, pairs, table)


def true_battery(seed):
    """Four cells, and the current that empties them."""
    rng = np.random.default_rng([31, seed])
    knee, current_A = facts.facts_of(LFP), rng.uniform(8.0, 20.0)
    common = (
        knee.stretch * np.exp(rng.normal(0.0, knee.stretch_sd)),
        np.exp(rng.normal(0.0, facts.RESISTANCE_SD)),
        rng.normal(0.0, facts.CURVE_V),
        0.97,
    )
    return MadeBattery(tuple(true_cell(rng, current_A, common) for _ in range(4))), current_A


def cut_out(made, current_A):
    """Cell voltages at the cut-out, and what each cell would still have given to the limit."""
    arrays = solved(made, discharge(current_A, 1.25 * RATED_AH / current_A), 20.0, ROUGH)
    cells, time_s = cell_columns(arrays, made), arrays["time"]
    reached = np.array([cut_time_s(time_s, one, LIMIT_V) for one in cells.T])
    first_s = reached.min()
    volts = np.array([np.interp(first_s, time_s, one) for one in cells.T])
    return volts, (reached - first_s) * current_A / 3600.0


@pytest.fixture(scope="module")
def cases():
    """100 batteries: what the meter shows at the cut-out, the current, what is truly left."""
    found = []
    for seed in range(100):
        made, current_A = true_battery(seed)
        volts, left_Ah = cut_out(made, current_A)
        noise = np.random.default_rng([32, seed]).normal(0.0, 0.005, 4)
        shown = tuple(np.round((volts + noise) / 0.01) * 0.01)
        around = Circumstances(RATED_AH, "LFP", current_A, LIMIT_V, 25.0, meter_V=0.005)
        found.append((take_snapshot(shown, around, step_V=0.01, draws=300), left_Ah))
    return found


def inside(value, interval):
    return interval.low <= value <= interval.high


def test_stated_intervals_hold_what_a_balance_would_win(cases):
    # stated 90 %; of 100 cases fewer than 83 would be a chance of 2 %
    covered = [inside(left.mean() - left.min(), shot.won_Ah) for shot, left in cases]
    assert sum(covered) >= 83


def test_stated_intervals_hold_what_is_left_in_a_cell(cases):
    # cells of one battery err together: one of the others of each, in turn. (The deciding cell
    # stands at the limit itself, always in the middle of a step of the meter: no fair case.)
    covered = []
    for seed, (shot, left) in enumerate(cases):
        other = (int(np.argmin(left)) + 1 + seed % 3) % 4
        covered.append(inside(left[other], shot.cells[other].left_Ah))
    assert sum(covered) >= 83


def test_stated_chances_of_the_lowest_cell(cases):
    # 100 cases, each right with its stated chance: the count lies within 3 standard deviations
    right = [shot.decider == int(np.argmin(left)) + 1 for shot, left in cases]
    chances = np.array([shot.cells[shot.decider - 1].chance_lowest for shot, _ in cases])
    slack = 3.0 * np.sqrt((chances * (1.0 - chances)).sum()) + 1.0
    assert abs(sum(right) - chances.sum()) < slack


def test_the_middle_is_not_far_off_one_side(cases):
    above = [shot.won_Ah.value > left.mean() - left.min() for shot, left in cases]
    assert 30 <= sum(above) <= 70


def test_the_weakest_cell_from_a_log():
    right = 0
    for seed in range(40):
        rng = np.random.default_rng([33, seed])
        current_A = rng.uniform(15.0, 50.0)
        cells = (
            MadeCell(100.0 * rng.normal(1.0, 0.02), rng.uniform(0.97, 1.0), rng.uniform(0.7, 1.4))
            for _ in range(4)
        )
        made = MadeBattery(tuple(cells))
        # the log has a sample a minute: no need for more
        run = bench(
            made,
            discharge(current_A, 8.0),
            every_s=60.0,
            rebound_s=600.0,
            max_step_s=60.0,
            reltol=ROUGH,
        )
        log = log_of(run, Meter(seed=seed))
        shot = snapshot_log.shot_from_log(log)
        around = Circumstances(RATED_AH, "LFP", current_A, LIMIT_V)
        found = take_snapshot(shot.voltages_V, around, step_V=0.01, draws=50)
        held = [cell.start * cell.capacity_Ah for cell in made.cells]
        right += found.decider == int(np.argmin(held)) + 1
        assert abs(shot.at_s - run.cut_s) <= 60.0
    assert right >= 38


def test_a_meter_of_its_own_makes_the_interval_no_narrower(cases):
    around = Circumstances(RATED_AH, "LFP", 15.0, LIMIT_V, 25.0, meter_V=0.002)
    volts = (2.5, 2.71, 2.9, 2.95)
    fine, rough = (
        take_snapshot(volts, replace(around, meter_V=meter)).won_Ah for meter in (0.002, 0.05)
    )
    assert rough.high - rough.low > fine.high - fine.low

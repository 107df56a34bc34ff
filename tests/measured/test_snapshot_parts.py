"""Parts of a snapshot held against hand calculations: limits, sums, failing cells, its sources."""

from dataclasses import replace

import numpy as np
import pytest
from pytest import approx

from bankSim.measured.knee import Drive, loaded_voltage, stretched
from bankSim.measured.log import Log, LogError
from bankSim.measured.snapshot import Circumstances, Range, left_draws, take_snapshot
from bankSim.measured.snapshot_answer import Given, answer_logs, answer_typed
from bankSim.measured.snapshot_hints import (
    Kind,
    Stopped,
    behind_others_V,
    check_sum,
    hint_of_full,
    what_stopped,
)
from bankSim.measured.snapshot_log import discharge_ends, own_knee, shot_from_log
from bankSim.measured.typed_voltages import Typed
from bankSim.model.chemistry import CHEMISTRIES
from bankSim.model.lfp import LFP

BARE = Given("LFP", 150.0, None, None, None, None, 0.010)


def shot_of(volts, **more):
    """A snapshot in few draws, and its circumstances."""
    around = Circumstances(150.0, **more)
    return take_snapshot(volts, around, draws=10), around


# Lead: 0.2 V below the mean of the others, which stand above 1.85 V.
@pytest.mark.parametrize(
    ("volts", "more", "behind_V"),
    [
        ((1.2, 2.0, 2.0, 2.0, 2.0, 2.0), {}, 0.8),
        ((2.1, 2.0, 1.65, 1.96, 1.86, 2.0), {}, 9.92 / 5 - 1.65),
        ((1.5, 2.0), {}, 0.5),
        ((1.69, 1.88, 1.88), {}, None),  # 0.19
        ((1.65, 1.86, 1.86), {}, 0.21),
        ((1.2, 1.84, 1.84), {}, None),  # the others are at their end, too
        ((1.2,), {}, None),
        ((1.2, 2.0, 2.0), {"rest_s": 600.0}, None),
        ((1.2, 3.2, 3.2), {"chemistry": "LFP"}, None),
        ((1.2, 3.6, 3.6), {"chemistry": "NMC"}, None),
    ],
)
def test_a_lead_cell_behind_the_others(volts, more, behind_V):
    found = behind_others_V(*shot_of(volts, **{"chemistry": "AGM"} | more))
    assert found == (None if behind_V is None else approx(behind_V, abs=1e-12))


# LFP cell limits 2.0 to 2.5 V, 0.1 V and one sd of the meter more on both sides; four cells end
# at 10.0 to 11.0 V, and 0.05 V more.
@pytest.mark.parametrize(
    ("volts", "more", "stopped"),
    [
        ((1.88, 2.9, 2.9, 2.9), {}, Stopped.TOO_LOW),
        ((1.90, 2.9, 2.9, 3.4), {}, Stopped.CELL_RULE),
        ((1.84, 2.9, 2.9, 3.6), {"meter_V": 0.05}, Stopped.TOO_LOW),
        ((1.86, 2.9, 2.9, 3.6), {"meter_V": 0.05}, Stopped.CELL_RULE),
        ((2.60, 3.1, 3.1, 3.1), {}, Stopped.CELL_RULE),
        ((2.62, 3.1, 3.1, 3.1), {}, Stopped.OTHER),
        ((2.64, 3.1, 3.1, 3.1), {"meter_V": 0.05}, Stopped.CELL_RULE),
        ((2.485, 2.485, 2.485, 2.485), {}, Stopped.CELL_RULE),  # 9.94 V
        ((2.49, 2.49, 2.49, 2.49), {}, Stopped.EITHER),  # 9.96 V
        ((2.76, 2.76, 2.76, 2.76), {}, Stopped.BATTERY_RULE),  # 11.04 V
        ((2.765, 2.765, 2.765, 2.765), {}, Stopped.OTHER),  # 11.06 V
        ((2.6,), {}, Stopped.CELL_RULE),  # one cell is no battery with a limit of its own
        ((2.7,), {}, Stopped.OTHER),
        # a limit given counts also for lead, which has no electronics of its own
        ((1.75, 1.9, 1.9), {"chemistry": "AGM", "limit_V": 1.7}, Stopped.EITHER),
    ],
)
def test_what_stopped_it_at_the_edges(volts, more, stopped):
    assert what_stopped(*shot_of(volts, **more)) is stopped


def test_cells_against_the_battery_by_hand():
    # 15 A through 0.15 ohm Ah / 150 Ah: 15 mV; meters 2 x hypot(sqrt(4) x 10 mV, 25 mV)
    shot, around = shot_of((2.5, 2.6, 2.7, 2.8), current_A=15.0)
    allowed_V = 2.0 * float(np.hypot(0.020, 0.025)) + 0.015
    found = check_sum(shot, around, 10.0)
    assert (found.sum_V, found.battery_V) == (approx(10.6), 10.0)
    assert found.expected_drop_V == approx(0.015)
    assert found.off_V == approx(10.6 - 0.015 - 10.0)
    assert found.allowed_V == approx(allowed_V)
    for way in (1.0, -1.0):
        for part, fits in ((0.999, True), (1.001, False)):
            battery_V = 10.6 - 0.015 - way * part * allowed_V
            assert check_sum(shot, around, battery_V).fits is fits
    rested = check_sum(shot, replace(around, rest_s=60.0), 10.6)
    assert (rested.expected_drop_V, rested.off_V) == (0.0, approx(0.0))


# 15 mV tell, or 1.5 sd of a coarser meter: 30 mV of 20 mV
@pytest.mark.parametrize(
    ("above_mV", "meter_V", "kind"),
    [
        (14.9, 0.005, Kind.UNCLEAR), (15.1, 0.005, Kind.SMALLER), (-15.1, 0.005, Kind.LESS_CHARGE),
        (29.0, 0.020, Kind.UNCLEAR), (31.0, 0.020, Kind.SMALLER), (-31.0, 0.020, Kind.LESS_CHARGE),
    ],
)  # fmt: skip
def test_full_cells(above_mV, meter_V, kind):
    shot, _ = shot_of((2.6, 2.2, 2.6, 2.6))
    # the others: 3.4, 3.5 and 3.6 V
    found = hint_of_full(shot, (3.4, 3.5 + above_mV / 1000.0, 3.5, 3.6), meter_V)
    assert (found.kind, found.above_others_mV) == (kind, approx(above_mV))


def test_a_single_full_cell_says_nothing():
    found = hint_of_full(shot_of((2.2,))[0], (3.6,), 0.01)
    assert (found.kind, found.above_others_mV) == (Kind.UNCLEAR, 0.0)


def test_charge_counted_to_the_floor_is_charge_left_to_it():
    shot, _ = shot_of((2.2, 2.6), current_A=15.0, limit_V=2.0)
    for cell in shot.cells:
        assert cell.left_Ah == cell.to_floor_Ah


def test_charge_of_the_available_well_is_that_of_the_models_cell():
    # of lead-acid, whose label is what 20 h give
    kind = CHEMISTRIES["AGM"]
    cell = kind.typical_cell(100.0, 360e3 * kind.capacity_per_rated)
    well_Ah = cell.charge_C / 3600.0 * cell.available_fraction
    assert Circumstances(100.0, chemistry="AGM").cell_Ah == approx(well_Ah)


def test_left_down_to_another_voltage_is_that_of_a_snapshot_with_that_limit():
    around = Circumstances(150.0, current_A=15.0, limit_V=2.5)
    left = left_draws((2.4, 2.6), around, 2.2, 0.0, 1, draws=20)
    other = take_snapshot((2.4, 2.6), replace(around, limit_V=2.2), draws=20)
    assert left.shape == (21, 2)
    assert left[0].tolist() == [cell.left_Ah.value for cell in other.cells]


@pytest.mark.parametrize(("volts", "flat"), [(3.1, False), (3.11, True)])
def test_flat_begins_above_the_knee(volts, flat):
    # LFP: 3.1 V
    shot, _ = shot_of((2.4, volts))
    assert [cell.flat for cell in shot.cells] == [False, flat]
    assert shot.flat is flat


def test_a_stretch_of_the_knee_ends_at_three():
    shots = [shot_of((2.6,), limit_V=2.4, current_A=15.0, stretch=k, stretch_sd=0.0)[0]
             for k in (1.0, 3.0, 10.0)]  # fmt: skip
    left = [shot.cells[0].left_Ah.value for shot in shots]
    assert left[1] == left[2]
    assert left[1] == approx(3.0 * left[0], rel=0.02)  # far below a tenth of the charge


def test_a_range_times_a_factor():
    assert Range(2.0, 1.0, 4.0).times(0.5) == Range(1.0, 0.5, 2.0)


STEPS = 60


def made(file="a.csv", current_A=15.0, lows=(2.4, 2.6), celsius=25.0):
    """Cells that fall by 10 mV in 10 s down to `lows`, then three samples without current."""
    seconds = 10.0 * np.arange(STEPS + 3)
    falling = np.column_stack([low + 0.01 * np.arange(STEPS)[::-1] for low in lows])
    cells = np.vstack([falling, np.full((3, len(lows)), 3.0)])
    current = np.repeat([current_A, 0.0], [STEPS, 3])
    rows, warm = np.arange(STEPS + 3) + 2, np.full(STEPS + 3, celsius)
    volts = cells.sum(axis=1)
    return Log(file, seconds, volts, current, cells_V=cells, temperature_C=warm, rows=rows)


def test_the_instant_of_a_log_by_hand():
    # 600 s of charge at 6 A before it are not given back; 15 A for 59 x 10 s, half a step of both
    # turns: 5 s of up to 15 A on each side (trapezoids)
    log = made()
    charge = np.full(60, -6.0)
    whole = replace(
        log, time_s=10.0 * np.arange(123.0), voltage_V=np.append(np.full(60, 7.0), log.voltage_V),
        current_A=np.append(charge, log.current_A), rows=np.arange(123) + 2,
        cells_V=np.vstack([np.full((60, 2), 3.5), log.cells_V]),
        temperature_C=np.append(np.full(60, 20.0), np.append(log.temperature_C[:-4], [31.0] * 4)),
    )  # fmt: skip
    shot = shot_from_log(whole)
    assert (shot.row, shot.at_s, shot.ends) == (121, 1190.0, 1)
    assert shot.voltages_V == approx((2.4, 2.6))
    assert (shot.battery_V, shot.current_A, shot.temperature_C) == (approx(5.0), 15.0, 31.0)
    assert shot.given_Ah == approx(15.0 * (590.0 + 5.0) / 3600.0)
    blind = shot_from_log(replace(whole, temperature_C=np.full(123, np.nan)))
    assert blind.temperature_C is None


def test_of_several_ends_the_lowest():
    one, other = made(lows=(2.7, 2.9)), made(lows=(2.5, 2.9))
    both = replace(
        one, time_s=10.0 * np.arange(126.0), voltage_V=np.append(one.voltage_V, other.voltage_V),
        current_A=np.append(one.current_A, other.current_A), rows=np.arange(126) + 2,
        cells_V=np.vstack([one.cells_V, other.cells_V]), temperature_C=None,
    )  # fmt: skip
    shot = shot_from_log(both)
    assert (shot.ends, shot.row, shot.temperature_C) == (2, 124, None)
    assert shot.voltages_V == approx((2.5, 2.9))


@pytest.mark.parametrize(("part", "row"), [(0.78, 60), (0.82, 61), (0.2, 60)])
def test_a_mean_across_the_cut_out_is_no_instant(part, row):
    # the last row under load, 61, read when the load was gone for some of it
    log = made()
    log.current_A[59] *= part
    log.cells_V[59] = 2.8
    shot = shot_from_log(log)
    assert shot.row == row
    if row == 60:
        assert shot.current_A == 15.0
        assert shot.voltages_V == approx((2.41, 2.61))


def test_a_load_that_steps_down_before_it_stops_is_no_mean():
    log = made()
    log.current_A[50:60] = 5.0
    shot = shot_from_log(log)
    assert (shot.row, shot.current_A) == (61, 5.0)
    # nor is the last row of a log that ends under load
    short = made()
    cut = replace(
        short, time_s=short.time_s[:60], voltage_V=short.voltage_V[:60], rows=short.rows[:60],
        current_A=np.append(short.current_A[:59], 5.0), cells_V=short.cells_V[:60],
        temperature_C=None,
    )  # fmt: skip
    assert (shot_from_log(cut).row, shot_from_log(cut).current_A) == (61, 5.0)


KNEE = Circumstances(150.0, current_A=15.0, temperature_C=25.0)
FALLING_V = loaded_voltage(LFP, np.linspace(0.06, 0.01, 400),
                           Drive(*(np.array(x) for x in (0.1, 1.0, 25.0, 0.0))))  # fmt: skip


def stretched_log(stretch=1.0, slower=1.0, other_V=3.2, before=((), ())):
    """A cell that gives `stretch` times the charge of the program's curve from each voltage on.

    `before`: volts of that cell, 10 s apart, and the current meanwhile.
    """
    z = np.linspace(0.06, 0.01, 400)
    left_Ah = slower * 150.0 * stretched(z - z[-1], np.asarray(stretch))
    seconds = np.append((left_Ah[0] - left_Ah) * 3600.0 / 15.0, 0.0)
    seconds[-1] = seconds[-2] + 10.0
    volts, current = np.append(FALLING_V, 3.0), np.append(np.full(400, 15.0), 0.0)
    early = len(before[0])
    seconds = np.append(10.0 * np.arange(early), 10.0 * early + seconds)
    volts, current = np.append(before[0], volts), np.append(before[1], current)
    cells = np.column_stack([volts, np.full(volts.size, other_V)])
    rows = np.arange(volts.size) + 2
    return Log("a.csv", seconds, cells.sum(axis=1), current, cells_V=cells, rows=rows)


def knee_of(log):
    """As the log shows it."""
    return own_knee(log, shot_from_log(log), KNEE)


@pytest.mark.parametrize("stretch", [0.5, 1.0, 2.0])
def test_a_knee_made_by_stretching_is_read_back(stretch):
    knee = knee_of(stretched_log(stretch))
    assert knee.stretch == approx(stretch, rel=0.02)
    assert (knee.from_V, knee.to_V) == (approx(FALLING_V[0]), approx(FALLING_V[-1]))


@pytest.mark.parametrize(("slower", "stretch"), [(0.03, 0.1), (9.0, 3.0)])
def test_no_knee_is_stretched_beyond_a_tenth_and_three(slower, stretch):
    assert knee_of(stretched_log(slower=slower)).stretch == stretch


@pytest.mark.parametrize(
    "before",
    [
        ([3.0, 2.99, 2.98], [30.0, 30.0, 30.0]),  # twice the current
        ([3.0, np.nan, np.nan], [15.0, 15.0, 15.0]),
        ([3.2, 3.15, 3.11], [15.0, 15.0, 15.0]),  # above the knee of LFP, 3.1 V
    ],
)
def test_a_knee_is_read_from_where_it_runs_steadily(before):
    plain, found = knee_of(stretched_log()), knee_of(stretched_log(before=before))
    assert (found.from_V, found.stretch) == (plain.from_V, approx(plain.stretch, rel=1e-9))
    assert found.counted_Ah == approx(plain.counted_Ah, rel=1e-9)


def test_a_current_that_varies_by_less_than_a_fifth_is_steady():
    log = stretched_log(before=([3.05, 3.04, 3.03], [17.9, 12.1, 17.9]))
    assert knee_of(log).from_V == approx(3.05)


def test_a_knee_is_read_where_the_other_cells_stand():
    # 2.8 V: from there down it is needed
    assert knee_of(stretched_log(other_V=2.8)).from_V == approx(2.8, abs=0.01)
    # where they stand too near to the end, from the top
    near = knee_of(stretched_log(other_V=float(FALLING_V[-1]) + 0.05))
    assert near.from_V == approx(FALLING_V[0])


@pytest.mark.parametrize(
    ("volts", "told"),
    [
        ([2.51, 2.48, 2.45, 2.40], True),
        ([2.51, 2.45, 2.40], False),  # three samples
        ([2.49, 2.46, 2.43, 2.40], False),  # 0.09 V
    ],
)
def test_what_shows_a_knee(volts, told):
    cells = np.column_stack([[*volts, 3.0], np.full(len(volts) + 1, 3.2)])
    current = np.append(np.full(len(volts), 15.0), 0.0)
    seconds = 60.0 * np.arange(len(volts) + 1)
    log = Log("a.csv", seconds, cells.sum(axis=1), current, cells_V=cells)
    assert (knee_of(log) is not None) is told


@pytest.mark.parametrize(
    ("current", "ends"),
    [
        ([10.0, 1.1, 0.0], [1]),  # a tenth of the largest still flows
        ([10.0, 0.9, 0.0], [0]),
        ([0.0, 10.0, 10.0], [2]),
        ([10.0, -10.0, 10.0, 0.0], [0, 2]),
        ([-10.0, -5.0], []),
        ([], []),
    ],
)
def test_ends_of_discharges(current, ends):
    assert discharge_ends(np.array(current)) == ends


def test_label_and_what_was_given_where_only_logs_tell():
    # 590 s of 7.5 and of 75 A, to the last sample under load
    found = answer_logs([made("slow", 7.5), made("fast", 75.0)], replace(BARE, rated_Ah=None))
    given = 7.5 * 590.0 / 3600.0
    assert found.delivered_Ah == approx((given, 10.0 * given))
    assert found.around.rated_Ah == approx(10.0 * given)
    assert not found.percent_only
    assert (found.repeats.delivered_percent, found.repeats.deciders) == (
        approx(100.0 * 9.0 / 5.5), (1, 1))  # fmt: skip
    typed = answer_logs([made()], replace(BARE, delivered_Ah=(99.0,), battery_V=(4.9,)))
    assert (typed.delivered_Ah, typed.around.rated_Ah) == ((99.0,), 150.0)
    assert typed.sums[0].battery_V == 4.9


def test_each_log_is_read_under_its_own_current():
    # ten times the current for the same time over the same volts
    slow, fast = made("slow", 7.5), made("fast", 75.0)
    both = answer_logs([slow, fast], BARE)
    stretch = both.around.stretch
    for shot, current_A in zip(both.shots, (7.5, 75.0), strict=True):
        around = Circumstances(150.0, current_A=current_A, temperature_C=25.0, stretch=stretch,
                               stretch_sd=0.15)  # fmt: skip
        assert shot.won_Ah == take_snapshot((2.4, 2.6), around).won_Ah
    # 0.15 ohm Ah / 150 Ah: 1 mohm
    assert [one.expected_drop_V for one in both.sums] == approx([0.0075, 0.075])
    given = answer_logs([slow, fast], replace(BARE, current_A=30.0))
    assert given.shots[0].won_Ah == given.shots[1].won_Ah


def test_temperature_of_each_log():
    cold = answer_logs([made(celsius=25.0), made(celsius=0.0)], BARE)
    warm = answer_logs([made(celsius=25.0), made(celsius=0.0)], replace(BARE, temperature_C=25.0))
    assert cold.shots[0].won_Ah == warm.shots[0].won_Ah == warm.shots[1].won_Ah
    assert cold.shots[1].won_Ah != warm.shots[1].won_Ah


def test_a_log_is_no_rest():
    with pytest.raises(LogError, match="--after-rest-min: goes with typed voltages only"):
        answer_logs([made()], replace(BARE, rest_s=600.0))


def test_one_battery_voltage_stands_for_all_repeats():
    groups = [Typed((2.4, 2.6), 0.0), Typed((2.3, 2.6), 0.0)]
    found = answer_typed(groups, replace(BARE, battery_V=(5.0,), rated_Ah=150.0))
    assert [one.battery_V for one in found.sums] == [5.0, 5.0]
    assert [one.sum_V for one in found.sums] == approx([5.0, 4.9])
    assert answer_typed(groups, BARE).sums == ()


def test_what_was_taken_for_granted_by_hand():
    # 150 Ah in 20 and in 5 h
    bare = answer_typed([Typed((2.4, 2.6), 0.0)], replace(BARE, meter_V=0.004)).assumed
    assert bare[0] == "current at cut-out not given: 7.50 to 30.0 A (5 to 20 h rates), choice"
    assert bare[1] == "temperature not given: 25 degC, within 5 K, choice"
    assert bare[2].startswith("cell voltages: 4 mV each (one standard deviation)")
    known = replace(BARE, rated_Ah=None, current_A=15.0, temperature_C=20.0)
    none = answer_typed([Typed((2.4, 2.6), 0.0)], known)
    assert none.percent_only
    assert none.assumed[0] == ("capacity not given: 100 Ah, so that Ah read as percent of capacity")
    given = answer_typed([Typed((2.4, 2.6), 0.0)], replace(known, delivered_Ah=(99.0,)))
    assert given.assumed[0] == "capacity not given: what was delivered, 99.0 Ah"

"""What stopped a discharge, sums, full cells, repeats, logs."""

from dataclasses import replace

import numpy as np
import pytest
from cut_out_banks import log_of
from pytest import approx

from bankSim.measured.log import WARNING, Finding, Log, LogError
from bankSim.measured.snapshot import Circumstances, take_snapshot
from bankSim.measured.snapshot_answer import Given, answer_logs, answer_typed
from bankSim.measured.snapshot_hints import Kind, Stopped, check_sum, hint_of_full, what_stopped
from bankSim.measured.snapshot_log import discharge_ends, own_knee, shot_from_log
from bankSim.measured.snapshot_repeats import compare_repeats, left_between
from bankSim.measured.typed_voltages import Typed

CHARGES = (0.97, 0.975, 0.98, 1.0)
BARE = Given("LFP", 150.0, None, None, None, None, 0.010)


def typed(*groups):
    return [Typed(tuple(group), 0.01) for group in groups]


@pytest.mark.parametrize(
    ("volts", "more", "stopped"),
    [
        ((2.31, 2.52, 2.47, 2.38), {}, Stopped.CELL_RULE),
        ((2.45, 2.75, 2.75, 2.75), {}, Stopped.EITHER),
        ((2.65, 2.7, 2.75, 2.8), {}, Stopped.BATTERY_RULE),
        ((3.1, 3.15, 3.1, 3.2), {}, Stopped.OTHER),
        ((1.5, 2.9, 2.9, 2.9), {}, Stopped.TOO_LOW),
        ((2.31, 3.1, 3.1, 3.1), {"limit_V": 2.8}, Stopped.TOO_LOW),
        ((2.9, 3.0, 3.0, 3.0), {"rest_s": 600.0}, Stopped.RESTED),
        ((1.72, 1.75, 1.76, 1.75, 1.76, 1.76), {"chemistry": "AGM"}, Stopped.BATTERY_RULE),
        ((1.95,) * 6, {"chemistry": "AGM"}, Stopped.OTHER),
    ],
)
def test_what_stopped(volts, more, stopped):
    around = Circumstances(150.0, **more)
    assert what_stopped(take_snapshot(volts, around), around) is stopped


def test_sum_against_the_battery():
    around = Circumstances(150.0, current_A=30.0)
    shot = take_snapshot((2.31, 2.52, 2.47, 2.38), around)
    # 1.5 mohm at 100 Ah is 1 mohm at 150 Ah: 30 mV at 30 A
    check = check_sum(shot, around, 9.65)
    assert check.expected_drop_V == approx(0.030)
    assert check.off_V == approx(0.0, abs=1e-9)
    assert check.fits
    assert not check_sum(shot, around, 9.90).fits
    assert not check_sum(shot, around, 9.40).fits


@pytest.mark.parametrize(
    ("full", "kind"),
    [
        ((3.40, 3.55, 3.55, 3.55), Kind.LESS_CHARGE),
        ((3.65, 3.45, 3.45, 3.45), Kind.SMALLER),
        ((3.46, 3.45, 3.47, 3.46), Kind.UNCLEAR),
    ],
)
def test_full_cells_hint_at_charge_or_size(full, kind):
    shot = take_snapshot((2.2, 2.6, 2.6, 2.6), Circumstances(150.0))
    assert hint_of_full(shot, full, 0.010).kind is kind


def test_a_coarse_meter_tells_less():
    shot = take_snapshot((2.2, 2.6), Circumstances(150.0))
    assert hint_of_full(shot, (3.42, 3.45), 0.010).kind is Kind.LESS_CHARGE
    assert hint_of_full(shot, (3.42, 3.45), 0.050).kind is Kind.UNCLEAR


def test_repeats():
    around = Circumstances(150.0)
    shots = tuple(take_snapshot(v, around) for v in ((2.21, 2.5), (2.25, 2.4), (2.5, 2.22)))
    found = compare_repeats(shots, around, (148.0, 150.0, 149.0))
    assert found.deciders == (1, 1, 2)
    assert not found.same_cell
    assert found.lowest_V == (2.21, 2.25)
    assert found.delivered_percent == approx(100.0 * 2.0 / 149.0)
    assert 0.0 < found.explained_Ah.value < 0.002 * 150.0
    assert left_between(2.3, 2.3, around).value == 0.0


def test_answer_puts_all_together():
    given = replace(BARE, delivered_Ah=(148.0,), battery_V=(9.7,), full_V=(3.4, 3.5, 3.5, 3.5))
    found = answer_typed(typed((2.31, 2.52, 2.47, 2.38)), given, ("told",))
    assert found.stopped == (Stopped.CELL_RULE,)
    assert found.sums[0].fits
    assert found.full is not None
    assert found.repeats is None
    assert found.told == ("told",)
    assert any("current at cut-out not given" in line for line in found.assumed)


def test_capacity_is_taken_from_what_was_delivered_or_left_out():
    assert answer_typed(typed((2.3, 2.5)), replace(BARE, rated_Ah=None)).percent_only
    found = answer_typed(typed((2.3, 2.5)), replace(BARE, rated_Ah=None, delivered_Ah=(99.0,)))
    assert found.around.rated_Ah == 99.0
    assert not found.percent_only


@pytest.mark.parametrize(
    ("groups", "more", "told"),
    [
        ([(2.3, 2.4), (2.3,)], {}, "snapshots of 1 and 2 cells"),
        ([(2.3, 2.4)], {"delivered_Ah": (1.0, 2.0)}, "--delivered-Ah: 2 numbers"),
        ([(2.3, 2.4)], {"battery_V": (1.0, 2.0)}, "--battery-V: 2 numbers"),
        ([(2.3, 2.4)], {"full_V": (3.4,)}, "--full: 1 cell voltages; expected 2"),
    ],
)
def test_numbers_that_do_not_go_together(groups, more, told):
    with pytest.raises(LogError, match=told):
        answer_typed(typed(*groups), replace(BARE, **more))


def test_ends_of_discharge():
    current = np.array([0.0, 10, 10, 0, 0, 10, 0.5, 0, 10, 10])
    assert discharge_ends(current) == [2, 5, 9]
    assert discharge_ends(np.zeros(3)) == []
    assert discharge_ends(np.array([-5.0, -5.0])) == []


def test_log_gives_the_instant_before_the_current_stops():
    log = log_of(CHARGES)
    shot = shot_from_log(log)
    assert shot.voltages_V[0] == approx(2.5, abs=1e-6)
    assert shot.current_A == approx(15.0)
    assert shot.given_Ah == approx(145.187, abs=0.02)


def test_the_logs_own_knee_is_that_of_the_programs_cell():
    # the log is a run of the program's own cells, so nothing is stretched
    log = log_of(CHARGES)
    knee = own_knee(log, shot_from_log(log), Circumstances(150.0, temperature_C=25.0))
    assert knee is not None
    around = Circumstances(150.0, current_A=15.0, temperature_C=25.0)
    knee = own_knee(log, shot_from_log(log), around)
    assert knee is not None
    assert knee.stretch == approx(1.0, abs=0.01)


def test_a_log_narrows_the_answer():
    log = log_of(CHARGES)
    found = answer_logs([log], replace(BARE, temperature_C=25.0))
    assert found.knee is not None
    truth = 150.0 * (np.mean(CHARGES) - 0.97)
    won = found.shots[0].won_Ah
    assert won.value == approx(truth, rel=0.02)
    assert won.low < truth < won.high
    assert won.high < 1.6 * won.value


def test_what_is_odd_in_a_log_is_told():
    log = replace(log_of(CHARGES), findings=(Finding("a gap.", severity=WARNING), Finding("note.")))
    assert answer_logs([log], BARE).told == ("made.csv: a gap.",)


def test_a_steeper_knee_in_the_log_is_seen():
    # the deciding cell takes half the time over the knee: half the charge
    log = log_of(CHARGES)
    below = log.cells_V[:, 0] < 3.1
    step = np.diff(log.time_s, prepend=0.0)
    quick = replace(log, time_s=np.cumsum(np.where(below, 0.5 * step, step)))
    around = Circumstances(150.0, current_A=15.0, temperature_C=25.0)
    knee = own_knee(quick, shot_from_log(quick), around)
    assert knee is not None
    assert 0.4 < knee.stretch < 0.5  # the stretch fades out with charge
    read = replace(around, limit_V=knee.to_V, stretch=knee.stretch, stretch_sd=0.0)
    left = take_snapshot((knee.from_V,), read).cells[0].left_Ah.value
    assert left == approx(knee.counted_Ah, rel=1e-3)
    assert left == approx(0.5 * 4.52, rel=0.01)  # half of what the unhurried log gives there


def test_logs_that_cannot_be_used():
    plain = Log("a.csv", np.arange(4.0), np.full(4, 12.0), np.array([5.0, 5, 0, 0]))
    with pytest.raises(LogError, match=r"a.csv: no cell voltages; name their columns with --cells"):
        shot_from_log(plain)
    idle = replace(plain, current_A=np.zeros(4), cells_V=np.full((4, 2), 3.2))
    with pytest.raises(LogError, match="no discharge that stops"):
        shot_from_log(idle)
    holes = replace(plain, cells_V=np.full((4, 2), np.nan))
    with pytest.raises(LogError, match="all cell voltages there"):
        shot_from_log(holes)


def test_a_log_too_short_shows_no_knee():
    cells = np.array([[2.4, 2.5], [2.39, 2.5], [2.38, 2.5], [2.6, 2.7]])
    log = Log("a.csv", np.arange(4.0), cells.sum(axis=1), np.array([5.0, 5, 5, 0]), cells_V=cells)
    assert own_knee(log, shot_from_log(log), Circumstances(100.0, current_A=5.0)) is None

"""Rows in which a logger dropped out; the truth is known by making."""

import numpy as np
import pytest
from measured.log_texts import read, told
from pytest import approx

from bankSim.measured.capacity_test import Question, evaluate_tests
from bankSim.measured.discharge import Ending, find_discharges
from bankSim.measured.verdict import Word

HEAD = "time_s,voltage_V,current_A\n"
REST, LOAD = 10, 960
AMPERE = 5.24
# closed form by trapezoids: the load is on from one sample to the last, half an interval each side
GIVEN_AH = AMPERE * LOAD / 60.0


def course():
    """Ten minutes of rest, 16 h of load into the knee, rest again; one row a minute."""
    amps = np.repeat([0.0, AMPERE, 0.0], [REST, LOAD, 60])
    part = np.clip((np.arange(amps.size) - REST) / LOAD, 0.0, 1.0)
    volts = 12.75 - 0.9 * part - 1.2 * np.exp((part - 1.0) / 0.01)
    volts[:REST], volts[REST + LOAD :] = 12.8, 12.0
    return volts, amps


def written(volts, amps, cells=None):
    names = "" if cells is None else "".join(f",cell_{k}_V" for k in range(1, 5))
    head, rows = HEAD.replace("\n", f"{names}\n"), []
    for place, (v, i) in enumerate(zip(volts, amps, strict=True)):
        row = f"{60 * place},{v:.3f},{i:.3f}"
        rows.append(row if cells is None else row + 4 * f",{cells[place]:.3f}")
    return head + "\n".join(rows) + "\n"


def with_silence(first, rows):
    volts, amps = course()
    volts[first : first + rows] = amps[first : first + rows] = 0.0
    return volts, amps


def judged(log, rated_Ah):
    answer, _ = evaluate_tests([log], [""], Question(rated_Ah=rated_Ah))
    return answer


@pytest.mark.parametrize("rows", [1, 2, 5])
def test_a_few_lost_rows_are_bridged_and_told(tmp_path, rows):
    log = read(tmp_path, written(*with_silence(500, rows)))
    (one,) = find_discharges(log)
    answer = judged(log, 80.0)
    assert one.ending is Ending.EMPTY
    assert answer.trials[0].counted.Ah.value == approx(GIVEN_AH, rel=2e-3)
    assert answer.measured.together.word is not Word.NOT_MET
    assert "voltage and current both read 0" in told(log)
    assert "502" in told(log)
    hang = AMPERE * (rows + 1) / 60.0  # the line runs from the row before to the row after
    assert answer.trials[0].counted.bridged_Ah == approx(hang, rel=1e-6)
    assert not np.any(log.voltage_V < 10.0)


@pytest.mark.parametrize("rows", [8, 25])
def test_a_longer_silence_is_no_cut_out_and_widens_the_error(tmp_path, rows):
    log = read(tmp_path, written(*with_silence(500, rows)))
    (one,) = find_discharges(log)
    assert [pause.silent for pause in one.pauses] == [True]
    counted = judged(log, 80.0).trials[0].counted
    hidden = AMPERE * (rows + 1) / 60.0
    assert counted.most_Ah - counted.Ah.value == approx(hidden, rel=1e-6)
    lines = {line.name: line.width for line in counted.Ah.contributions}
    assert lines["readings of 0 inside the test"] == approx(hidden, rel=1e-6)
    # the load ran on while nothing was read, so what was given reaches this label
    assert judged(log, GIVEN_AH).measured.together.word is not Word.NOT_MET


def test_a_battery_that_cut_out_and_came_back_is_left_alone(tmp_path):
    volts, amps = course()
    fall = np.linspace(0.0, 1.0, 8)  # one weak cell collapses, the switch opens and lets go
    volts[492:500] -= fall
    volts[500] = amps[500] = 0.0
    volts[501:] += 0.3
    log = read(tmp_path, written(volts, amps))
    first, *_ = find_discharges(log)
    assert first.ending is Ending.CUT_OUT
    assert first.last == 499
    assert "both read 0" not in told(log)


def test_dead_terminals_over_live_cells_are_a_switch_that_opened(tmp_path):
    volts, amps = with_silence(500, 1)
    cells = course()[0] / 4.0
    log = read(tmp_path, written(volts, amps, cells))
    assert find_discharges(log)[0].ending is Ending.CUT_OUT
    assert log.count == volts.size
    assert log.cells_V.shape[1] == 4


def test_a_meter_behind_a_switch_is_left_alone(tmp_path):
    volts, amps = course()
    for first in range(50, 900, 40):
        volts[first : first + 4] = amps[first : first + 4] = 0.0
    log = read(tmp_path, written(volts, amps))
    assert log.count == volts.size
    assert "both read 0" not in told(log)


def test_lost_in_a_rest_no_charge_hangs_on_it(tmp_path):
    log = read(tmp_path, written(*with_silence(1000, 1)))
    assert "Row 1002: voltage and current both read 0" in told(log)
    assert "hang on it" not in told(log)
    assert log.counted_Ah()[-1] == approx(GIVEN_AH, rel=1e-6)

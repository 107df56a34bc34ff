"""Lone rows of a current that the voltage does not answer; the truth is known by making."""

import numpy as np
import pytest
from measured.log_texts import read, told
from pytest import approx

from bankSim.measured.capacity_test import Question, evaluate_tests
from bankSim.measured.log import WARNING
from bankSim.measured.verdict import Word

AMPERE, OHM = 5.24, 0.02


def course():
    """Rest, 16 h of load that falls by 1 V, rest; one row a minute."""
    amps = np.repeat([0.0, AMPERE, 0.0], [10, 960, 60])
    volts = 12.8 - 1.0 * np.clip((np.arange(amps.size) - 10) / 960.0, 0.0, 1.0) - OHM * amps
    return volts, amps


def written(volts, amps, digits=3):
    rows = (
        f"{60 * k},{v:.{digits}f},{i:.3f}" for k, (v, i) in enumerate(zip(volts, amps, strict=True))
    )
    return "time_s,voltage_V,current_A\n" + "\n".join(rows) + "\n"


@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_a_lone_row_is_named_with_its_charge(tmp_path, sign):
    volts, amps = course()
    amps[500] = 10.0 * AMPERE
    log = read(tmp_path, written(volts, sign * amps))
    (one,) = [found for found in log.findings if "leaps for one row" in found.text]
    assert one.severity == WARNING
    assert one.rows == (502,)
    # trapezoids: the excess of nine times the load over one interval on either side, halved
    assert f"{9.0 * AMPERE / 60.0:.2g} Ah hang on it" in one.text
    assert log.current_A[500] == approx(10.0 * AMPERE)


def test_the_direction_of_current_does_not_hang_on_it(tmp_path):
    volts, amps = course()
    amps[500] = 10.0 * AMPERE
    log = read(tmp_path, written(volts, amps))
    assert "Direction of current" not in told(log)
    assert "where the current steps up" in log.sign_reason


def test_a_surge_that_the_voltage_answers_is_a_load(tmp_path):
    volts, amps = course()
    volts[500] -= OHM * 9.0 * AMPERE
    amps[500] = 10.0 * AMPERE
    assert "leaps for one row" not in told(read(tmp_path, written(volts, amps)))


def test_a_load_that_often_runs_for_a_row_is_left_alone(tmp_path):
    volts, amps = course()
    amps[20:960:20] = 4.0 * AMPERE
    assert "leaps for one row" not in told(read(tmp_path, written(volts, amps)))


def test_a_voltage_too_coarse_to_answer_tells_nothing(tmp_path):
    volts, amps = course()
    amps[500] = 2.5 * AMPERE  # 0.16 V, where 0.1 V is shown
    assert "leaps for one row" not in told(read(tmp_path, written(volts, amps, digits=1)))


def test_no_claim_is_met_by_a_fault_of_the_meter(tmp_path):
    # 83.8 Ah by making, and 16.6 Ah more by one row
    volts, amps = course()
    amps[500] = 999.0
    log = read(tmp_path, written(volts, amps))
    answer, _ = evaluate_tests([log], [""], Question(rated_Ah=84.5))
    assert answer.measured.together.word is Word.UNDECIDED
    lines = {one.name: one for one in answer.trials[0].counted.Ah.contributions}
    excess_Ah = (999.0 - AMPERE) / 60.0
    assert lines["lone leaps of the current"].width == approx(excess_Ah, rel=1e-3)

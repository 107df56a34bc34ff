"""Lone rows of a current that the voltage does not answer; the truth is known by making."""

import numpy as np
import pytest
from measured.log_texts import read, told
from pytest import approx

from bankSim.measured.log import WARNING

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

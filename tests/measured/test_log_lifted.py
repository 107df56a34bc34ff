"""Charges written without sign inside a discharge; the truth is known by making."""

import numpy as np
import pytest
from measured.log_texts import read, told
from pytest import approx

from bankSim.measured.capacity_test import Question, evaluate_tests
from bankSim.measured.correct import Wanted
from bankSim.measured.verdict import Word

AMPERE = 5.24


def course(charge_min=0, charge_A=AMPERE, rest=10):
    """A lead battery: rest, 400 min of load, a charge up to 14 V, load to the knee, rest."""
    amps = np.repeat([0.0, AMPERE, -charge_A, AMPERE, 0.0], [rest, 400, charge_min, 560, 30])
    drawn = np.cumsum(np.repeat([0.0, 1.0, 0.0, 1.0, 0.0], [rest, 400, charge_min, 560, 30]))
    part = drawn / 960.0
    volts = 12.75 - 0.9 * part - 1.2 * np.exp((part - 1.0) / 0.01)
    volts[:rest], volts[-30:] = 12.8, 12.0
    volts[amps < 0.0] = np.linspace(13.1, 14.0, charge_min)
    return volts, amps


def written(volts, amps):
    rows = (f"{60 * k},{v:.3f},{i:.3f}" for k, (v, i) in enumerate(zip(volts, amps, strict=True)))
    return "time_s,voltage_V,current_A\n" + "\n".join(rows) + "\n"


def word_of(log, rated_Ah=100.0, chemistry=None):
    question = Question(rated_Ah=rated_Ah, wanted=Wanted(chemistry=chemistry))
    return evaluate_tests([log], [""], question)[0].measured.together.word


@pytest.mark.parametrize(("minutes", "charge_A"), [(120, AMPERE), (30, 10.0), (10, AMPERE)])
def test_a_charge_without_sign_is_told_and_nothing_is_judged(tmp_path, minutes, charge_A):
    volts, amps = course(minutes, charge_A)
    log = read(tmp_path, written(volts, np.abs(amps)))
    (spoilt,) = [one for one in log.findings if one.spoils]
    assert "one sign throughout" in spoilt.text
    assert spoilt.rows[0] == approx(412, abs=1)
    assert word_of(log) is Word.UNDECIDED


@pytest.mark.parametrize("minutes", [0, 30])
def test_a_discharge_and_a_charge_with_sign_are_left_alone(tmp_path, minutes):
    log = read(tmp_path, written(*course(minutes)))
    assert not any(one.spoils for one in log.findings)


def test_a_battery_charged_unseen_in_a_pause_is_left_alone(tmp_path):
    # half full first, charged past the meter in the pause: higher under load, but falling
    amps = np.repeat([0.0, 5.0, 0.0, 5.0, 0.0], [10, 200, 60, 400, 30])
    volts = np.concatenate([
        np.full(10, 12.3), np.linspace(12.2, 11.9, 200), np.linspace(13.2, 14.4, 60),
        np.linspace(12.9, 11.0, 400), np.full(30, 11.8),
    ])  # fmt: skip
    log = read(tmp_path, written(volts, amps))
    assert "no discharge does that" not in told(log)


def test_a_cold_battery_that_warms_is_left_alone(tmp_path):
    # no rest was logged; the voltage rises by a twentieth under one load as the cells warm
    amps = np.full(600, 50.0)
    volts = 12.0 + 0.6 * (1.0 - np.exp(-np.arange(600) / 100.0)) - 0.001 * np.arange(600)
    log = read(tmp_path, written(volts, amps), sign="discharge positive")
    assert "no discharge does that" not in told(log)


def test_a_log_of_charging_is_left_alone(tmp_path):
    amps = np.repeat([0.0, 10.0], [20, 300])
    volts = np.concatenate([np.full(20, 12.3), np.linspace(12.9, 14.4, 300)])
    assert "no discharge does that" not in told(read(tmp_path, written(volts, amps)))


def test_lead_above_any_rest_is_no_discharge_at_any_length(tmp_path):
    # the log begins on the charger, so that nothing stands below it
    volts, amps = course(rest=1)
    volts = np.concatenate([np.linspace(13.9, 14.1, 20), volts[1:]])
    amps = np.concatenate([np.full(20, AMPERE), amps[1:]])
    log = read(tmp_path, written(volts, amps))
    assert not any(one.spoils for one in log.findings)
    assert word_of(log, chemistry="AGM") is Word.UNDECIDED
    assert word_of(log) is Word.NOT_MET
    answer, _ = evaluate_tests(
        [log], [""], Question(rated_Ah=100.0, wanted=Wanted(chemistry="AGM"))
    )
    assert "only on charge" in answer.trials[0].spoilt[0]


def test_lead_just_off_the_charger_is_left_alone(tmp_path):
    volts, amps = course()
    volts[8:14] = [13.6, 13.5, 13.6, 13.3, 13.0, 12.8]
    log = read(tmp_path, written(volts, amps))
    assert word_of(log, chemistry="AGM") is Word.NOT_MET


@pytest.mark.parametrize("late", [-1, 0, 1, 4])
def test_a_lighter_load_after_a_heavy_one_is_left_alone(tmp_path, late):
    # it begins under load; 8 mohm by making, and a meter that shows the voltage late or early
    amps = np.repeat([80.0, 10.0, 0.0], [30, 500, 30])
    volts = 12.7 - 0.008 * amps - 0.0015 * np.arange(amps.size)
    volts = volts[np.clip(np.arange(amps.size) - late, 0, amps.size - 1)]
    log = read(tmp_path, written(volts, amps))
    assert not any(one.spoils for one in log.findings)


@pytest.mark.parametrize("cells", [1, 2, 3, 4, 6, 12, 18, 24])
def test_full_lead_of_every_size_is_taken_for_what_it_is(tmp_path, cells):
    volts, amps = course()
    log = read(tmp_path, written(volts * cells / 6.0, amps))
    question = Question(rated_Ah=100.0, wanted=Wanted(chemistry="AGM"))
    trial = evaluate_tests([log], [""], question)[0].trials[0]
    assert trial.spoilt == ()
    assert trial.not_full == ""

"""How much charge a battery holds, before any fit: two wells in closed form, by hand."""

import math
from dataclasses import replace

import numpy as np
import pytest
from pytest import approx

from bankSim.measured.first_guess import (
    first_guess_Ah,
    given_Ah,
    given_part,
    usable_part,
    whole_charge_Ah,
)
from bankSim.measured.label import Label
from bankSim.measured.log import Log
from bankSim.model.chemistry import AGM
from bankSim.model.curve import Curve
from bankSim.model.lfp import LFP

SMALL = Label("made", "LFP", 4, 1.0)
HOUR_S = 3600.0


def log_of(*parts, **more):
    """Hours of a current at a voltage, each (h, A, V), with a sample at both ends."""
    edges = np.cumsum([0.0, *(hours for hours, *_ in parts)])
    time = HOUR_S * np.repeat(edges, 2)[1:-1]
    amps, volts = (np.repeat([float(part[k]) for part in parts], 2) for k in (1, 2))
    return Log("x", time, volts, amps, **more)


def guess(*logs, starts=None, label=SMALL, chemistry=LFP, **words):
    return first_guess_Ah(logs, starts or [1.0] * len(logs), label, chemistry, **words)


def test_what_was_drawn_counts_from_its_start():
    log = log_of((10.0, 2.0, 13.0))
    assert guess(log) == approx(20.0)
    assert guess(log, starts=[0.5]) == approx(40.0)
    assert guess(log, starts=[0.01]) == approx(400.0)  # a twentieth at least
    assert guess(log, log_of((15.0, 2.0, 13.0)), starts=[0.5, 1.0]) == approx(40.0)


def test_a_log_that_charges_does_not_draw_what_it_started_with():
    # 10 Ah in, 4 Ah out: what passed, 10 Ah; 3 Ah out, 10 Ah in, 6 Ah out: 6 Ah, above 3 Ah
    assert guess(log_of((5.0, -2.0, 14.0), (2.0, 2.0, 13.0)), starts=[0.5]) == approx(10.0)
    both = log_of((1.5, 2.0, 13.0), (5.0, -2.0, 14.0), (3.0, 2.0, 13.0))
    assert guess(both, starts=[0.5]) == approx(6.0)


@pytest.mark.parametrize(
    ("rated_Ah", "guessed", "last_V", "whole_Ah"),
    [
        (100.0, False, 13.0, 100.0),  # broken off: the label holds more
        (10.0, False, 13.0, 20.0),
        (100.0, True, 13.0, 20.0),  # no label
        (100.0, False, 10.0, 20.0),  # down to the knee
    ],
)
def test_a_log_that_was_broken_off_leaves_it_to_the_label(rated_Ah, guessed, last_V, whole_Ah):
    label = Label("made", "LFP", 4, rated_Ah, (), guessed)
    log = log_of((9.0, 2.0, 13.0), (1.0, 2.0, 13.0))
    log.voltage_V[-1] = last_V
    assert guess(log, label=label) == approx(whole_Ah)


def wells(hours, c=0.475111, k_per_h=0.67696):
    """Manwell and McGowan (1993): q / Q = k c t / (1 - E + c (k t - 1 + E)); AGM's numbers."""
    kt = k_per_h * hours
    e = math.exp(-kt)
    return kt * c / (1.0 - e + c * (kt - 1.0 + e))


@pytest.mark.parametrize("hours", [0.5, 1.0, 20.0])
def test_two_wells_hold_more_than_they_give(hours):
    assert given_part(hours, 0.475111, 0.67696) == approx(wells(hours))
    assert whole_charge_Ah(80.0, hours, 0.475111, 0.67696) == approx(80.0 / wells(hours))
    label = Label("made", "AGM", 6, 1.0)
    log = log_of((hours, 40.0, 12.0))
    assert guess(log, label=label, chemistry=AGM) == approx(40.0 * hours / wells(hours), rel=1e-3)


def test_wells_at_their_limits():
    assert given_part(1.0, 1.0, 0.5) == 1.0  # one well
    assert given_part(0.0, 0.4, 0.5) == 0.4  # at once only the available one
    assert given_part(5.0, 0.4, 0.0) == 0.4  # no flow between them
    assert given_part(1e6, 0.4, 0.5) == approx(1.0, abs=1e-5)


def test_cold_wells_give_less():
    # usable part of AGM: 0.87 at 0 degC, 1 at 25 degC, a straight line (its chemistry page)
    here = (20.0, 5.0, 12.0)
    cold = np.array([0.0, np.nan])
    for log, room_C, part in (
        (log_of(here), 25.0, 1.0), (log_of(here), 0.0, 0.87),
        (log_of(here, temperature_C=cold), 25.0, 0.87),
        (log_of(here, temperature_C=np.array([0.0, 25.0])), 40.0, 0.935),
        (log_of(here, temperature_C=np.full(2, np.nan)), 0.0, 0.87),
    ):  # fmt: skip
        assert usable_part(log, AGM, room_C) == approx(part)
        label = Label("made", "AGM", 6, 1.0)
        whole = guess(log, label=label, chemistry=AGM, room_C=room_C)
        assert whole == approx(100.0 / wells(20.0) / part, rel=1e-3)
    assert usable_part(log_of(here), LFP, 0.0) == 1.0


def test_a_steady_discharge_ends_where_the_voltage_does():
    # U = 3 V + 0.4 V z, 10 mohm at once and 5 mohm later, 100 Ah, one well. Over 10 h from full to
    # a place z: I = 10 A (1 - z). Ends at 3.1 V: 3 + 0.4 z - 0.15 (1 - z) = 3.1, z = 0.25 / 0.55
    ends = np.array([-0.5, 1.5])
    cell = replace(
        LFP.typical_cell(100.0, 360_000.0),
        ocv_V=Curve.linear(ends, 3.0 + 0.4 * ends),
        ohmic_ohm=Curve.linear(ends, np.full(2, 0.010)),
        relaxation=(replace(LFP.typical_cell(100.0, 1.0).relaxation[0], resistance_ohm=0.005),),
    )
    assert given_Ah(cell, 10.0, 3.1) == approx(100.0 * (1.0 - 0.25 / 0.55), rel=1e-6)
    # over 20 h half the current: 3 + 0.4 z - 0.075 (1 - z) = 3.1, z = 0.175 / 0.475
    assert given_Ah(cell, 20.0, 3.1) == approx(100.0 * (1.0 - 0.175 / 0.475), rel=1e-6)
    # two wells give less at once; the place counts in the available one
    two = replace(cell, available_fraction=0.475111, well_rate_per_s=0.67696 / 3600.0)
    part = wells(10.0)
    z = (0.1 + 0.15 * part) / (0.4 + 0.15 * part)
    assert given_Ah(two, 10.0, 3.1) == approx(100.0 * part * (1.0 - z), rel=1e-6)

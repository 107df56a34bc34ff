"""Typical values of chemistry LFP."""

import numpy as np
import pytest
from one_cell import OneCell

from bankSim.model import lfp
from bankSim.model.rule import Blocks, Needs, Watch


def test_state_of_charge_0_is_where_a_cell_rests_at_2_5_V():
    assert lfp.ocv_curve()(0.0) == pytest.approx(2.5, abs=1e-4)
    assert -0.01 < lfp.empty_published() < 0.0  # the shift is under 1 % of charge


def test_state_of_charge_1_is_the_published_full_end():
    # Safari-Delacourt fits at the 100 % end of the windows of Schimpe et al. (2018)
    assert lfp.ocv_curve()(1.0) == pytest.approx(3.4219, abs=1e-4)


def test_curve_follows_the_functions_within_a_tenth_of_a_millivolt():
    curve = lfp.ocv_curve()
    z = np.linspace(curve.knots[0], curve.knots[-1], 20_001)
    assert np.abs(curve(z) - lfp.rest_voltage(z)).max() < 1e-4
    assert (np.diff(curve(z)) > 0.0).all()


def test_curve_reaches_beyond_both_ends():
    curve = lfp.ocv_curve()
    assert curve.knots[0] < 0.0
    assert curve(curve.knots[0]) < 2.2
    assert curve(curve.knots[-1]) > 3.65
    assert curve(-0.02) < curve(curve.knots[0])  # goes on falling


def test_rest_voltages_are_near_common_ones():
    # common practice, no single source: 3.33-3.34 at 70-90 %, 3.30 mid, 3.25 at 20-30 %
    z, common = np.array([0.8, 0.5, 0.25]), [3.335, 3.30, 3.25]
    assert lfp.ocv_curve()(z) == pytest.approx(common, abs=0.03)


def test_total_resistance_follows_the_measured_drop():
    # Drop between the C/20 and the 1C discharge of a 2.07 Ah cell at 25 degC, ohm x Ah, read off
    # open data (About:Energy, BPX open data set, CC BY-SA 4.0); below 20 % the 1C drop rises
    # faster, where slow diffusion comes on top; the fit leaves that part out.
    measured = {0.6: 0.115, 0.5: 0.118, 0.4: 0.135, 0.3: 0.158, 0.2: 0.217}
    z = np.array(list(measured))
    pairs = sum(ohm_Ah for ohm_Ah, _ in lfp.RELAXATION_OHM_AH)
    total = lfp.OHMIC_OHM_AH * lfp.ohmic_factor()(z) + pairs
    assert total == pytest.approx(list(measured.values()), rel=0.10)


def test_ohmic_factor_is_one_above_60_percent_and_goes_on_rising_below_0():
    factor = lfp.ohmic_factor()
    z = np.linspace(0.6, 1.0, 9)
    assert factor(z) == pytest.approx(np.ones(9), abs=0.035)
    fine = np.linspace(-0.15, 1.0, 1001)
    assert factor(fine) == pytest.approx(1.0 + lfp.RISE * np.exp(-fine / lfp.RISE_WIDTH), rel=1e-3)
    assert factor(-0.2) - factor(-0.15) == pytest.approx(factor(-0.25) - factor(-0.2))  # straight
    assert factor(-0.2) > factor(-0.15)


def test_typical_cell_of_100_Ah():
    cell = lfp.typical_cell(100.0, 90.0 * 3600.0, resistance_factor=2.0)
    assert cell.charge_C == 324_000.0
    assert cell.ohmic_ohm(0.9) == pytest.approx(2 * 0.69e-3, rel=0.002)
    assert [pair.resistance_ohm for pair in cell.relaxation] == pytest.approx([0.432e-3, 0.58e-3])
    assert [pair.time_constant_s for pair in cell.relaxation] == [111.0, 10.3]
    month_h = 365.25 * 24 / 12
    assert cell.standing_A * month_h == pytest.approx(0.02 * 90.0)


def test_usual_rules():
    rules = lfp.usual_rules(80.0)
    assert [(rule.watches, rule.below, rule.threshold, rule.delay_s) for rule in rules] == [
        (Watch.LOWEST_CELL, True, 2.5, 5.0),
        (Watch.HIGHEST_CELL, False, 3.65, 1.0),
        (Watch.DISCHARGE_CURRENT, False, 200.0, 1.0),
        (Watch.TEMPERATURE, True, 273.15, 1.0),
        (Watch.TEMPERATURE, False, 338.15, 1.0),
    ]
    assert [rule.blocks for rule in rules] == [
        Blocks.DISCHARGE,
        Blocks.CHARGE,
        Blocks.DISCHARGE,
        Blocks.CHARGE,
        Blocks.DISCHARGE,
    ]


def test_releases_of_the_usual_rules():
    # common practice: under-voltage waits for charge, over-current for the load to go
    releases = [rule.release for rule in lfp.usual_rules(80.0)]
    assert [(one.threshold, one.delay_s, one.needs) for one in releases] == [
        (2.9, 30.0, Needs.CHARGING),
        (3.45, 1.0, Needs.NOTHING),
        (80.0, 5.0, Needs.LOAD_REMOVED),
        (276.15, 1.0, Needs.NOTHING),
        (323.15, 1.0, Needs.NOTHING),
    ]


def test_a_resting_battery_would_come_back_without_the_need_for_charge():
    # The reason for that need: ten minutes after a cut-out at 1 C it rests above the threshold.
    one = OneCell(lfp.typical_cell(100.0, 360_000.0))
    under = lfp.usual_rules(100.0)[0]
    _, state = one.draw(100.0, lambda state: one.voltage(state, 100.0) - under.threshold)
    _, rested = one.draw(0.0, lambda _: 1.0, state, 600.0)
    assert one.voltage(rested, 0.0) > under.release.threshold


def given_Ah(current_A, celsius):
    """What a typical cell of 100 Ah, held at that temperature, gives down to 2.5 V."""
    one = OneCell(lfp.typical_cell(100.0, 360_000.0), celsius + 273.15)
    time_s, _ = one.draw(current_A, lambda state: one.voltage(state, current_A) - 2.5)
    return time_s * current_A / 3600.0


@pytest.mark.parametrize(("celsius", "share"), [(0.0, 0.80), (-20.0, 0.70), (55.0, 1.0)])
def test_capacity_in_the_cold(celsius, share):
    # a public specification of a 12 V battery at 0.33 C: 80 % at 0, 70 % at -20 degC, 95 % or
    # more at 55 degC of what it gives at 25 degC
    assert given_Ah(33.0, celsius) / given_Ah(33.0, 25.0) == pytest.approx(share, abs=0.01)


def test_a_trickle_gives_nearly_all_in_the_cold():
    # the charge is still there, behind a larger resistance
    trickle, slow = (given_Ah(current_A, -20.0) for current_A in (2.0, 10.0))
    assert trickle > 93.0
    assert trickle > slow > given_Ah(33.0, -20.0)

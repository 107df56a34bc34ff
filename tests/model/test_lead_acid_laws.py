"""Lead-acid values against the laws that the module states, worked out by hand."""

import math

import numpy as np
import pytest

from bankSim.model.lead_acid import AGM, FLOODED, GEL, RestVoltages, ohmic_factor, rest_voltage

KINDS = [AGM, GEL, FLOODED]
BY_KIND = pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.word)


@pytest.mark.parametrize("per_rated", [1.0, 1.08])
def test_the_parabola_goes_through_the_three_voltages_of_a_table(per_rated):
    table = RestVoltages(12.9, 12.3, 11.7)
    heads = 1.0 - (1.0 - np.array([1.0, 0.75, 0.5, 0.25, 0.0])) / per_rated
    # half lies in the middle: a straight line, 0.3 V a quarter; the knee is 2 mV at most here
    straight = np.array([12.9, 12.6, 12.3, 12.0, 11.7]) / 6.0
    knee = 0.10 * np.exp((-0.06 - heads) / 0.02)
    assert rest_voltage(table, per_rated, heads) == pytest.approx(straight - knee, abs=1e-12)
    bent = RestVoltages(12.9, 12.4, 11.7)
    # 0.1 V above the line at half, three quarters of that a quarter away
    up = np.array([0.0, 0.075, 0.1, 0.075, 0.0]) / 6.0
    assert rest_voltage(bent, per_rated, heads) == pytest.approx(straight + up - knee, abs=1e-12)


@BY_KIND
def test_above_full_the_voltage_rises_as_tafel_has_it(kind):
    curve = kind.ocv_V()
    full_V = float(curve(1.0))
    # U = full + A ln(1 + x / b), 2.40 V at x = 0.01: b follows
    width = 0.01 / (math.exp((2.40 - full_V) / 0.10) - 1.0)
    for beyond in (0.0005, 0.002, 0.01, 0.1):
        wanted = full_V + 0.10 * math.log(1.0 + beyond / width)
        assert curve(1.0 + beyond) == pytest.approx(wanted, abs=3e-4)
    # with a loss in proportion to x: 0.23 V a decade of gassing current (0.2 to 0.24, from memory)
    decade_V = float(curve(1.5) - curve(1.05))
    assert decade_V == pytest.approx(0.1 * math.log(10.0), abs=0.01)


@BY_KIND
def test_gassing_at_2_4_v_is_that_of_the_text(kind):
    rated_Ah = 80.0
    cell = kind.typical_cell(rated_Ah, rated_Ah * 3600.0 * kind.capacity_per_rated)
    wanted = {"AGM": 0.005, "gel": 0.004, "flooded": 0.006}[kind.word] * rated_Ah
    assert cell.gassing_A * 0.01 == pytest.approx(wanted)
    (line,) = [one for one in kind.fixed if one.name.startswith("gassing")]
    assert line.value == f"{wanted / rated_Ah:g} x rated Ah, e-fold every 0.1 V of a cell"


def test_r0_by_the_available_head():
    # (2 - a) / 1.5 + 10 exp(-100 a), a straight line of -1000 below -0.02, nothing more above 1
    factor = ohmic_factor()
    for head in (0.05, 0.1, 0.2, 0.5, 1.0):
        wanted = (2.0 - head) / 1.5 + 10.0 * math.exp(-100.0 * head)
        assert factor(head) == pytest.approx(wanted, rel=2e-3)
    edge = 2.02 / 1.5 + 10.0 * math.exp(2.0)
    assert factor(-0.02) == pytest.approx(edge, rel=1e-9)
    assert factor(-0.12) == pytest.approx(edge + 100.0, rel=1e-9)
    assert factor(1.2) == pytest.approx(2.0 / 3.0, rel=1e-6)


@BY_KIND
def test_a_full_12_v_battery_of_100_ah_has_the_resistance_its_source_says(kind):
    cell = kind.typical_cell(100.0, 360_000.0 * kind.capacity_per_rated)
    mohm = 6e3 * float(cell.ohmic_ohm(1.0))
    assert mohm == pytest.approx({"AGM": 4.5, "gel": 6.5, "flooded": 7.5}[kind.word], rel=1e-6)
    assert kind.sources.ohmic.startswith(f"{mohm:.1f} mohm full")
    # 50 Ah: twice of everything; 1.0 mohm and 100 s of relaxation in a cell, as the form has it
    half = kind.typical_cell(50.0, 180_000.0 * kind.capacity_per_rated)
    assert half.ohmic_ohm(0.5) == pytest.approx(2.0 * cell.ohmic_ohm(0.5))
    assert half.relaxation[0].resistance_ohm == pytest.approx(1e-3)
    assert half.relaxation[0].time_constant_s == 100.0


@BY_KIND
def test_usable_part_is_a_straight_line_held_at_both_ends(kind):
    # 0.0052 per K from 25 degC, between -40 and 50 degC
    for celsius, wanted in ((25.0, 1.0), (0.0, 0.87), (-40.0, 0.662), (-60.0, 0.662),
                            (50.0, 1.13), (70.0, 1.13)):  # fmt: skip
        assert kind.usable_part(celsius + 273.15) == pytest.approx(wanted)


def given_per_rated(kind, hours):
    """Of a constant current that empties the available well in so many hours.

    Two wells from full (Manwell and McGowan 1993): all that is given is
    Q k c t / (1 - exp(-k t) + c (k t - 1 + exp(-k t))), k the rate at which heads approach.
    """
    fraction, kt = kind.available_fraction, kind.well_rate_per_h * hours
    gone = 1.0 - math.exp(-kt)
    return kind.capacity_per_rated * kt * fraction / (gone + fraction * (kt - gone))


def test_agm_gives_100_93_and_60_in_20_10_and_1_h():
    assert [given_per_rated(AGM, hours) for hours in (20.0, 10.0, 1.0)] == pytest.approx(
        [1.0, 0.93, 0.60], abs=1e-4
    )


@pytest.mark.parametrize(("kind", "exponent"), [(AGM, 1.21), (GEL, 1.20), (FLOODED, 1.25)])
def test_peukert_exponent_from_1_to_20_h(kind, exponent):
    slow, fast = given_per_rated(kind, 20.0), given_per_rated(kind, 1.0)
    assert slow == pytest.approx(1.0, abs=1e-4)
    # I^n t = const
    found = math.log(20.0) / math.log(fast / (slow / 20.0))
    assert found == pytest.approx(exponent, abs=0.006)


@BY_KIND
def test_limits_are_in_order(kind):
    # below full by gassing, above it only for a time; volts a cell, common practice
    assert 1.70 <= kind.lowest_safe_V <= 1.80
    assert 2.35 <= kind.highest_charge_V <= kind.highest_safe_V <= 2.70
    assert kind.charge_per_h < kind.discharge_per_h
    assert kind.may_not_charge_below_K is None
    assert not kind.is_lithium
    assert 30.0 <= kind.Wh_per_kg <= 45.0
    assert 0.85 <= kind.coulombic_efficiency < 1.0


@BY_KIND
def test_what_is_told_as_fixed_is_what_is_used(kind):
    told = {one.name: one for one in kind.fixed}
    assert told["coulombic efficiency"].value == kind.coulombic_efficiency
    assert told["self-discharge per month"].value == kind.self_discharge_per_month
    activation = told["activation energy"]
    assert (activation.value, activation.unit) == (kind.activation_J_mol / 1e3, "kJ/mol")
    # 0.4 % a kelvin at 25 degC: E = 0.004 R T^2
    assert activation.value == pytest.approx(0.004 * 8.314462618e-3 * 298.15**2)
    lag = told["resistance to charge, besides that to discharge"].value
    ohm = kind.charge_lag.full_ohm
    assert lag.startswith(f"{ohm:g} ohm Ah a cell at full, half of it 5 % below, ")
    assert kind.charge_lag.ohm(0.95) / kind.charge_lag.ohm(1.0) == pytest.approx(0.5)
    assert kind.mass_source.startswith(f"{kind.Wh_per_kg:g} Wh/kg and 900 J/kg/K")

"""Cells and rules of a netlist, worked out without ngspice from the written laws."""

import math
from dataclasses import replace

import pytest
from crosscheck_banks import LOWEST_2_5, affine_battery, steady
from deck_values import lines_of, source

from bankSim.crosscheck.deck_cell import SCALE, cell_lines, counter_lines
from bankSim.crosscheck.deck_latch import COUNTER_SCALE
from bankSim.crosscheck.deck_rules import never_trips, rule_lines
from bankSim.model.bank import Bank, Wiring
from bankSim.model.cell import RelaxationPair
from bankSim.model.charge_lag import ChargeLag
from bankSim.model.curve import Curve
from bankSim.model.load import CutOff
from bankSim.model.rule import Blocks, Needs, Release, Rule, Watch


def cell_of(**more):
    return affine_battery("a", 0.01, 10.0, 0.5, **more).cells[0]


def leaving(cell, amps, head=0.5, balancing=""):
    """Current that leaves the charge of a cell. [A]"""
    lines = cell_lines(cell, 1, 1, 298.15, balancing)
    return source(lines, "Bb1c1z", {"b1c1z": head}, {"Vb1": amps}) / SCALE


def test_what_leaves_a_cell():
    assert leaving(cell_of(), 3.0) == pytest.approx(3.0)
    lossy = cell_of(coulombic_efficiency=0.9)
    assert (leaving(lossy, 3.0), leaving(lossy, -3.0)) == pytest.approx((3.0, -2.7))
    standing = cell_of(standing_A=0.02)
    # it fades out over a hundredth of the charge below empty
    for head, part in ((0.5, 1.0), (-0.005, 0.5), (-0.02, 0.0)):
        assert leaving(standing, 0.0, head) == pytest.approx(0.02 * part)
    gassing = cell_of(gassing_A=5.0)
    assert (leaving(gassing, 0.0, 1.01), leaving(gassing, 0.0, 0.9)) == pytest.approx((0.05, 0.0))
    assert leaving(cell_of(), 1.0, balancing="0.25") == pytest.approx(1.25)


def test_the_voltage_of_a_cell():
    lines = cell_lines(cell_of(), 1, 1, 298.15, "")
    volts = source(lines, "Bb1c1", {"b1c1z": 0.5}, {"Vb1": 20.0})
    assert volts == pytest.approx(12.8 + 0.6 * 0.5 - 20.0 * 0.01)
    more = cell_of(hysteresis_V=0.02, relaxation=(RelaxationPair(0.005, 60.0),))
    lines = cell_lines(more, 1, 1, 298.15, "")
    nodes = {"b1c1z": 0.5, "b1c1h": -1.0, "b1c1u": 0.1}
    assert source(lines, "Bb1c1", nodes, {"Vb1": 20.0}) == pytest.approx(12.9 - 0.02 - 0.1)


def test_a_cell_in_the_cold_has_a_resistance_by_arrhenius():
    # exp(E / R (1/T - 1/298.15)): 20 kJ/mol and -10 degC, by hand 2.9256
    lines = cell_lines(cell_of(activation_J_mol=20e3), 1, 1, 263.15, "")
    factor = math.exp(20e3 / 8.314462618 * (1.0 / 263.15 - 1.0 / 298.15))
    volts = source(lines, "Bb1c1", {"b1c1z": 0.5}, {"Vb1": 10.0})
    assert volts == pytest.approx(13.1 - 0.1 * factor)
    assert factor == pytest.approx(2.926, abs=0.01)


def test_hysteresis_goes_to_the_side_that_the_current_drives_it_to():
    cell = cell_of(hysteresis_V=0.02, hysteresis_rate=50.0)
    lines = cell_lines(cell, 1, 1, 298.15, "")
    for amps, state, rate in ((10.0, 0.0, -1.0), (-10.0, 0.0, 1.0), (10.0, -1.0, 0.0)):
        # dh/dt = -|50 I / Q| (h + sign I); a source from h to 0 takes out of a capacitor of SCALE
        flow = source(lines, "Bb1c1h", {"b1c1h": state}, {"Vb1": amps})
        assert -flow / SCALE == pytest.approx(rate * 50.0 * 10.0 / 36_000.0)


def test_two_wells_share_charge_and_rate():
    cell = cell_of(available_fraction=0.4, well_rate_per_s=1e-4)
    lines = lines_of(cell_lines(cell, 1, 1, 298.15, ""))
    first, second = (float(lines[f"Cb1c1{well}"].split()[3]) / SCALE for well in "zy")
    assert (first, second) == pytest.approx((0.4 * 36_000.0, 0.6 * 36_000.0))
    siemens = float(lines["Gb1c1y"].split()[5]) / SCALE
    # two capacitors through a conductance: their difference fades at g (1/C1 + 1/C2)
    assert siemens * (1.0 / first + 1.0 / second) == pytest.approx(1e-4)


def test_a_charge_meets_more_resistance_than_a_discharge():
    lag = ChargeLag(0.05, 0.05, 0.0, 0.08)
    cell = cell_of(relaxation=(RelaxationPair(0.005, 60.0),), charge_lag=lag, gassing_A=2.0)
    lines = cell_lines(cell, 1, 1, 298.15, "")

    def driven(amps, head):
        return source(lines, "Bb1c1u", {"b1c1z": head}, {"Vb1": amps}) / SCALE

    assert driven(10.0, 0.9) == pytest.approx(0.05)
    away = 0.05 / 1.05
    for head, stored in ((0.9, 10.0), (1.0, 10.0), (1.1, 9.8)):  # 2 A x 0.1 go into gas
        part = 0.05 / (0.05 + max(1.0 - head, 0.0)) - away
        meets = 0.08 * math.asinh(0.05 * stored * part / 0.08)
        assert driven(-10.0, head) == pytest.approx(-0.05 - meets)


def test_on_charge_the_rise_near_empty_is_left_away():
    falling = Curve.linear([0.0, 0.1, 1.0], [0.1, 0.01, 0.01])
    cell = replace(cell_of(), ohmic_ohm=falling, charge_ohm_from=0.1)
    lines = cell_lines(cell, 1, 1, 298.15, "")
    for amps, ohm in ((10.0, 0.1), (-10.0, 0.01)):
        volts = source(lines, "Bb1c1", {"b1c1z": 0.0}, {"Vb1": amps})
        assert volts == pytest.approx(12.8 - amps * ohm)


def test_counters_count_each_way_in_ah():
    lines = counter_lines(1)
    farad = float(lines_of(lines)["Cd1"].split()[3])
    for amps, given_A, taken_A in ((7.2, 7.2, 0.0), (-3.6, 0.0, 3.6)):
        for node, wanted in (("d1", given_A), ("e1", taken_A)):
            rate = source(lines, f"B{node}", amps={"Vb1": amps}) / farad  # V/s, that is Ah/s
            assert rate * 3600.0 == pytest.approx(wanted)


# ---- rules


def rules_of(*rules, loads=(), drop_V=0.7, kelvin=298.15):
    battery = affine_battery("a", 0.01, 10.0, 0.5, rules=rules, drop_V=drop_V)
    bank = Bank((battery,), Wiring(), tuple(loads), temperature_K=kelvin)
    return rule_lines(battery, 1, ("bus", "0"), bank, 2.0)


@pytest.mark.parametrize(
    ("watch", "below", "limit", "safe", "beyond"),
    [
        (Watch.LOWEST_CELL, True, 2.5, {"b1c1": 2.6}, {"b1c1": 2.4}),
        (Watch.HIGHEST_CELL, False, 3.65, {"b1c1": 3.6}, {"b1c1": 3.7}),
        (Watch.BATTERY_VOLTAGE, True, 11.0, {"b1t": 11.1}, {"b1t": 10.9}),
        (Watch.DISCHARGE_CURRENT, False, 50.0, 49.0, 51.0),
        (Watch.CHARGE_CURRENT, False, 20.0, -19.0, -21.0),
    ],
)
def test_a_margin_is_positive_on_the_safe_side(watch, below, limit, safe, beyond):
    lines = rules_of(Rule(watch, below, limit, 1.0))
    for where, sign in ((safe, 1.0), (beyond, -1.0)):
        volts = {"b1c0": 0.0, **where} if isinstance(where, dict) else {}
        amps = {} if isinstance(where, dict) else {"Vb1": where}
        assert math.copysign(1.0, source(lines, "Bm1r1", volts, amps)) == sign


def let_go(lines, **nodes):
    """Whether a tripped rule is on its way back."""
    amps = nodes.pop("amps", 0.0)
    volts = {"l1r1": 1.0, "t1r1": 0.5, "m1r1": 1.0, "n1r1": 1.0, **nodes}
    return source(lines, "Bt1r1", volts, {"Vb1": amps}) < 0.0


def released(needs, blocks=Blocks.DISCHARGE, loads=()):
    return rules_of(
        Rule(Watch.LOWEST_CELL, True, 2.5, 1.0, blocks, Release(2.8, 3.0, needs)), loads=loads
    )


def test_a_release_waits_for_its_threshold():
    lines = released(Needs.NOTHING)
    assert let_go(lines)
    assert not let_go(lines, n1r1=-1.0)
    assert source(lines, "Bn1r1", {"b1c0": 0.0, "b1c1": 2.9}) > 0.0
    assert source(lines, "Bn1r1", {"b1c0": 0.0, "b1c1": 2.7}) < 0.0
    # 3 s from tripped to armed
    rate = source(lines, "Bt1r1", {"l1r1": 1.0, "t1r1": 0.5, "m1r1": 1.0, "n1r1": 1.0})
    assert rate == pytest.approx(-COUNTER_SCALE / 3.0)


def test_a_release_that_needs_charging():
    lines = released(Needs.CHARGING)
    assert let_go(lines, amps=-0.1)
    assert not let_go(lines, amps=0.1)
    # where charge is blocked no current can flow: then a charger shows by its voltage
    both = released(Needs.CHARGING, Blocks.BOTH)
    seen = {"bc1": 1.0, "bus": 13.0, "b1s": 12.0}
    assert let_go(both, **seen)
    assert not let_go(both, **{**seen, "bus": 11.0})
    assert not let_go(both, **{**seen, "bc1": 0.0})


def test_a_release_that_needs_all_loads_removed():
    cut = replace(steady(5.0), cut_off=CutOff(11.0))
    lines = released(Needs.LOAD_REMOVED, loads=(steady(2.0), cut))
    off = {"a1": 0.0, "a2": 5.0, "lcut2": 1.0}
    assert let_go(lines, **off)
    assert let_go(lines, **{**off, "a2": 0.0, "lcut2": 0.0})
    assert not let_go(lines, **{**off, "a1": 2.0})
    assert not let_go(lines, **{**off, "lcut2": 0.0})


def test_a_rule_by_hand_stays():
    lines = released(Needs.HAND)
    assert "Bn1r1" not in lines_of(lines)
    assert not let_go(lines)


def test_a_direction_is_blocked_by_any_of_its_own_rules():
    charge = Rule(Watch.HIGHEST_CELL, False, 3.6, 1.0, Blocks.CHARGE)
    both = Rule(Watch.DISCHARGE_CURRENT, False, 50.0, 1.0, Blocks.BOTH)
    lines = rules_of(LOWEST_2_5, charge, both)
    for tripped, nodes in ((1, (1.0, 0.0)), (2, (0.0, 1.0)), (3, (1.0, 1.0))):
        volts = {f"l1r{place}": float(place == tripped) for place in (1, 2, 3)}
        assert (source(lines, "Bbd1", volts), source(lines, "Bbc1", volts)) == nodes


def test_body_diodes_let_the_other_way_through_behind_their_drop():
    charge = Rule(Watch.HIGHEST_CELL, False, 3.6, 1.0, Blocks.CHARGE)
    lines = rules_of(LOWEST_2_5, charge, drop_V=0.7)
    # discharge flows from b1s through b1x to the bus; a blocked discharge lets charge in
    words = {name: lines_of(lines)[name].split()[1:3] for name in ("Bbd1d", "Bbc1d")}
    assert words == {"Bbd1d": ["b1x", "b1s"], "Bbc1d": ["b1x", "bus"]}
    shut = {"b1s": 12.0, "b1x": 12.6}
    assert source(lines, "Bbd1d", shut) == 0.0
    # 10 micro-ohm beyond the drop, short of the bend of 0.1 mV
    assert source(lines, "Bbd1d", {**shut, "b1x": 12.71}) == pytest.approx(1000.0 - 10.0, abs=0.2)


def test_a_temperature_that_stands_still_trips_or_never_does():
    hot = Rule(Watch.TEMPERATURE, False, 330.0)
    cold = Rule(Watch.TEMPERATURE, True, 275.0)
    assert [never_trips(rule, 298.15) for rule in (hot, cold, LOWEST_2_5)] == [True, True, False]
    assert [never_trips(rule, 270.0) for rule in (hot, cold)] == [True, False]
    assert [never_trips(rule, 340.0) for rule in (hot, cold)] == [False, True]
    lines = rules_of(cold)
    assert source(lines, "Bbd1", {}) == 0.0  # its latch decides nothing
    assert source(rules_of(cold, kelvin=270.0), "Bm1r1") < 0.0


def test_rules_behind_one_that_never_trips_are_there():
    hand = Release(275.0, needs=Needs.HAND)
    still = Rule(Watch.TEMPERATURE, True, 270.0)
    lines = lines_of(
        rules_of(still, Rule(Watch.LOWEST_CELL, True, 2.5, 1.0, release=hand), LOWEST_2_5)
    )
    assert lines["Rl1r1"] == "Rl1r1 l1r1 0 1"  # its node is read: it must be there
    assert {"Bt1r2", "Bt1r3"} <= set(lines)
    assert "Bt1r1" not in lines


def test_in_the_cold_resistance_is_read_as_if_emptier():
    # R0 is read at 1 - (1 - z) / f: at f = 0.5, half full looks empty, 0.75 looks half full
    rising = Curve.linear([0.0, 0.5, 1.0], [0.1, 0.03, 0.01])
    cell = replace(cell_of(), ohmic_ohm=rising, usable_part=Curve.constant(0.5))
    for head, ohm in ((1.0, 0.01), (0.75, 0.03), (0.5, 0.1)):
        volts = source(cell_lines(cell, 1, 1, 263.15, ""), "Bb1c1", {"b1c1z": head}, {"Vb1": 1.0})
        assert volts == pytest.approx(12.8 + 0.6 * head - ohm)
    # on charge no lower than at 0.5: that is 0.75 of the charge
    cell = replace(cell, charge_ohm_from=0.5)
    for head, ohm in ((1.0, 0.01), (0.75, 0.03), (0.5, 0.03)):
        volts = source(cell_lines(cell, 1, 1, 263.15, ""), "Bb1c1", {"b1c1z": head}, {"Vb1": -1.0})
        assert volts == pytest.approx(12.8 + 0.6 * head + ohm)


def test_a_relaxation_pair_settles_at_its_resistance_in_its_time():
    pairs = (RelaxationPair(0.0, 10.0), RelaxationPair(0.005, 60.0))
    lines = lines_of(cell_lines(cell_of(relaxation=pairs), 1, 1, 298.15, ""))
    assert "Cb1c1u" not in lines  # one without resistance is left away, the next one is not
    ohm, farad = (float(lines[f"{letter}b1c1v"].split()[3]) for letter in "RC")
    gain = float(lines["Fb1c1v"].split()[4])
    assert gain * ohm == pytest.approx(0.005)
    assert ohm * farad == pytest.approx(60.0)


def test_each_well_starts_at_the_state_of_charge():
    cell = cell_of(available_fraction=0.4, well_rate_per_s=1e-4)
    lines = cell_lines(cell, 1, 1, 298.15, "")
    assert {".ic V(b1c1z)=0.5", ".ic V(b1c1y)=0.5"} <= set(lines)

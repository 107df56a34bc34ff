"""What flows when batteries are joined: two straight batteries have a closed form."""

import json
import math
from dataclasses import replace

import pytest
from pytest import approx
from simple_banks import affine, affine_cell, bank_of, battery, run, steady

from bankSim.model.bank import Layout, Wiring
from bankSim.model.curve import Curve
from bankSim.model.lfp import typical_cell
from bankSim.model.rule import Blocks, Rule, Watch
from bankSim.model.upkeep import Heater
from bankSim.sim.cautions.joined import of_joining
from bankSim.sim.joining import first_currents_A, join, without_rise
from bankSim.sim.joining_all import least_spread_V, rounded_down_V, safe_spreads
from bankSim.sim.joining_pairs import join_pair

# 5 and 10 mohm, 100 Ah each, 12.8 V + 0.6 V z, z = 0.9 and 0.5: dz decays with
# tau = (R1 + R2)/a Q1 Q2/(Q1 + Q2) = 4500 s from 16 A; 11.01342 Ah in the first hour
R1, R2, Q_C, SPAN, GAP = 5e-3, 10e-3, 360_000.0, 0.6, 0.4
TAU_S = (R1 + R2) / SPAN * Q_C / 2.0
FIRST_A = SPAN * GAP / (R1 + R2)


def uneven(**label):
    full, low = affine("full", R1, z=0.9), affine("low", R2, z=0.5)
    return bank_of(replace(full, **label), replace(low, **label), load=steady(40.0))


def test_first_hour_of_two_straight_batteries():
    joining = join(uneven(), 3600.0)
    assert pytest.approx(4500.0) == TAU_S
    assert [one.first_A for one in joining.batteries] == approx([16.0, -16.0], rel=1e-6)
    given, taken = joining.batteries[0].given_Ah, joining.batteries[1].taken_Ah
    assert given == approx(11.01342, rel=1e-4)
    assert taken == approx(given, rel=1e-9)
    assert joining.quiet_after_s is None  # still 7.2 A


@pytest.mark.parametrize(("z", "least_ohm"), [(0.0, R2), (0.8, 0.4 * R2)])
def test_the_first_current_without_the_rise_near_empty(z, least_ohm):
    # R of "low" falls in a straight line from 2 R2 at 0 % through R2 at 50 % to 0 at full
    falling = Curve.linear([0.0, 1.0], [2.0 * R2, 0.0])
    low = replace(affine("low", z=z), cells=(replace(affine_cell(z=z), ohmic_ohm=falling),))
    joining = join(bank_of(affine("full", R1, z=1.0), low), 60.0)
    gap_V = SPAN * (1.0 - z)
    first_A, most_A = gap_V / (R1 + 2.0 * R2 * (1.0 - z)), gap_V / (R1 + least_ohm)
    assert [one.first_A for one in joining.batteries] == approx([first_A, -first_A], rel=1e-6)
    assert [one.most_A for one in joining.batteries] == approx([most_A, -most_A], rel=1e-6)
    told = " ".join(one.text for one in of_joining(run(bank_of(affine("full", R1, z=1.0), low))))
    assert ("It may be up to 40 A: " in told) is (z == 0.0)


@pytest.mark.parametrize(("limit_A", "told"), [(50.0, False), (30.0, True)])
def test_a_limit_that_only_the_largest_first_current_passes(limit_A, told):
    # 0.6 V through 25 mohm is 24 A; with 10 mohm in place of 20 at empty it is 40 A
    falling = Curve.linear([0.0, 1.0], [2.0 * R2, 0.0])
    low = replace(
        affine("low", z=0.0), cells=(replace(affine_cell(z=0.0), ohmic_ohm=falling),),
        continuous_charge_A=limit_A,
    )  # fmt: skip
    (caution,) = of_joining(run(bank_of(affine("full", R1, z=1.0), low)))
    assert caution.severity == "warning"
    assert "It may be up to 40 A: " in caution.text
    assert (
        'not known; "low" is above its limit then (its label allows 30.0 A).' in caution.text
    ) is told


def test_a_resistance_that_rises_towards_full_is_no_rise_near_empty():
    rising = Curve.linear([0.0, 1.0], [0.0, 2.0 * R2])
    full = replace(affine("full", z=1.0), cells=(replace(affine_cell(z=1.0), ohmic_ohm=rising),))
    for one in join(bank_of(full, affine("low", R1, z=0.5)), 60.0).batteries:
        assert one.most_A == approx(one.first_A)


def test_a_bank_without_a_rise_is_not_looked_at_twice():
    bank = uneven()
    assert without_rise(bank) is bank
    falling = Curve.linear([0.0, 1.0], [2.0 * R2, 0.0])
    low = replace(affine("low"), cells=(replace(affine_cell(z=0.2), ohmic_ohm=falling),))
    eased = without_rise(bank_of(affine("full", R1), low)).batteries[1].cells[0]
    # a straight line has at half charge the middle of its ends
    assert float(eased.ohmic_ohm(0.2)) == approx(R2)


def test_time_above_label_and_quiet_follow_the_decay():
    joining = join(uneven(continuous_discharge_A=8.0, continuous_charge_A=4.0))
    full, low = joining.batteries
    assert (full.limit_A, low.limit_A) == (8.0, 4.0)
    assert full.above_label_s == approx(TAU_S * math.log(FIRST_A / 8.0), rel=1e-3)
    assert low.above_label_s == approx(TAU_S * math.log(FIRST_A / 4.0), rel=1e-3)
    # quiet is 1 A for 100 Ah
    assert joining.quiet_after_s == approx(TAU_S * math.log(FIRST_A), abs=300.0)
    assert joining.looked_at_s == 24.0 * 3600.0
    # 10 A at first: quiet after 10,362 s, so at the row at 10,500 s (rows are 5 min apart)
    ten = bank_of(affine("full", R1, z=0.9), affine("low", R2, z=0.65))
    assert join(ten).quiet_after_s == approx(10_500.0)


def test_heat_in_the_lead_is_the_integral_of_the_square():
    # R I0^2 tau / 2 over all time; both leads belong to the loop
    bank = bank_of(affine("a", 3e-3, lead=2e-3), affine("b", 9e-3, z=0.5, lead=1e-3))
    heat = [one.lead_heat_Wh for one in join(bank).batteries]
    expected = [ohm * FIRST_A**2 * TAU_S / 2.0 / 3600.0 for ohm in (2e-3, 1e-3)]
    assert heat == approx(expected, rel=1e-3)


def test_rules_act_but_the_first_instant_is_before_them():
    rule = Rule(Watch.CHARGE_CURRENT, False, 10.0, 0.0, Blocks.CHARGE)
    bank = bank_of(affine("full", R1), affine("low", R2, z=0.5, rules=[rule]))
    full, low = join(bank).batteries
    assert full.first_rule is None
    assert low.first_A == approx(-16.0, rel=1e-6)
    assert low.taken_Ah == approx(0.0, abs=1e-9)
    assert '"low" blocks charge' in low.first_rule


def test_a_rule_that_the_cold_makes_act_is_not_told_as_one_of_joining():
    # 5 degrees C, below its limit from the start: it acts with or without the other battery
    cold = Rule(Watch.TEMPERATURE, True, 278.15, 0.0, Blocks.CHARGE)
    high = Rule(Watch.DISCHARGE_CURRENT, False, 10.0, 0.0, Blocks.DISCHARGE)
    full, low = affine("full", R1, rules=[cold, high]), affine("low", R2, z=0.5, rules=[cold])
    joining = join(bank_of(full, low, temperature_K=276.0))
    assert "discharge current" in joining.batteries[0].first_rule
    assert joining.batteries[1].first_rule is None


def test_loads_chargers_and_heaters_stay_out():
    heater = Heater(50.0, 300.0, 310.0, needs_charger=False)
    one = replace(affine("a"), heater=heater)
    joining = join(bank_of(one, affine("b"), load=steady(100.0)))
    assert [b.given_Ah for b in joining.batteries] == approx([0.0, 0.0], abs=1e-9)
    assert joining.quiet_after_s == 0.0


def test_a_single_battery_is_not_joined():
    assert join(bank_of(affine())) is None
    assert run(bank_of(affine(), duration_s=10)).summary()["joining"] is None


def test_safe_difference_is_limit_times_resistance():
    bank = uneven(continuous_discharge_A=100.0, continuous_charge_A=50.0)
    pair = join_pair(bank, 0, 1)
    assert (pair.fuller, pair.emptier) == ("full", "low")
    assert pair.difference_V == approx(SPAN * GAP)
    assert pair.first_A == approx(FIRST_A)
    assert (pair.limit_A, pair.limited_by) == (50.0, 'the charge limit of "full"')
    assert pair.safe_difference_V == approx(50.0 * (R1 + R2))
    # half of the difference in charge: dz Q1 Q2 / (Q1 + Q2)
    assert pair.moved_Ah == approx(20.0, rel=1e-3)
    # 0.75 V is more than the whole span of 0.6 V: nothing can be told from voltage
    assert pair.hidden_Ah == approx(50.0)
    assert "by current alone" in pair.text
    assert "makers" in pair.text


def test_at_the_safe_difference_the_first_peak_is_the_limit():
    limits = {"continuous_discharge_A": 20.0, "continuous_charge_A": 12.0}
    pair = join_pair(uneven(**limits), 0, 1)
    dz = pair.safe_difference_V / SPAN
    full, low = affine("full", R1, z=0.5 + dz), affine("low", R2, z=0.5)
    at_limit = first_currents_A(bank_of(full, low))
    assert at_limit == approx((12.0, -12.0), rel=1e-6)
    assert pair.hidden_Ah == approx(0.3 * 50.0, rel=0.04)  # 0.18 of 0.6 V, on a grid of 1 %


def test_fuses_and_unlabelled_batteries_limit_a_pair():
    bank = uneven()
    assert join_pair(bank, 0, 1).limit_A == approx(50.0)  # half the capacity per hour
    assert "no label" in join_pair(bank, 0, 1).limited_by
    fused = replace(bank, batteries=(bank.batteries[0], replace(bank.batteries[1], fuse_A=30.0)))
    assert join_pair(fused, 0, 1).limited_by == 'the fuse of "low"'


@pytest.mark.parametrize("layout", [Layout.SAME_END, Layout.OPPOSITE_ENDS])
def test_links_between_a_pair_count_on_both_rails(layout):
    batteries = [affine(name, R1, z=z) for name, z in (("a", 0.9), ("b", 0.5), ("c", 0.5))]
    bank = bank_of(*batteries, wiring=Wiring(layout, link_ohm=1e-3))
    assert join_pair(bank, 0, 2).first_A == approx(SPAN * GAP / (2 * R1 + 4e-3))
    two = replace(bank, batteries=(batteries[0], batteries[1]))
    assert first_currents_A(two)[0] == approx(join_pair(two, 0, 1).first_A, rel=1e-6)


def test_a_large_bank_tells_of_its_extremes_only():
    names = "abcdefg"
    bank = bank_of(*(affine(name, z=0.9 - 0.05 * k) for k, name in enumerate(names)))
    (pair,) = join(bank, 60.0).pairs
    assert (pair.fuller, pair.emptier) == ("a", "g")
    six = replace(bank, batteries=bank.batteries[:6])
    assert len(join(six, 60.0).pairs) == 15


def test_flat_curves_hide_charge_behind_equal_voltages():
    # LFP: 40 to 90 % of charge within 40 mV a cell, so much may move although voltages agree
    cells = [[replace(typical_cell(100.0, Q_C), state_of_charge=z)] * 4 for z in (0.9, 0.4)]
    limits = {"continuous_discharge_A": 100.0, "continuous_charge_A": 10.0}
    pair = join_pair(
        bank_of(*(battery(f"b{k}", *four, **limits) for k, four in enumerate(cells))), 0, 1
    )
    assert pair.safe_difference_V < 0.1
    assert pair.hidden_Ah > 10.0


def test_limits_in_sentences_are_rounded_down():
    assert [rounded_down_V(v) for v in (0.999, 0.3519, 0.0899, 1.0)] == [
        "0.99", "0.35", "0.089", "1.00",
    ]  # fmt: skip


def test_summary_carries_the_joining():
    summary = run(uneven()).summary()
    joining = json.loads(json.dumps(summary["joining"], allow_nan=False))
    assert joining["looked_at_h"] == 24.0
    assert joining["batteries"][1]["first_A"] == approx(-16.0, rel=1e-6)
    assert joining["pairs"][0]["safe_difference_V"] == approx(0.75)


def test_cold_raises_the_resistance_of_the_first_instant():
    # exp(Ea / Rg (1/273.15 - 1/298.15)) = 2.09 for 20 kJ/mol
    pair = [
        battery(n, affine_cell(R1, z=z, activation_J_mol=20e3))
        for n, z in zip("ab", (0.9, 0.5), strict=True)
    ]
    cold = bank_of(*pair, temperature_K=273.15)
    assert join_pair(cold, 0, 1).first_A == approx(SPAN * GAP / (2 * R1 * 2.09), rel=2e-3)
    assert first_currents_A(cold)[0] == approx(join_pair(cold, 0, 1).first_A, rel=1e-6)


def test_cold_brings_the_rise_of_resistance_earlier_and_leaves_the_rest_voltage():
    # f = 0.8 at 0 degC: R0 = R1 (2 - a) is read at a = 1 - (1 - z) / 0.8 = 0.875 and 0.375
    part = Curve.linear([253.15, 298.15], [0.64, 1.0])
    ohm = Curve.linear([0.0, 1.0], [2.0 * R1, R1])
    pair = [
        battery(n, replace(affine_cell(R1, z=z, usable_part=part), ohmic_ohm=ohm))
        for n, z in zip("ab", (0.9, 0.5), strict=True)
    ]
    for kelvin, both_ohm in ((298.15, R1 * (1.1 + 1.5)), (273.15, R1 * (1.125 + 1.625))):
        bank = bank_of(*pair, temperature_K=kelvin)
        assert join_pair(bank, 0, 1).difference_V == approx(SPAN * GAP)
        assert join_pair(bank, 0, 1).first_A == approx(SPAN * GAP / both_ohm)
        assert first_currents_A(bank)[0] == approx(SPAN * GAP / both_ohm, rel=1e-6)


def test_the_limit_of_a_difference_says_with_which_resistance_it_is_reckoned():
    # by hand: 20 A over 5 + 5 mohm, at full charge; the empty one has 30 mohm now
    pair = [
        replace(affine(n, 5e-3, z=z), continuous_charge_A=20.0) for n, z in (("a", 1.0), ("b", 0.1))
    ]
    (first,) = [
        c for c in run(bank_of(*pair)).cautions if c.topic == "current when first connected"
    ]
    assert (
        "is a difference of 0.20 V (20.0 A through 10.0 mohm, the least that both" in first.advice
    )


def four_and_a_spare(difference_V=0.45):
    limits = {"continuous_charge_A": 20.0, "continuous_discharge_A": 90.0}
    four = [affine(f"house {k}", 6e-3, z=0.2 + difference_V / SPAN, lead=2e-3) for k in range(4)]
    spare = affine("spare", 7e-3, z=0.2, lead=3e-3)
    return [replace(one, **limits) for one in (*four, spare)]


def test_of_several_all_the_others_push_into_one():
    # by hand: 8 mohm four times beside each other are 2 mohm, and 10 mohm of its own: 20 A over
    # 12 mohm are 0.24 V; two alone could be 20 A x 18 mohm = 0.36 V apart. One of the four against
    # the rest: 8 mohm + 1 / (3/8 + 1/10) mohm = 10.1 mohm, 0.202 V
    bank = bank_of(*four_and_a_spare())
    limit = safe_spreads(bank)[4]
    assert (limit.battery, limit.limit_A) == ("spare", 20.0)
    assert (limit.through_ohm, limit.spread_V) == (approx(12e-3), approx(0.24))
    assert least_spread_V(safe_spreads(bank)) == approx(20.0 * (8e-3 + 1e-3 / (3 / 8 + 1 / 10)))
    assert first_currents_A(bank_of(*four_and_a_spare(0.24)))[4] == approx(-20.0, rel=1e-6)
    (caution,) = of_joining(run(bank))
    assert caution.value == approx(0.45 / 12e-3, rel=1e-6)
    assert (
        'limit for "spare" and the others, all joined at once, is a difference of 0.24 V (20.0 A '
        "through 12.0 mohm, its own and theirs beside each other, the least at any charge), "
        "between any two 0.20 V" in caution.advice
    )
    assert "0.36" not in caution.advice
    pair = join_pair(bank, 0, 4)
    assert pair.safe_difference_V == approx(0.36)
    assert '"spare" alone, by current' in pair.text
    assert "If all 5 are joined at once it is 0.20 V between any two." in pair.text


@pytest.mark.parametrize("layout", list(Layout))
@pytest.mark.parametrize("odd", [0, 1, 3])
def test_each_against_all_the_others_is_at_its_limit(layout, odd):
    # each battery in turn against all the others, by the solver of the network
    ohms, wiring = (4e-3, 9e-3, 6e-3, 5e-3), Wiring(layout, link_ohm=0.8e-3)
    batteries = [
        replace(affine(f"b{k}", ohm, z=0.3), continuous_charge_A=15.0) for k, ohm in enumerate(ohms)
    ]
    spread = safe_spreads(bank_of(*batteries, wiring=wiring))[odd]
    moved = replace(
        batteries[odd], cells=affine("", ohms[odd], z=0.3 + spread.spread_V / SPAN).cells
    )
    bank = bank_of(*(moved if k == odd else one for k, one in enumerate(batteries)), wiring=wiring)
    largest_A = max(abs(amps) for amps in first_currents_A(bank))
    assert largest_A == approx(15.0, rel=1e-6)


def test_the_spread_of_two_is_that_of_the_pair():
    bank = uneven(continuous_discharge_A=20.0, continuous_charge_A=12.0)
    safe_V = join_pair(bank, 0, 1).safe_difference_V
    assert [one.spread_V for one in safe_spreads(bank)] == [approx(safe_V)] * 2

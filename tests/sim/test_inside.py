"""Wells, balancers, heat and the ledgers against closed forms and published tables."""

import math
from dataclasses import replace

import numpy as np
import pytest
from pytest import approx
from simple_banks import affine, affine_cell, bank_of, battery, run, steady, stepped

from bankSim.model.cell import RelaxationPair
from bankSim.model.charger import Charger, Stage
from bankSim.model.curve import Curve
from bankSim.model.load import Schedule
from bankSim.model.rule import Blocks, Release, Rule, Watch
from bankSim.model.upkeep import Balancer, Balancing, Heater, Thermal

H = 3600.0
# Lead-acid of the 100 Ah class, fitted to 20 h 100 Ah, 10 h 93 Ah, 1 h 60 Ah (typical of rate
# tables, from memory); times from the closed form of Manwell & McGowan, Solar Energy 50 (1993) 399
QMAX_AH, PART, RATE_PER_H = 108.160, 0.475111, 0.676960
TIMES_H = {5: 20.000, 10: 9.187, 20: 3.893, 25: 2.920, 40: 1.618, 60: 1.000, 100: 0.5638}


def two_wells(**more):
    wells = {"available_fraction": PART, "well_rate_per_s": RATE_PER_H / H}
    empty = Rule(Watch.LOWEST_CELL, True, 11.8, 0.0, Blocks.DISCHARGE)
    return affine("a", 0.0, QMAX_AH, 1.0, base=11.8, span=1.0, rules=[empty], **wells, **more)


def steady_run(*batteries, hours=2.0, load=None, **more):
    bank = bank_of(*batteries, load=load, duration_s=hours * H, stop_when_empty=False, **more)
    return run(bank, relative_tolerance=1e-6)


@pytest.mark.parametrize(("current_A", "time_h"), TIMES_H.items())
def test_two_wells_are_empty_when_the_closed_form_says(current_A, time_h):
    result = run(bank_of(two_wells(), load=steady(current_A), duration_s=30 * H))
    assert result.end_time_s / H == approx(time_h, rel=6e-4)  # the table has 4 digits


def test_two_wells_recover_at_rest():
    # 60 A for 1 h empties the available well; 11.254 Ah are back after an hour, 22.881 Ah at last
    one = replace(two_wells(), rules=())
    result = steady_run(one, load=stepped([0.0, H], [60.0, 0.0]), hours=40.0)
    volts = result.timeline().set_index("time_s")["a.voltage_V"]
    available_Ah = (volts - 11.8) * PART * QMAX_AH
    assert available_Ah.loc[2 * H] == approx(11.254, abs=0.02)  # qmax and c are printed in 6 digits
    assert available_Ah.iloc[-1] == approx(PART * (QMAX_AH - 60.0), rel=1e-6)


def test_wells_without_exchange_give_the_available_part_only():
    one = affine("a", 0.0, 100.0, 1.0, base=11.8, span=1.0, available_fraction=0.4,
                 rules=[Rule(Watch.LOWEST_CELL, True, 11.8)])  # fmt: skip
    result = run(bank_of(one, load=steady(20.0), duration_s=30 * H))
    assert result.batteries[0].delivered_Ah == approx(40.0, rel=1e-5)
    assert result.batteries[0].final_state_of_charge == (approx(0.6, abs=1e-6),)


def test_gassing_is_the_current_that_keeps_a_full_battery_at_its_hold():
    # at 13.4 V + 0.06 V the curve says 1.1; G = 5 A per unit: 0.5 A keep it there
    one = affine("a", 0.010, Ah=20.0, z=1.0, gassing_A=5.0)
    charger = Charger("c", (Stage(13.46 + 0.005),), limit_A=20.0)
    result = steady_run(one, chargers=(charger,), hours=20.0)
    assert result.timeline()["c.current_A"].iloc[-1] == approx(0.5, rel=1e-3)
    assert result.batteries[0].self_discharge_Ah > 5.0


def test_a_bleed_balancer_takes_only_from_the_high_cells():
    # hand-made: cells at 0.9 and 0.5 of 10 Ah on 3.2 V + 0.4 V z; 0.1 A for ten hours is 1 Ah
    high, low = (affine_cell(0.001, 10.0, z, base=3.2, span=0.4) for z in (0.9, 0.5))
    balancer = Balancer(Balancing.BLEED, 0.1, 3.4, 0.01)
    one = replace(battery("a", high, low), balancer=balancer)
    result = steady_run(one, hours=10.0)
    assert result.batteries[0].final_state_of_charge == approx((0.8, 0.5), abs=1e-6)
    assert result.batteries[0].balanced_Ah == approx(0.5, rel=1e-5)
    # it stops at 3.4 V, which is z = 0.5, and 10 mV apart: 0.525, with the 2 mV of its ramp
    later = steady_run(one, hours=100.0)
    assert later.batteries[0].final_state_of_charge == approx((0.525, 0.5), abs=2 * 0.002 / 0.4)
    assert later.bank.energy.balancers_Wh == approx(
        3.2 * 3.7 + 0.2 * (9**2 - 5.3**2) / 10, rel=0.02
    )


def test_a_transfer_balancer_moves_charge_and_loses_none():
    high, middle, low = (affine_cell(0.001, 10.0, z, base=3.2, span=0.4) for z in (0.9, 0.7, 0.5))
    one = replace(battery("a", high, middle, low), balancer=Balancer(Balancing.TRANSFER, 0.5))
    result = steady_run(one, hours=0.4)
    assert result.batteries[0].final_state_of_charge == approx((0.88, 0.7, 0.52), abs=1e-6)
    later = steady_run(one, hours=20.0)
    cells = later.batteries[0].final_state_of_charge
    assert sum(cells) == approx(2.1, rel=1e-12)
    assert max(cells) - min(cells) == approx(0.010 / 0.4, abs=0.002 / 0.4)
    assert later.batteries[0].balanced_Ah == approx(0.0, abs=1e-12)


def test_a_transfer_balancer_near_empty_wins_what_the_weak_cell_lacks():
    # cells of 10 and 9 Ah, both full; without it the bank ends when 9 Ah are out; the balancer can
    # carry half of the missing 1 Ah while 1 A flows for some 9 hours
    rule = Rule(Watch.LOWEST_CELL, True, 3.2)
    cells = [affine_cell(1e-4, Ah, 1.0, base=3.2, span=0.4) for Ah in (10.0, 9.0)]
    plain = battery("a", *cells, rules=[rule])
    helped = replace(plain, balancer=Balancer(Balancing.TRANSFER, 2.0, within_V=0.0))
    without, with_it = (
        run(bank_of(one, load=steady(1.0), duration_s=30 * H)) for one in (plain, helped)
    )
    assert without.batteries[0].delivered_Ah == approx(9.0, abs=0.01)
    # 2 mV of ramp leave the cells apart by at most that much, 0.005 of charge
    assert with_it.batteries[0].delivered_Ah == approx(9.5, abs=0.06)


def test_resistance_follows_arrhenius():
    # ratios for 33.8 kJ/mol: Electrochim. Acta 60 (2012) 269 (activation energy), worked out
    for celsius, ratio in ((-20.0, 11.29), (0.0, 3.48), (10.0, 2.06), (25.0, 1.0), (40.0, 0.520)):
        one = affine("a", 0.010, z=0.5, activation_J_mol=33.8e3)
        result = steady_run(one, load=steady(1.0), hours=1e-4, temperature_K=273.15 + celsius)
        drop = 13.1 - result.timeline()["a.voltage_V"].iloc[0]
        assert drop / 0.010 == approx(ratio, rel=2e-3)


def test_a_battery_warms_towards_its_steady_temperature():
    # C dT/dt = I^2 R - hA (T - Ta): 50 A on 10 mohm is 25 W, hA = 2.5 W/K, C = 9 kJ/K: 10 K, 1 h
    one = replace(affine("a", 0.010, Ah=1000.0), thermal=Thermal(9000.0, 2.5))
    result = steady_run(one, load=steady(50.0), hours=3.0)
    times = result.timeline()["time_s"].to_numpy()
    want = 25.0 + 10.0 * (1.0 - np.exp(-times / H))
    assert result.timeline()["a.temperature_C"].to_numpy() == approx(want, abs=1e-6)
    assert result.batteries[0].warmest_C == approx(want[-1], abs=1e-3)


def test_losses_of_every_kind_warm_a_battery():
    # in the steady state: 20 A through 5 + 1 mohm, a pair of 4 mohm, 8 mV of hysteresis
    cell = affine_cell(0.005, 5000.0, 0.9, relaxation=(RelaxationPair(0.004, 50.0),),
                       hysteresis_V=0.008, hysteresis_rate=1e4)  # fmt: skip
    one = replace(battery("a", cell, internal=0.001), thermal=Thermal(1000.0, 1.0))
    result = steady_run(one, load=steady(20.0), hours=3.0)
    heat = 400.0 * 0.010 + 20.0 * 0.008
    assert result.timeline()["a.temperature_C"].iloc[-1] == approx(25.0 + heat, abs=0.01)


@pytest.mark.parametrize("every_s", [1.0, 7.0, 60.0, 600.0])
def test_temperature_does_not_hang_on_how_often_it_is_written(every_s):
    # the relaxation pair lets the losses grow: 1 W by R0 at once, 4 W more with 300 s
    cell = replace(
        affine_cell(0.01, Ah=1000.0),
        relaxation=(RelaxationPair(0.04, 300.0),),
        activation_J_mol=0.0,
    )
    one = replace(battery("a", cell), thermal=Thermal(500.0, 0.05))
    bank = bank_of(one, load=steady(10.0), duration_s=1200, output_every_s=every_s)
    warmest = run(bank).batteries[0].warmest_C
    # by hand: C dT/dt = 1 + 4 (1 - exp(-t/300)) - 0.05 T
    assert warmest - 25.0 == approx(_warmed_K(1200.0), abs=2e-3)


def _warmed_K(time_s):
    tau, slow = 500.0 / 0.05, 300.0
    rate = 1.0 / slow - 1.0 / tau
    steady_K = 5.0 / 0.05 * (1.0 - math.exp(-time_s / tau))
    lag = 4.0 / 500.0 * (math.exp(-time_s / tau) - math.exp(-time_s / slow)) / rate
    return steady_K - lag


def test_a_battery_without_thermal_mass_follows_the_day():
    more = {"temperature_K": 288.15, "swing_K": 8.0, "warmest_s": 15 * H, "starts_at_s": 6 * H}
    table = steady_run(affine("a"), hours=48.0, **more).timeline()
    clock = table["time_s"] / H + 6.0
    want = 15.0 + 8.0 * np.cos(2 * np.pi * (clock - 15.0) / 24.0)
    assert table["a.temperature_C"].to_numpy() == approx(want.to_numpy(), abs=1e-9)


def test_a_thermal_mass_lags_behind_the_day():
    # first-order lag of a cosine: amplitude / sqrt(1 + (w tau)^2), phase atan(w tau), settled
    more = {"temperature_K": 288.15, "swing_K": 8.0, "warmest_s": 15 * H}
    one = replace(affine("a"), thermal=Thermal(36_000.0, 2.0))  # 5 h
    table = steady_run(one, hours=240.0, **more).timeline()
    late = table[table["time_s"] > 200 * H]
    turn = 2 * np.pi / 24.0 * 5.0
    want = 15.0 + 8.0 / math.hypot(1.0, turn) * np.cos(
        2 * np.pi * (late["time_s"] / H - 15.0) / 24.0 - math.atan(turn)
    )
    assert late["a.temperature_C"].to_numpy() == approx(want.to_numpy(), abs=1e-9)


def test_charge_is_blocked_in_the_frost_until_the_battery_has_warmed():
    # day between -5 and 5 degrees: blocked until above 3 degrees, blocked again below 0
    rule = Rule(Watch.TEMPERATURE, True, 273.15, 0.0, Blocks.CHARGE, Release(276.15))
    one = affine("a", 0.010, z=0.1, rules=[rule])
    more = {"temperature_K": 273.15, "swing_K": 5.0, "warmest_s": 12 * H}
    charger = Charger("c", (Stage(14.4),), limit_A=1.0)
    result = steady_run(one, hours=24.0, chargers=(charger,), **more)
    got = [(event.time_s / H, event.what) for event in result.events]
    # cos(2 pi (t - 12) / 24) = 0.6 and 0
    up = 12.0 - 24.0 * math.acos(0.6) / (2 * math.pi)
    assert got == [
        (0.0, "trip"),
        (approx(up, abs=1e-4), "release"),
        (approx(18.0, abs=1e-4), "trip"),
    ]
    assert result.batteries[0].charged_Ah == approx(18.0 - up, abs=1e-3)
    assert result.batteries[0].charged_below_freezing_Ah == approx(0.0, abs=1e-6)


def test_a_heater_warms_the_battery_while_a_charger_is_on():
    # 60 W on 9 kJ/K and 3 W/K from -10 degrees: T = -10 + 20 (1 - exp(-t / 3000 s))
    heater = Heater(60.0, 278.15, 281.15)
    rule = Rule(Watch.TEMPERATURE, True, 273.15, 0.0, Blocks.CHARGE, Release(276.15))
    one = replace(
        affine("a", 0.010, z=0.1, rules=[rule]), thermal=Thermal(9000.0, 3.0), heater=heater
    )
    schedule = Schedule(active_s=((0.0, 0.5 * H), (H, 4 * H)))
    charger = Charger("c", (Stage(14.4),), limit_A=10.0, schedule=schedule)
    result = steady_run(one, hours=4.0, chargers=(charger,), temperature_K=263.15)
    at_half = -10.0 + 20.0 * (1.0 - math.exp(-1800.0 / 3000.0))
    at_one = -10.0 + (at_half + 10.0) * math.exp(-1800.0 / 3000.0)
    table = result.timeline().set_index("time_s")["a.temperature_C"]
    assert (table.loc[1800.0], table.loc[H]) == (
        approx(at_half, abs=1e-6),
        approx(at_one, abs=1e-6),
    )
    (free,) = [event for event in result.events if event.what == "release"]
    warm = H + 3000.0 * math.log((20.0 - (at_one + 10.0)) / (20.0 - 13.0))
    assert free.time_s == approx(warm, abs=0.01)
    assert result.batteries[0].charged_Ah > 10.0


def test_less_can_be_drawn_in_the_cold_and_it_comes_back_with_the_warmth():
    # f(0 degC) = 0.8: the resistance rises from 0 by 10 ohm per unit below a = 0.1, which is 0.28
    # of the charge there: 1 A x 10 ohm x da = 12.8 + 0.6 z - 12.5 V with z = 0.2 + 0.8 a
    part = Curve.linear([253.15, 298.15], [0.64, 1.0])
    ohm = Curve.linear([-1.0, 0.1, 1.0], [11.0, 0.0, 0.0])
    one = affine("a", z=1.0, usable_part=part, rules=[Rule(Watch.LOWEST_CELL, True, 12.5)])
    one = replace(one, cells=(replace(one.cells[0], ohmic_ohm=ohm),))
    for kelvin, part_there in ((298.15, 1.0), (273.15, 0.8)):
        result = run(bank_of(one, load=steady(1.0), duration_s=200 * H, temperature_K=kelvin))
        a = (1.0 - 0.3 - 0.6 * (1.0 - part_there)) / (10.0 + 0.6 * part_there)
        z = 1.0 - part_there * (1.0 - a)
        assert result.batteries[0].delivered_Ah == approx(100.0 * (1.0 - z), abs=0.01)
        # at rest the cold changes nothing
        rest = steady_run(replace(one, cells=(replace(one.cells[0], state_of_charge=0.2),)))
        assert rest.timeline()["a.voltage_V"].iloc[-1] == approx(12.92)


def test_energy_and_charge_close():
    # every kind of loss at once
    cells = [
        affine_cell(0.002, 50.0, z, base=3.2, span=0.4, relaxation=(RelaxationPair(0.001, 60.0),),
                    hysteresis_V=0.01, coulombic_efficiency=0.95, standing_A=0.05, gassing_A=1.0,
                    available_fraction=0.6, well_rate_per_s=1e-4)
        for z in (0.8, 0.6, 0.7, 0.75)
    ]  # fmt: skip
    full = Rule(Watch.HIGHEST_CELL, False, 3.5, 2.0, Blocks.CHARGE, Release(3.4, 60.0))
    one = replace(
        battery("a", *cells, rules=[full], lead=0.002, internal=0.001),
        balancer=Balancer(Balancing.BLEED, 0.2, 3.3),
        thermal=Thermal(8000.0, 2.0),
    )
    two = affine("b", 0.004, 80.0, 0.6, base=12.8, span=1.6, lead=0.001)
    charger = Charger("c", (Stage(14.3, tail_A=3.0), Stage(13.8)), limit_A=30.0,
                      schedule=Schedule(active_s=((3 * H, 9 * H),)))  # fmt: skip
    load = steady(250.0, exponent=0.0, schedule=Schedule(duty_s=(1200.0, 1800.0)))
    bank = bank_of(
        one, two, load=load, chargers=(charger,), duration_s=24 * H, stop_when_empty=False
    )
    result = run(bank)
    energy = result.bank.energy
    through = energy.loads_Wh + energy.chargers_Wh
    assert abs(energy.residual_Wh) < 1e-9 * through
    assert result.bank.ledger_residual_Ah < 1e-9 * 50.0
    losses = [energy.ohmic_Wh, energy.charging_Wh, energy.self_discharge_Wh, energy.balancers_Wh,
              energy.diodes_Wh, energy.leads_Wh]  # fmt: skip
    assert min(losses) > 0.0
    assert all(0.5 < outcome.efficiency < 1.0 for outcome in result.batteries)
    assert result.bank.efficiency < 1.0


def test_what_the_cells_give_is_what_their_curves_hold():
    # independent of the power ledger: integral of U over the charge, here U0 Q dz + a Q (dz^2) / 2
    result = steady_run(affine("a", 0.010, z=0.9), load=steady(30.0), hours=2.0)
    held = 100.0 * (12.8 * 0.6 + 0.3 * (0.9**2 - 0.3**2))
    assert result.bank.energy.cells_Wh == approx(held, rel=1e-6)


def test_an_ideal_cell_runs_back_to_where_it_was():
    # time reversal: the same current the other way for the same time
    one = affine("a", 0.0, z=0.5)
    result = steady_run(one, load=stepped([0.0, H, 2 * H], [20.0, -20.0, 0.0]), hours=3.0)
    assert result.batteries[0].final_state_of_charge == (approx(0.5, abs=1e-12),)
    assert result.batteries[0].efficiency == approx(1.0, rel=1e-9)


def test_equal_batteries_at_rest_stay_put():
    pair = [affine(name, 0.010, z=0.7) for name in "ab"]
    result = steady_run(*pair, hours=240.0)
    assert [b.delivered_Ah for b in result.batteries] == [0.0, 0.0]
    assert [b.final_state_of_charge for b in result.batteries] == [(0.7,), (0.7,)]


def test_the_gain_of_a_balancer_is_told_beside_the_run():
    rule = Rule(Watch.LOWEST_CELL, True, 3.2)
    cells = [affine_cell(1e-4, Ah, 1.0, base=3.2, span=0.4) for Ah in (10.0, 9.0)]
    helped = replace(
        battery("a", *cells, rules=[rule]),
        balancer=Balancer(Balancing.TRANSFER, 2.0, within_V=0.0),
    )
    gain = run(bank_of(helped, load=steady(1.0), duration_s=30 * H)).balancing
    assert (gain.names, gain.without_Ah) == (("a",), approx(9.0, abs=0.01))
    assert gain.delivered_Ah - gain.without_Ah == approx(0.5, abs=0.06)
    assert gain.runtime_s - gain.without_runtime_s == approx(0.5 * H, abs=0.06 * H)
    assert run(bank_of(affine("a"), load=steady(1.0))).balancing is None

"""What people at the bench see. Every value here: common practice, no source."""

from dataclasses import replace

import numpy as np
import pytest
from pytest import approx
from simple_banks import affine, bank_of, steady
from simple_banks import run as simulated

from bankSim.model.bank import Bank, Wiring
from bankSim.model.battery import Battery
from bankSim.model.lfp import typical_cell
from bankSim.model.load import Load, Schedule
from bankSim.model.rule import Rule, Watch


def lfp(name, Ah, charges=(1.0,) * 4, *, label=None, limit=2.2):
    label = label or Ah
    cells = tuple(replace(typical_cell(label, Ah * 3600.0), state_of_charge=z) for z in charges)
    rules = (Rule(Watch.LOWEST_CELL, True, limit, 2.0),)
    return Battery(name, cells, 0.15 / label, 1e-3, rules, label * 3600.0)


def drawn(*batteries, amount, exponent=0.0, hours=300.0, schedule=Schedule()):
    load = Load("load", exponent, np.array([0.0]), np.array([amount]), schedule)
    bank = Bank(batteries, Wiring(), (load,), duration_s=hours * 3600.0, output_every_s=300.0)
    return simulated(bank)


@pytest.mark.parametrize("seed", range(6))
def test_cut_out_voltage_scatters_while_the_charge_repeats(seed):
    # rule "any cell at 2.2 V", cells up to about 0.3 % apart in charge: the battery reads about
    # 9.0 to 9.9 V and the other cells about 2.25 to 2.5 V (one that is nearly as low as the
    # deciding cell reads 2.2 V too), while the Ah repeat within 2 %
    rng = np.random.default_rng(seed)
    charges = 1.0 - rng.uniform(0.0, 0.003, 4)
    outcome = drawn(lfp("a", 100.0, charges), amount=60.0)
    event = outcome.events[0]
    others = np.delete(event.cell_voltages_V, event.cell - 1)
    assert 8.95 <= event.battery_voltage_V <= 9.9
    assert 2.25 <= others.max() <= 2.5
    even = drawn(lfp("a", 100.0), amount=60.0)
    assert outcome.batteries[0].delivered_Ah == approx(even.batteries[0].delivered_Ah, rel=0.02)


def test_a_small_load_gets_the_sum_of_both_batteries():
    # 160 Ah (measured 161) beside 120 Ah (measured 128) on a small fridge gave 289 Ah: each what
    # it gives alone within 1 %, while now one and now the other carried more
    fridge = {"amount": 60.0, "schedule": Schedule(duty_s=(1200.0, 1500.0))}
    old, new = lfp("large", 161.0, label=160.0), lfp("small", 128.0, label=120.0)
    alone = [drawn(one, **fridge).batteries[0].delivered_Ah for one in (old, new)]
    together = drawn(old, new, **fridge)
    assert together.bank.delivered_Ah == approx(289.0, rel=0.01)
    assert [b.delivered_Ah for b in together.batteries] == approx(alone, rel=0.01)
    table = together.timeline()
    per_Ah = table["large.current_A"] / 161.0 - table["small.current_A"] / 128.0
    loaded = table["bank.current_A"] > 1.0
    assert (per_Ah[loaded] > 0).any()
    assert (per_Ah[loaded] < 0).any()


def test_a_fridge_that_draws_less_at_low_voltage():
    # 5.4 A near 13.3 V and 3.8 A near 10.95 V: a power law through both readings has
    # n = 1 + ln(5.4/3.8)/ln(13.3/10.95); the check is that a load of such an exponent, far from
    # constant power, can be given and draws that from a bank
    exponent = 1.0 + np.log(5.4 / 3.8) / np.log(13.3 / 10.95)
    assert exponent > 2.0
    for volts, amperes in ((13.3, 5.4), (10.95, 3.8)):
        source = affine("a", 1e-9, base=volts, span=0.0)
        load = steady(5.4 * 13.3 ** (1.0 - exponent), exponent)
        table = simulated(bank_of(source, load=load, duration_s=60)).timeline()
        assert table["bank.current_A"].iloc[0] == approx(amperes, abs=0.05)


@pytest.mark.parametrize(("left", "volts"), [(0.35, 13.09), (0.24, 12.98)])
def test_voltage_under_a_small_load(left, volts):
    # 4 cells, 160 Ah, C/30: 13.09 V with 35 % left and 12.98 V with 24 %; allow 0.1 V
    table = drawn(lfp("a", 160.0), amount=160.0 / 30.0, exponent=1.0).timeline()
    row = table.iloc[(table["a.state_of_charge"] - left).abs().argmin()]
    assert row["bank.voltage_V"] == approx(volts, abs=0.1)

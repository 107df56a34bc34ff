"""Resistances that differ by direction, met by search: Ohm's law with the one that fits.

R0 is 25 mohm at 0, 15 mohm at 0.1, 5 mohm from 0.3 of charge on; on charge it is 5 mohm anywhere.
"""

from dataclasses import replace

import numpy as np
import pytest
from bridge import bridge
from pytest import approx
from simple_banks import affine_cell, bank_of, battery, steady

from bankSim.kernels import arrays as k
from bankSim.kernels import instant
from bankSim.model.charger import Charger, Stage
from bankSim.model.curve import Curve
from bankSim.sim.pack import pack_bank, start_run

search_both_ways = bridge(instant.search_both_ways)
split_both_ways = bridge(instant.split_both_ways)
see = bridge(instant.see)

AT, OHM = [0.0, 0.1, 0.3, 1.0], [25e-3, 15e-3, 5e-3, 5e-3]
LEAD_OHM, LIMIT_A, HOLD_V = (1e-3, 2e-3, 3e-3), 40.0, 14.4


def nearly_empty(seed):
    """Return a bank of three, a run, and what they were made of."""
    rng = np.random.default_rng(seed)
    levels, curve = rng.uniform(0.02, 0.28, 3), Curve.linear(AT, OHM)
    cells = [
        replace(affine_cell(Ah=50.0, z=z, span=3.0), ohmic_ohm=curve, charge_ohm_from=0.3)
        for z in levels
    ]
    batteries = [
        battery(name, cell, lead=ohm)
        for name, cell, ohm in zip("abc", cells, LEAD_OHM, strict=True)
    ]
    charger = Charger("c", (Stage(HOLD_V),), limit_A=LIMIT_A)
    bank = bank_of(*batteries, load=steady(1.0), chargers=(charger,))
    packed = pack_bank(bank, relative=1e-4, absolute_A=1e-6, every_s=60.0, most_edges=0)
    run = start_run(bank, packed, rows=0)
    run.source["on"], run.source["stage"] = 1, 0
    run.now[4, k.CURRENT] = 99.0
    run.level[:] = rng.uniform(100.0, 1500.0), rng.uniform(-10.0, 40.0), 0.0
    run.tally["stiff"], run.tally["guess"] = rng.uniform(1e-3, 9e-3, 3), rng.uniform(-20, 20, 3)
    return packed, run, levels


@pytest.mark.parametrize("stiff", [0.0, 1.0])
@pytest.mark.parametrize("seed", range(6))
def test_what_flows_fits_the_resistance_of_its_direction(seed, stiff):
    bank, run, levels = nearly_empty(seed)
    assert search_both_ways(bank, run, run.moment, run.now, stiff) == k.OK
    current, loads_V, given = run.now[:3, k.CURRENT], run.now[3, k.AT_LOADS], run.now[4, k.CURRENT]
    ohm = np.where(current < 0.0, 5e-3, np.interp(levels, AT, OHM))
    more = stiff * run.tally["stiff"]
    emf = 12.8 + 3.0 * levels + more * run.tally["guess"]
    assert run.now[:3, k.OHM] == approx(ohm)
    assert run.now[:3, k.EMF] == approx(emf)
    assert emf - (ohm + np.array(LEAD_OHM) + more) * current == approx(
        np.full(3, loads_V), abs=1e-7
    )
    assert current.sum() + given == approx(run.level[0] / loads_V + run.level[1], abs=1e-5)
    assert given == approx(LIMIT_A) if loads_V < HOLD_V - 1e-8 else given <= LIMIT_A
    assert run.now[3, k.TOTAL] == approx(current.sum())


def test_both_directions_occur_in_these_banks():
    seen = set()
    for seed in range(6):
        bank, run, _ = nearly_empty(seed)
        search_both_ways(bank, run, run.moment, run.now, 0.0)
        seen.add(tuple(run.now[:3, k.CURRENT] < 0.0))
    assert any(any(one) and not all(one) for one in seen)


def test_without_an_answer_nothing_flows_anywhere():
    bank, run, levels = nearly_empty(1)
    run.level[:] = 50_000.0, 0.0, 0.0
    run.now[3, [k.BUS, k.TOTAL, k.AT_LOADS]] = 9.0
    assert search_both_ways(bank, run, run.moment, run.now, 0.0) == k.SHORTFALL
    assert not run.now[:, k.CURRENT].any()
    assert not run.now[3, [k.BUS, k.TOTAL, k.AT_LOADS]].any()
    assert run.now[:3, k.OHM] == approx(np.interp(levels, AT, OHM))  # that of no charge


@pytest.mark.parametrize("seed", range(6))
def test_the_short_way_finds_the_same_where_it_ends(seed):
    found = []
    for solve in (search_both_ways, split_both_ways):
        bank, run, _ = nearly_empty(seed)
        run.level[0] = 0.0  # then there is one answer only
        see(bank, run, run.moment, run.now, 0.0)
        assert solve(bank, run, run.moment, run.now, 0.0) == k.OK
        found.append(run.now[:, k.CURRENT].copy())
    assert found[0] == approx(found[1], abs=1e-6)


def test_loads_are_not_refused_for_a_resistance_of_charge():
    # 25 mohm on charge, 5 mohm on discharge: E = 13.1 V give 1.7 kW or 8.6 kW; charged until now
    rising = Curve.linear([0.0, 0.2, 0.3, 1.0], [5e-3, 5e-3, 25e-3, 25e-3])
    cell = replace(affine_cell(z=0.1, span=3.0), ohmic_ohm=rising, charge_ohm_from=0.3)
    bank_made = bank_of(battery("a", cell), load=steady(1.0))
    bank = pack_bank(bank_made, relative=1e-4, absolute_A=1e-6, every_s=60.0, most_edges=0)
    run = start_run(bank_made, bank, rows=0)
    run.level[:], run.now[0, k.CURRENT] = (3000.0, 0.0, 0.0), -1.0
    see(bank, run, run.moment, run.now, 0.0)
    assert run.now[0, k.OHM] == approx(25e-3)
    assert split_both_ways(bank, run, run.moment, run.now, 0.0) == k.OK
    current_A, loads_V = run.now[0, k.CURRENT], run.now[1, k.AT_LOADS]
    assert current_A * loads_V == approx(3000.0)
    assert loads_V == approx(13.1 - 5e-3 * current_A)

"""What must hold for any bank at all (Hypothesis): conservation, symmetry, scaling, promises."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pytest import approx
from random_banks import random_bank
from random_hybrids import random_hybrid
from simple_banks import bank_of, run

from bankSim.kernels.arrays import AT_LOADS, PER_BATTERY
from bankSim.model.bank import Bank, Layout, Wiring
from bankSim.sim.demand import build_demand
from bankSim.sim.engine import Engine
from bankSim.sim.run import ledger_gap

seeds = st.integers(0, 10**6)
few = settings(max_examples=15, deadline=None)


@few
@given(seeds)
def test_charge_ledger_closes(seed):
    engine = Engine(random_bank(seed)).finish()
    throughput = engine.run.tally["out"] + engine.run.tally["into"]
    counts = engine.packed.battery["end"] - engine.packed.battery["first"]
    allowed = 1e-9 * np.repeat(np.maximum(throughput, 1.0), counts)
    assert np.all(np.abs(ledger_gap(engine)) <= allowed)
    clock = engine.run.clock[0]
    net = engine.run.tally["out"].sum() - engine.run.tally["into"].sum()
    assert net == approx(clock["bank_out"] - clock["bank_into"], rel=1e-9, abs=1e-6)


@few
@given(seeds)
def test_currents_sum_to_the_load_at_every_recorded_instant(seed):
    bank = random_bank(seed)
    result = run(bank)
    trace, n = result.trace, len(bank.batteries)
    currents = trace[:, 5 : 5 + PER_BATTERY * n : PER_BATTERY]
    assert currents.sum(axis=1) == approx(trace[:, 3], rel=1e-10, abs=1e-9)
    # the load's own law at the voltage it sees, outside the instants of switching
    table = result.timeline()
    rows = trace[np.isin(trace[:, 1], (0.0,))]
    edge, demand, exponent = build_demand(bank)
    segment = np.searchsorted(edge, rows[:, 0], side="right") - 1
    clear = np.min(np.abs(rows[:, :1] - edge[None, :]), axis=1) > 1e-6
    volts = rows[:, 2 + AT_LOADS]
    level = demand[segment]  # one block: no load cuts itself off
    want = level[:, 0] / volts + level[:, 1] + level[:, 2] * volts
    for i, power in enumerate(exponent):
        want = want + level[:, 3 + i] * volts ** (power - 1.0)
    assert rows[clear, 3] == approx(want[clear], rel=1e-9)
    assert np.all(np.diff(table["time_s"]) > 0.0)


@few
@given(seeds)
def test_energy_is_never_created(seed):
    # what cells, chargers and loads that feed back give is what loads take and what is lost; no
    # loss is negative but hysteresis and relaxation, which may give back what they stored
    result = run(random_hybrid(seed))
    energy = result.bank.energy
    into = abs(energy.cells_Wh) + energy.chargers_Wh + energy.fed_back_Wh
    assert abs(energy.residual_Wh) <= 1e-9 * into
    assert result.bank.ledger_residual_Ah <= 1e-9 * max(b.rated_Ah for b in result.batteries)
    kinds = ("ohmic", "charging", "self_discharge", "balancers", "diodes", "leads")
    assert min(getattr(energy, f"{kind}_Wh") for kind in kinds) >= -1e-9 * into
    assert result.bank.efficiency is None or result.bank.efficiency <= 1.0


@few
@given(seeds, st.integers(2, 5))
def test_identical_batteries_share_equally(seed, count):
    bank = random_bank(seed, batteries=2)
    clones = tuple(replace(bank.batteries[0], name=f"c{i}") for i in range(count))
    result = run(replace(bank, batteries=clones, wiring=Wiring()))
    first = result.batteries[0]
    for other in result.batteries[1:]:
        assert other.delivered_Ah == approx(first.delivered_Ah, rel=1e-7)
        assert other.share_at_start == approx(1.0 / count, rel=1e-9)
    assert len({event.time_s for event in result.events if event.cuts_out}) <= 1


@few
@given(seeds, st.randoms(use_true_random=False))
def test_permuting_batteries_permutes_results(seed, random):
    bank = random_bank(seed)
    order = list(range(len(bank.batteries)))
    random.shuffle(order)
    bank = replace(bank, wiring=replace(bank.wiring, layout=Layout.EQUAL_LEADS))
    shuffled = replace(bank, batteries=tuple(bank.batteries[i] for i in order))
    one, two = run(bank), run(shuffled)
    by_name = {outcome.name: outcome for outcome in two.batteries}
    for outcome in one.batteries:
        assert by_name[outcome.name].delivered_Ah == approx(outcome.delivered_Ah, rel=1e-6)
    assert [e.battery for e in one.events] == [e.battery for e in two.events]
    assert [e.time_s for e in one.events] == approx([e.time_s for e in two.events], abs=0.1)


@few
@given(seeds)
def test_a_row_reads_the_same_from_both_ends(seed):
    bank = random_bank(seed)
    far = replace(bank, wiring=Wiring(Layout.OPPOSITE_ENDS, 3e-4, 1e-4))
    one, two = run(far), run(replace(far, batteries=far.batteries[::-1]))
    want = [outcome.delivered_Ah for outcome in one.batteries]
    assert [outcome.delivered_Ah for outcome in two.batteries[::-1]] == approx(want, rel=1e-6)


def scaled(bank, s):
    """The same bank with all Ah and currents times s and all resistances over s."""
    members = []
    for one in bank.batteries:
        cells = tuple(
            replace(
                cell,
                ohmic_ohm=cell.ohmic_ohm.scaled(1 / s),
                charge_C=cell.charge_C * s,
                standing_A=cell.standing_A * s,
                charge_lag=cell.charge_lag.scaled(1 / s),
                relaxation=tuple(
                    replace(pair, resistance_ohm=pair.resistance_ohm / s)
                    for pair in cell.relaxation
                ),
            )
            for cell in one.cells
        )
        rules = tuple(
            replace(rule, threshold=rule.threshold * (s if rule.watches.unit == "A" else 1.0))
            for rule in one.rules
        )
        members.append(
            replace(one, cells=cells, rules=rules, internal_ohm=one.internal_ohm / s,
                    lead_ohm=one.lead_ohm / s, rated_C=one.rated_C * s)
        )  # fmt: skip
    wiring = replace(
        bank.wiring, link_ohm=bank.wiring.link_ohm / s, main_ohm=bank.wiring.main_ohm / s
    )
    loads = tuple(
        type(load)(load.name, load.exponent, load.profile_s, load.profile_amount * s)
        for load in bank.loads
    )
    return Bank(tuple(members), wiring, loads, duration_s=bank.duration_s)


@few
@given(seeds, st.floats(0.05, 20.0))
def test_scaling_capacity_and_current_leaves_voltages_unchanged(seed, s):
    bank = random_bank(seed)
    # the absolute tolerance does not scale: it is put far below the relative one
    tight = {"relative_tolerance": 1e-6, "absolute_tolerance_A": 1e-9}
    one, two = run(bank, **tight), run(scaled(bank, s), **tight)
    assert two.end_time_s == approx(one.end_time_s, rel=1e-5)
    for a, b in zip(one.batteries, two.batteries, strict=True):
        assert b.delivered_Ah == approx(a.delivered_Ah * s, rel=1e-5)
    rows = slice(0, min(len(one.timeline()), len(two.timeline())) - 5)
    first, second = (r.timeline()["bank.voltage_V"].to_numpy()[rows] for r in (one, two))
    switchings = np.array([-9.0, *(event.time_s for event in one.events)])
    t = one.timeline()["time_s"].to_numpy()[rows]
    clear = np.min(np.abs(t[:, None] - switchings[None, :]), axis=1) > 5.0
    assert first[clear] == approx(second[clear], abs=2e-4)


@few
@given(seeds, st.sampled_from([1e-2, 1e-3, 1e-4, 1e-5]))
def test_a_finer_tolerance_moves_results_by_less_than_the_coarser_promised(seed, coarse):
    bank = random_bank(seed)
    wide = run(bank, relative_tolerance=coarse, absolute_tolerance_A=1e-9)
    fine = run(bank, relative_tolerance=coarse / 100, absolute_tolerance_A=1e-9)
    for a, b in zip(wide.batteries, fine.batteries, strict=True):
        throughput = b.delivered_Ah + b.charged_Ah
        assert abs(a.delivered_Ah - b.delivered_Ah) <= coarse * throughput
    assert wide.end_time_s == approx(fine.end_time_s, rel=coarse)


@few
@given(seeds)
def test_nothing_is_ever_not_a_number(seed):
    result = run(random_bank(seed))
    assert np.isfinite(result.trace).all()
    assert not result.numerics.forced_steps


def test_a_bank_without_loads_only_evens_out():
    bank = random_bank(3)
    result = run(bank_of(*bank.batteries, duration_s=3600.0))
    assert result.bank.delivered_Ah == pytest.approx(0.0, abs=1e-9)
    out = sum(outcome.delivered_Ah for outcome in result.batteries)
    into = sum(outcome.charged_Ah for outcome in result.batteries)
    assert out == approx(into, rel=1e-9)
    assert out > 0.0

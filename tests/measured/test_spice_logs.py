"""Logs of batteries with known true values, solved by ngspice: is in them what ought to be?

Everything is checked against ngspice or closed forms, with our reading and counting only.
"""

from functools import cache

import numpy as np
import pytest
from pytest import approx
from simple_banks import bank_of, stepped
from simple_banks import battery as solver_battery
from simple_banks import run as solve
from spice_logs import (
    FLAT,
    ROUGH,
    SLOPING,
    MadeBattery,
    MadeCell,
    Meter,
    bench,
    deck,
    discharge,
    drive,
    equal_cells,
    log_of,
    needs_ngspice,
    pulses,
    readings,
    solved,
    write_log,
)

from bankSim.measured.log import CHARGE_POSITIVE, Asked
from bankSim.measured.read import read_log
from bankSim.model.cell import Cell, RelaxationPair
from bankSim.model.curve import Curve
from bankSim.model.rule import Blocks, Rule, Watch

pytestmark = needs_ngspice
AS_WRITTEN = Asked(sign=CHARGE_POSITIVE)
IDEAL = Meter(0.0, 0.0, 0.0, 0.0, 0.0, 0.0)
UNEVEN = MadeBattery(
    (
        MadeCell(101.3, 0.99, 0.9),
        MadeCell(98.1, 0.985, 1.1, pairs=((0.6, 30.0), (0.7, 600.0))),
        MadeCell(103.0, 0.98, 1.0, pairs=((0.4, 60.0),)),
        MadeCell(100.2, 0.99, 1.3, pairs=()),
    ),
    internal_mohm=1.5,
)
PROFILES = {
    "steady": (UNEVEN, discharge(20.0, 6.0, rest_s=600.0)),
    "pulses": (UNEVEN, pulses(40.0, 600.0, 1200.0, 16)),
    "drive": (UNEVEN, drive(3, 60.0, 8.0)),
    "sloping": (equal_cells(7, start=0.97, ocv=SLOPING, capacity_Ah=60.0), discharge(15.0, 5.0)),
}


def random_battery(rng):
    """Four cells whose capacities differ by some 2 %, with fills and resistances to match."""
    cells = [
        MadeCell(100.0 * rng.normal(1.0, 0.02), rng.uniform(0.97, 1.0), rng.uniform(0.7, 1.4))
        for _ in range(4)
    ]
    return MadeBattery(tuple(cells), internal_mohm=rng.uniform(0.5, 3.0))


def twin_of(made):
    """The same battery as our solver knows it."""
    cells = (
        Cell(
            Curve.linear(*zip(*cell.ocv, strict=True)),
            Curve.constant(cell.ohmic_mohm / 1000.0),
            cell.capacity_Ah * 3600.0,
            cell.start,
            tuple(RelaxationPair(mohm / 1000.0, tau) for mohm, tau in cell.pairs),
        )
        for cell in made.cells
    )
    cut_out = Rule(Watch.LOWEST_CELL, True, 2.5, 0.0, Blocks.DISCHARGE)
    return solver_battery("bench", *cells, rules=[cut_out], internal=made.internal_mohm / 1000.0)


def solver_run(made, profile, every_s):
    """Our solver's run of the same profile to the cut-out, on samples as far apart."""
    lengths, amps = zip(*profile, strict=True)
    starts = np.concatenate([[0.0], np.cumsum(lengths)[:-1]])
    bank = bank_of(
        twin_of(made), load=stepped(starts, amps), duration_s=sum(lengths),
        output_every_s=every_s,
    )  # fmt: skip
    return solve(bank, relative_tolerance=1e-6)


def test_one_current_against_the_closed_form():
    # Q (z0 - z) with U(z) = limit + R I once the relaxation has settled, and t = Q / I
    made = equal_cells(3, capacity_Ah=80.0, start=0.97, pairs=((0.5, 40.0), (0.3, 400.0)))
    run = bench(made, discharge(40.0, 3.0), cut_V=2.7, every_s=1.0)
    rest_V = 2.7 + 40.0 * (1.0 + 0.5 + 0.3) / 1000.0
    z, volts = np.array(FLAT).T
    given_Ah = 80.0 * (0.97 - np.interp(rest_V, volts, z))
    assert run.cut_Ah == approx(given_Ah, rel=2e-5)
    assert run.cut_s == approx(3600.0 * given_Ah / 40.0, rel=2e-5)


def test_a_relaxation_pair_against_the_closed_form():
    # v(t) = R I (1 - exp(-t / tau)) in the pulse, falling with the same tau after it
    level = ((0.0, 3.3), (1.0, 3.3))
    made = MadeBattery((MadeCell(50.0, 0.8, 2.0, ((3.0, 120.0),), level),))
    run = bench(made, ((300.0, 30.0), (900.0, 0.0)), every_s=5.0)
    on = run.time_s[1:] <= 300.0
    after = np.maximum(run.time_s[1:] - 300.0, 0.0)
    charged = 1.0 - np.exp(-np.minimum(run.time_s[1:], 300.0) / 120.0)
    sag_V = 0.09 * charged * np.exp(-after / 120.0) + np.where(on, 0.06, 0.0)
    # 0.1 mV: the step of the integration, and the ramp of 0.01 s
    assert 3.3 - run.voltage_V[1:] == approx(sag_V, abs=1e-4)


@pytest.fixture(scope="module", params=PROFILES)
def both(request):
    """The same profile by ngspice and by our solver, and when it changes."""
    made, profile = PROFILES[request.param]
    run = bench(made, profile, every_s=20.0, max_step_s=0.5)
    return run, solver_run(made, profile, 20.0), np.cumsum([length for length, _ in profile])


def test_our_solver_finds_the_same_voltages(both):
    # 0.2 mV a cell: where a table bends, between two of ngspice's steps; elsewhere 0.02 mV
    run, ours, changes = both
    apart = np.abs(run.time_s[:, None] - changes).min(axis=1) > 1.0  # not while it steps
    apart[0] = False
    assert apart.sum() > 0.5 * run.time_s.size
    timeline = ours.timeline()
    at = np.searchsorted(timeline["time_s"], run.time_s[apart] - 1e-6)
    assert timeline["time_s"].to_numpy()[at] == approx(run.time_s[apart])
    rough = 0
    for place in range(run.cells_V.shape[1]):
        found = timeline[f"bench.cell{place + 1}_voltage_V"].to_numpy()[at]
        assert found == approx(run.cells_V[apart, place], abs=2e-4)
        rough += (np.abs(found - run.cells_V[apart, place]) > 2e-5).sum()
    assert rough <= 10
    found = timeline["bench.voltage_V"].to_numpy()[at]
    assert found == approx(run.voltage_V[apart], abs=2e-4 * run.cells_V.shape[1])


def test_our_solver_cuts_out_with_the_same_charge(both):
    # a tenth of a second; the ramps of 0.01 s of ngspice's load, times the largest current
    run, ours, _ = both
    (event,) = [event for event in ours.events if event.cuts_out]
    assert event.time_s == approx(run.cut_s, abs=0.1)
    given_Ah = ours.batteries[0].delivered_Ah - ours.batteries[0].charged_Ah
    assert given_Ah == approx(run.cut_Ah, rel=1e-5)


@pytest.mark.parametrize("seed", range(6))
def test_the_capacity_is_found_again_by_counting(seed, tmp_path):
    # 0.5 %, with steps of 10 mV and 0.1 A and noise, but an ideal gain
    rng = np.random.default_rng(seed)
    load = discharge(rng.uniform(8.0, 45.0), 14.0, rest_s=900.0)
    run = bench(random_battery(rng), load, every_s=20.0)
    log = read_log(write_log(tmp_path / "log.csv", run, Meter(seed=seed)), AS_WRITTEN)
    assert log.counted_Ah()[-1] == approx(run.cut_Ah, rel=0.005)
    assert log.cells_V.shape == (run.time_s.size, 4)


@pytest.mark.parametrize("name", ["pulses", "drive"])
def test_counting_pulses(name, tmp_path):
    # samples every 10 s see a change of current up to 5 s early or late
    made, profile = PROFILES[name]
    run = bench(made, profile)
    log = read_log(write_log(tmp_path / "log.csv", run, Meter(seed=4)), AS_WRITTEN)
    assert log.counted_Ah()[-1] == approx(run.counted_Ah[-1], rel=0.005)


@cache
def uneven():
    """One discharge, read by several meters."""
    return bench(UNEVEN, discharge(20.0, 6.0))


def test_a_wrong_gain_and_an_offset_are_seen_in_the_count(tmp_path):
    run = uneven()
    meter = Meter(gain_A=1.02, offset_A=0.2)
    log = read_log(write_log(tmp_path / "log.csv", run, meter), AS_WRITTEN)
    assert log.counted_Ah()[-1] == approx(1.02 * run.cut_Ah + 0.2 * run.cut_s / 3600, rel=0.003)


def weakest_at_the_end(log):
    """The cell with the lowest voltage over the last three rows of a log, from 0."""
    return int(np.argmin(log.cells_V[-3:].mean(axis=0)))


def test_the_weakest_cell_is_seen_just_before_the_cut_out():
    right = 0
    for case in range(40):
        rng = np.random.default_rng([7, case])
        made = random_battery(rng)
        profile = discharge(rng.uniform(15.0, 50.0), 8.0)
        run = bench(made, profile, every_s=60.0, max_step_s=60.0, reltol=ROUGH)
        held = [cell.start * cell.capacity_Ah for cell in made.cells]
        right += weakest_at_the_end(log_of(run, Meter(seed=case))) == int(np.argmin(held))
    assert right >= 38


def test_meter_faults_are_what_was_asked():
    run = uneven()
    ideal = readings(run, IDEAL)
    assert ideal.voltage_V == approx(run.voltage_V, abs=0.0)
    rough = readings(run, Meter(gaps_s=((1000.0, 600.0),), seed=2))
    assert run.time_s.size - rough.time_s.size == 60
    assert np.diff(rough.time_s).max() == approx(610.0)
    assert rough.current_A * 10.0 == approx(np.round(rough.current_A * 10.0), abs=1e-9)
    assert rough.cells_V * 100.0 == approx(np.round(rough.cells_V * 100.0), abs=1e-9)
    kept = np.isin(run.time_s, rough.time_s)
    # sd of noise 5 mV and of rounding to 10 mV (step / sqrt 12) together
    spread = (rough.voltage_V - run.voltage_V[kept]).std()
    assert spread == approx(np.hypot(0.005, 0.01 / np.sqrt(12.0)), rel=0.1)


def test_a_seed_draws_the_same_log_again(tmp_path):
    run = uneven()
    first, again, other = (
        write_log(tmp_path / f"{n}.csv", run, Meter(seed=seed)).read_bytes()
        for n, seed in enumerate((5, 5, 6))
    )
    assert first == again != other


def test_the_rebound_after_the_cut_out():
    run = bench(UNEVEN, discharge(20.0, 6.0), rebound_s=1800.0)
    after = run.time_s > run.cut_s + 1.0
    assert after.sum() in (179, 180)
    assert np.abs(run.current_A[after]).max() < 1e-9
    assert run.counted_Ah[-1] == approx(run.cut_Ah, rel=1e-5)
    assert np.all(np.diff(run.cells_V[after].sum(axis=1)) >= -1e-7)
    assert run.cells_V[~after].min() == approx(2.5, abs=0.02)


def test_a_broken_netlist_is_no_run():
    broken = MadeBattery((MadeCell(ocv=((0.5, 3.0), (0.5, float("nan")))),))
    with pytest.raises(RuntimeError, match="ngspice"):
        solved(broken, discharge(1.0, 1.0), 10.0)


def test_the_netlist_is_written_by_the_helper_alone():
    text = deck(UNEVEN, discharge(20.0, 1.0))
    assert text.count("Bcell") == 4
    assert ".tran 10.0 3600.0" in text

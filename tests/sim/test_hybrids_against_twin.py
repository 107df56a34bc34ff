"""Random banks that are charged, block and come back, against the slow plain twin.

Limits: Ah within 0.02 %, the same events in the same order, each within 0.5 s or 2e-5 of the time,
the currents just after within 0.2 % of the largest.
"""

from dataclasses import replace

import numpy as np
import pytest
from pytest import approx
from random_hybrids import random_hybrid
from simple_banks import run

from bankSim.crosscheck.twin import solve_twin
from bankSim.model.curve import Curve
from bankSim.sim.result import MAY_RETURN, RELEASE, STAGE, TRIP


def ours_of(result, names):
    return [
        (event.time_s, event.what, names.index(event.battery) if event.battery else None, event)
        for event in result.events
        if event.what != MAY_RETURN
    ]


def theirs_of(twin):
    """The twin also tells when a schedule switches a charger on."""
    return [
        (event.time_s, event.what, event.battery, event)
        for event in twin.events
        if not (event.what == STAGE and event.value == 1)
    ]


@pytest.mark.parametrize("seed", [29, 34])
def test_random_hybrid_bank(seed):
    agree(random_hybrid(seed))


@pytest.mark.parametrize("seed", [3, 22, 29])
def test_random_hybrid_bank_near_empty(seed):
    # resistances rise there, for discharge only: beside body diodes, chargers and returns
    agree(run_down(random_hybrid(seed), seed))


def run_down(bank, seed):
    """The bank with 3 to 35 % of charge, and resistances that rise 3 to 12 times near empty."""
    rng = np.random.default_rng(seed + 10**6)

    def low(cell):
        ohm, times = float(cell.ohmic_ohm(0.5)), rng.uniform(3.0, 12.0)
        rise = np.array([times, 0.7 * times, 0.4 * times, 1.0, 1.0])
        return replace(
            cell,
            state_of_charge=float(rng.uniform(0.03, 0.35)),
            charge_ohm_from=0.3,
            ohmic_ohm=Curve.linear([0.0, 0.05, 0.12, 0.3, 1.0], ohm * rise, hold_ends=True),
        )

    batteries = [replace(b, cells=tuple(map(low, b.cells))) for b in bank.batteries]
    return replace(bank, batteries=tuple(batteries))


def agree(bank):
    """Hold all that a run tells against the twin."""
    result, twin = run(bank), solve_twin(bank, rtol=1e-6, atol=1e-7)
    assert result.end_time_s == approx(twin.end_time_s, rel=2e-5, abs=0.5)
    for outcome, given, taken, wells in zip(
        result.batteries, twin.delivered_Ah, twin.charged_Ah, twin.delivered_Wh, strict=True
    ):
        assert outcome.delivered_Ah == approx(given, rel=2e-4, abs=2e-5 * outcome.rated_Ah)
        assert outcome.charged_Ah == approx(taken, rel=2e-4, abs=2e-5 * outcome.rated_Ah)
        assert outcome.delivered_Wh == approx(wells, rel=1e-3, abs=2e-4 * outcome.rated_Ah)
    for charger, given in zip(result.chargers, twin.charger_Ah, strict=True):
        assert charger.delivered_Ah == approx(given, rel=2e-4, abs=1e-3)
    warmest = [outcome.warmest_C for outcome in result.batteries]
    ends = result.timeline()[[f"{b.name}.temperature_C" for b in bank.batteries]].iloc[-1]
    assert ends.to_numpy() == approx(twin.final_temperature_K - 273.15, abs=0.05)
    assert np.all(np.array(warmest) >= ends.to_numpy() - 0.05)
    names = [battery.name for battery in bank.batteries]
    ours, theirs = ours_of(result, names), theirs_of(twin)
    assert [one[1:3] for one in ours] == [one[1:3] for one in theirs]
    for (time, what, _, event), (time_there, _, _, there) in zip(ours, theirs, strict=True):
        assert time == approx(time_there, rel=2e-5, abs=0.5)
        if what in (TRIP, RELEASE):
            largest = max(1.0, np.abs(there.after_A).max())
            assert event.currents_after_A == approx(there.after_A, abs=2e-3 * largest)
            assert event.cell == there.cell


@pytest.mark.parametrize("seed", [234, 438, 1599, 1752, 1816])
def test_banks_whose_answer_lies_between(seed):
    # chargers and loads in balance beside idle diodes: exchanging batteries alone does not end
    bank = replace(random_hybrid(seed), stop_when_empty=False)
    result = run(bank)
    assert result.end_time_s == bank.duration_s
    energy = result.bank.energy
    assert abs(energy.residual_Wh) < 1e-6 * (energy.loads_Wh + energy.chargers_Wh)

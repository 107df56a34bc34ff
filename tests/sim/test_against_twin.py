"""Random mixed banks against a slow plain twin: SciPy's solver with events, dense algebra.

The twin shares no code with the kernels. Limits: Ah within 0.02 %, cut-out times within 0.02 % or
2 s, bus voltage within 1 mV rms, the same order and the same deciding cells.
"""

import secrets

import numpy as np
import pytest
from pytest import approx
from random_banks import random_bank
from simple_banks import run

from bankSim.crosscheck.twin import solve_twin
from bankSim.sim.result import TRIP


def assert_agree(bank):
    result, twin = run(bank), solve_twin(bank, rtol=1e-6, atol=1e-7)
    assert result.end_reason == twin.end_reason
    assert result.end_time_s == approx(twin.end_time_s, rel=2e-4, abs=2.0)
    for outcome, delivered, charged in zip(
        result.batteries, twin.delivered_Ah, twin.charged_Ah, strict=True
    ):
        assert outcome.delivered_Ah == approx(delivered, rel=2e-4, abs=1e-6)
        assert outcome.charged_Ah == approx(charged, rel=2e-4, abs=2e-4 * delivered)
    trips = [event for event in result.events if event.what == TRIP]
    names = [battery.name for battery in bank.batteries]
    assert [(names.index(e.battery), e.cell) for e in trips] == [
        (trip.battery, trip.cell) for trip in twin.trips
    ]
    for event, trip in zip(trips, twin.trips, strict=True):
        assert event.time_s == approx(trip.time_s, rel=2e-4, abs=2.0)
        assert event.cell_voltages_V == approx(trip.cell_V, abs=5e-3)
    table = result.timeline()
    # each side switches at its own instant: rows within 3 s of a switching are left out; of the
    # others every fifth is enough, as the twin solves its network anew for each
    table = table.iloc[1:-1:5]
    t = table["time_s"].to_numpy()
    switchings = np.array([0.0, *(trip.time_s for trip in twin.trips)])
    clear = np.min(np.abs(t[:, None] - switchings[None, :]), axis=1) > 3.0
    miss = (table["bank.voltage_V"].to_numpy() - twin.voltage_V(t))[clear]
    assert np.sqrt(np.mean(miss**2)) < 1e-3


def test_a_bank_that_nobody_has_seen():
    seed = secrets.randbelow(10**6)
    print(f"seed {seed}")  # shown when it fails
    assert_agree(random_bank(seed, batteries=2))


@pytest.mark.parametrize("seed", [11])
def test_random_bank_of_plain_table_cells(seed):
    assert_agree(random_bank(seed, plain=True))

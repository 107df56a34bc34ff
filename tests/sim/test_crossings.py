"""No crossing and return inside a step is missed, however shallow or narrow."""

import numpy as np
import pytest
from pytest import approx
from simple_banks import affine_cell, bank_of, battery, run, steady, stepped

from bankSim.model.cell import Cell, RelaxationPair
from bankSim.model.curve import Curve
from bankSim.model.rule import Rule, Watch


def tripped(cell, limit_V, load, duration_s):
    rule = Rule(Watch.LOWEST_CELL, True, limit_V)
    return run(bank_of(battery("a", cell, rules=[rule]), load=load, duration_s=duration_s)).events


@pytest.mark.parametrize("width", [0.02, 0.01, 0.005, 0.002])
@pytest.mark.parametrize("depth_V", [0.05, 0.2])
def test_a_dip_in_a_table_narrower_than_a_step(width, depth_V):
    # a straight curve with a notch; the limit half-way down, met at centre + width / 4
    for centre in np.linspace(0.2, 0.8, 13):
        z = [0.0, centre - width / 2, centre, centre + width / 2, 1.0]
        volts = 3.2 + 0.1 * np.array(z)
        volts[2] -= depth_V
        limit_V = 3.2 + 0.1 * centre - 0.5 * depth_V
        cell = Cell(Curve.linear(z, volts), Curve.constant(1e-9), 360_000.0, 1.0)
        events = tripped(cell, limit_V, steady(5.0), 18 * 3600.0)
        assert events
        slope = 0.1 + depth_V / (width / 2)
        at = centre + (limit_V - volts[2]) / slope
        assert events[0].time_s == approx((1.0 - at) * 360_000.0 / 5.0, abs=1e-3)


@pytest.mark.parametrize("depth_V", [1e-3, 1e-4, 1e-5])
def test_a_shallow_dip_where_relaxation_meets_charging(depth_V):
    # after 30 A of charge the pair relaxes and the voltage falls, then 1 A of charge lifts it:
    # V = U0 + s t + v exp(-t / tau), lowest where s = (v / tau) exp(-t / tau)
    ohm, tau, span, Ah = 1e-3, 2000.0, 0.6, 100.0
    for ends_s in np.linspace(3000.0, 6000.0, 16):
        held_V = ohm * 30.0 * (1.0 - np.exp(-ends_s / tau))
        rise_V_s = span / (Ah * 3600.0)
        start_V = 3.0 + span * (0.1 + 30.0 * ends_s / 360_000.0) + 0.02
        # the pair heads for 1 A x ohm from held_V
        extra_V = held_V - ohm
        t = tau * np.log(extra_V / tau / rise_V_s)
        lowest_V = start_V + rise_V_s * t + ohm + extra_V * np.exp(-t / tau)
        cell = affine_cell(
            0.02, Ah, 0.1, base=3.0, span=span, relaxation=(RelaxationPair(ohm, tau),)
        )
        load = stepped([0.0, ends_s], [-30.0, -1.0])
        events = tripped(cell, lowest_V + depth_V, load, ends_s + 8 * 3600.0)
        assert events
        # just before the minimum, by the curvature there
        early_s = np.sqrt(2.0 * depth_V / (rise_V_s / tau))
        assert events[0].time_s == approx(ends_s + t - early_s, abs=0.2 * early_s + 60.0)
        assert not tripped(cell, lowest_V - 1e-6, load, ends_s + 8 * 3600.0)

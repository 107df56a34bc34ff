"""The twin's balancers: what they take, move and keep."""

import math

import numpy as np
from pytest import approx
from twin_banks import solved

from bankSim.model.battery import Battery
from bankSim.model.cell import Cell
from bankSim.model.curve import Curve
from bankSim.model.upkeep import Balancer, Balancing, Thermal

AH, SLOPE_V = 10.0, 1.0


def string_of(*states, balancer, **battery):
    """Cells with U = 3 + z and no resistance."""
    curve = Curve.linear([0.0, 1.0], [3.0, 3.0 + SLOPE_V])
    cells = tuple(Cell(curve, Curve.constant(0.0), AH * 3600.0, z) for z in states)
    return Battery("a", cells, 0.0, 1e-3, (), AH * 3600.0, balancer=balancer, **battery)


def test_bleed_takes_its_current_from_high_cells_only():
    bleed = Balancer(Balancing.BLEED, 0.1, starts_above_V=3.55, within_V=0.01)
    found = solved(string_of(0.5, 0.7, 0.52, 0.9, balancer=bleed), hours=2.0)
    # 0.1 A for 2 h are 2 % of 10 Ah; 3.50 and 3.52 V are below the start
    assert found.final_state_of_charge == approx([0.5, 0.68, 0.52, 0.88], rel=1e-7)
    assert found.delivered_Ah == approx([0.0])


def test_bleed_stops_within_its_band():
    # over the ramp of 2 mV: d/dt (V - limit) = -(0.1 A/Q) (V - limit)/2 mV, from full current
    bleed = Balancer(Balancing.BLEED, 0.1, within_V=0.01)
    found = solved(string_of(0.5, 0.55, balancer=bleed), hours=6.0)
    full_h = (0.05 - 0.012) * AH / 0.1
    left_V = 0.01 + 0.002 * math.exp(-(6.0 - full_h) * 0.1 / AH / 0.002)
    assert np.diff(found.final_state_of_charge) * SLOPE_V == approx([left_V], rel=1e-6)


def test_transfer_moves_charge_and_keeps_it():
    move = Balancer(Balancing.TRANSFER, 0.2, within_V=0.01)
    found = solved(string_of(0.5, 0.7, 0.6, balancer=move), hours=2.0)
    assert found.final_state_of_charge == approx([0.54, 0.66, 0.6], rel=1e-7)
    later = solved(string_of(0.5, 0.7, 0.6, balancer=move), hours=30.0).final_state_of_charge
    assert later.sum() == approx(1.8, rel=1e-12)
    assert np.ptp(later) == approx(0.01, abs=1e-5)


def test_transfer_shares_between_equal_cells():
    move = Balancer(Balancing.TRANSFER, 0.2, within_V=0.01)
    found = solved(string_of(0.5, 0.7, 0.7, 0.5, balancer=move), hours=2.0)
    assert found.final_state_of_charge == approx([0.52, 0.68, 0.68, 0.52], rel=1e-7)


def test_transfer_waits_for_its_start():
    move = Balancer(Balancing.TRANSFER, 0.2, starts_above_V=3.8, within_V=0.01)
    found = solved(string_of(0.5, 0.7, balancer=move), hours=2.0)
    assert found.final_state_of_charge == approx([0.5, 0.7])


def test_bled_energy_is_heat():
    # all heat: T - Ta = E/C while hA is next to nothing
    bleed = Balancer(Balancing.BLEED, 0.1, within_V=0.01)
    found = solved(string_of(0.5, 0.7, balancer=bleed, thermal=Thermal(1000.0, 1e-9)), hours=2.0)
    energy_J = 0.1 * 7200.0 * (3.7 + 3.68) / 2
    assert found.final_temperature_K == approx([298.15 + energy_J / 1000.0], rel=1e-8)

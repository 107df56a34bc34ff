"""One step of a cell against closed forms and a general solver."""

import math

import numpy as np
import pytest
from bridge import bridge
from pytest import approx
from scipy.integrate import solve_ivp
from simple_banks import affine_cell, bank_of, battery

from bankSim.kernels import arrays as k
from bankSim.kernels import cell as cell_kernels
from bankSim.kernels.cell import KEEP, RAMP
from bankSim.model.cell import RelaxationPair
from bankSim.sim.pack import pack_bank

follow_branch = bridge(cell_kernels.follow_branch)
pair_weights = bridge(cell_kernels.pair_weights)
split_charge = bridge(cell_kernels.split_charge)


def weights(time_constant_s, dt):
    cell = affine_cell(relaxation=(RelaxationPair(0.01, time_constant_s),))
    bank = pack_bank(
        bank_of(battery("a", cell)), relative=1e-4, absolute_A=1e-6, every_s=60.0, most_edges=0
    )
    out = np.zeros((1, 4, 2))
    pair_weights(bank, np.zeros(1, k.TALLY).view(np.recarray), dt, out)
    return out[0, 0]


@pytest.mark.parametrize("dt", [1e-9, 1e-3, 0.02999, 0.03001, 1.0, 30.0, 400.0, 1e6])
def test_pair_weights_are_exact_for_a_straight_current(dt):
    # v' = (R I - v)/tau, I = I0 + s t: v = R I(t) - R s tau + (v0 - R I0 + R s tau) exp(-t/tau)
    tau, ohm, v0, start, end = 30.0, 0.01, 0.07, 12.0, 31.0
    keep, ramp = weights(tau, dt)[KEEP], weights(tau, dt)[RAMP]
    slope = (end - start) / dt
    x = dt / tau
    if x > 1e-2:
        lag = ohm * slope * tau
        exact = ohm * end - lag + (v0 - ohm * start + lag) * math.exp(-x)
    else:  # the same by its series in x, free of cancellation
        exact = v0 + x * (ohm * start - v0) * (1 - x / 2 + x * x / 6)
        exact += ohm * (end - start) * x * (0.5 - x / 6 + x * x / 24)
    found = keep * v0 + ohm * ((1 - keep) * start + ramp * (end - start))
    assert found == approx(exact, rel=1e-12)


def test_step_response_reaches_v_at_tau_ln():
    # RC charging: v = R I (1 - exp(-t/tau)); half of it after tau ln 2
    keep = weights(110.0, 110.0 * math.log(2.0))[KEEP]
    assert 1.0 - keep == approx(0.5, rel=1e-14)


@pytest.mark.parametrize(
    ("start", "end"), [(3, 5), (-3, -5), (4, -2), (-4, 2), (0, 3), (0, -3), (0, 0), (2, 0)]
)
def test_charge_is_split_by_direction(start, end):
    out, into = split_charge(float(start), float(end), 10.0)
    t = np.linspace(0, 10, 200_001)
    current = start + (end - start) * t / 10
    assert out == approx(np.trapezoid(np.maximum(current, 0), t), abs=1e-6)
    assert into == approx(np.trapezoid(np.maximum(-current, 0), t), abs=1e-6)
    assert out - into == approx((start + end) * 5.0, abs=1e-12)


@pytest.mark.parametrize(("rate", "part"), [(20, 0.15), (50, 0.0599), (100, 0.03), (150, 0.02)])
def test_hysteresis_reversal(rate, part):
    # closed form of the one-state model (Plett 2004): from h = 1, h = -1 + 2 exp(-g dz);
    # h reaches -0.9 after ln(20)/g of the capacity: 15.0, 5.99, 3.00, 2.00 %
    assert follow_branch(1.0, 5.0, part, 0.0, float(rate)) == approx(-0.9, abs=2e-3)
    exact = -1.0 + 2.0 * math.exp(-rate * part)
    assert follow_branch(1.0, 5.0, part, 0.0, float(rate)) == approx(exact, rel=1e-14)
    assert follow_branch(-1.0, -5.0, 0.0, part, float(rate)) == approx(-exact, rel=1e-14)


def test_hysteresis_follows_a_current_that_turns_round():
    # SciPy solve_ivp on dh/dt = -|g I/Q| (h + sign I), current straight from +4 A to -3 A
    rate, charge, dt = 60.0, 2000.0, 100.0

    def current(t):
        return 4.0 - 7.0 * t / dt

    def slope(t, h):
        return -abs(rate * current(t) / charge) * (h + np.sign(current(t)))

    turn = 400.0 / 7.0
    first = solve_ivp(slope, (0, turn), [0.3], rtol=1e-11, atol=1e-12).y[0, -1]
    last = solve_ivp(slope, (turn, dt), [first], rtol=1e-11, atol=1e-12).y[0, -1]
    out, into = split_charge(4.0, -3.0, dt)
    assert follow_branch(0.3, 4.0, out, into, rate / charge) == approx(last, abs=1e-9)

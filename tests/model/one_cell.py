"""One cell at fixed temperature through SciPy: the equations of `Cell`, written out once more."""

import numpy as np
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from bankSim.model.cell import arrhenius_factor


class OneCell:
    """State: charge z, difference of the wells' heads d, hysteresis h, one v for each pair."""

    def __init__(self, cell, temperature_K=298.15):
        self.cell = cell
        self.warmth = arrhenius_factor(cell.activation_J_mol, temperature_K)
        part = cell.usable_part
        self.part = 1.0 if part is None else float(part(temperature_K))

    def full(self, z=1.0):
        """Return the state at rest."""
        return np.array([z, 0.0, 0.0] + [0.0] * len(self.cell.relaxation))

    def head(self, state):
        """Return the head of the available well."""
        return state[0] - (1.0 - self.cell.available_fraction) * state[1]

    def voltage(self, state, current_A):
        """Return the terminal voltage."""
        head = self.head(state)
        hindered = 1.0 - (1.0 - head) / self.part
        ohmic_V = current_A * float(self.cell.ohmic_ohm(hindered)) * self.warmth
        held_V = self.cell.hysteresis_V * state[2] - sum(state[3:])
        return float(self.cell.ocv_V(head)) + held_V - ohmic_V

    def slope(self, state, current_A):
        """Return d(state)/dt."""
        cell = self.cell
        stored_A = current_A if current_A > 0.0 else cell.coulombic_efficiency * current_A
        gassing_A = cell.gassing_A * max(self.head(state) - 1.0, 0.0)
        drawn_A = stored_A + cell.standing_A + gassing_A
        dd = 0.0
        if cell.available_fraction < 1.0:
            dd = drawn_A / (cell.available_fraction * cell.charge_C)
            dd -= cell.well_rate_per_s * state[1]
        turn = abs(cell.hysteresis_rate * current_A / cell.charge_C)
        dh = -turn * (state[2] + np.sign(current_A))
        lags = [-self.lag_V(state, current_A), 0.0, 0.0]
        dv = [
            (pair.resistance_ohm * current_A * self.warmth + lag - v) / pair.time_constant_s
            for pair, lag, v in zip(cell.relaxation, lags, state[3:], strict=False)
        ]
        return [-drawn_A / cell.charge_C, dd, dh, *dv]

    def lag_V(self, state, current_A):
        """Return what a charge drives the first pair to besides its own resistance."""
        lag, below = self.cell.charge_lag, max(1.0 - self.head(state), 0.0)
        part = 1.0
        if np.isfinite(lag.width):
            part = lag.width / (lag.width + below) - lag.width / (lag.width + 1.0 - lag.starts_at)
        gassing_A = self.cell.gassing_A * max(self.head(state) - 1.0, 0.0)
        stored_A = max(-self.cell.coulombic_efficiency * current_A - gassing_A, 0.0)
        straight_V = self.warmth * lag.full_ohm * max(part, 0.0) * stored_A
        if np.isinf(lag.bend_V):
            return straight_V
        return lag.bend_V * np.arcsinh(straight_V / lag.bend_V)

    def draw(self, current_A, ends, state=None, longest_s=1e6):
        """Draw a constant current until ends(state) falls to 0; return time and last state."""

        def reached(_, state):
            return ends(state)

        reached.terminal, reached.direction = True, -1
        run = solve_ivp(
            lambda _, state: self.slope(state, current_A),
            (0.0, longest_s),
            self.full() if state is None else state,
            method="LSODA",
            rtol=1e-9,
            atol=1e-12,
            max_step=longest_s if ends is self.head else 60.0,
            events=reached,
        )
        return run.t[-1], run.y[:, -1]

    def charge(self, limit_A, hold_V, tail_A, state, longest_s=48 * 3600.0):
        """Charge at constant current, then voltage; return times, states, currents (positive)."""

        def taken_A(state):
            if self.voltage(state, -limit_A) <= hold_V:
                return limit_A
            lowest_A = -20.0 * limit_A  # states that the solver only tries can ask for less than 0
            return brentq(lambda taken: self.voltage(state, -taken) - hold_V, lowest_A, limit_A)

        def tail(_, state):
            return taken_A(state) - tail_A

        tail.terminal = True
        run = solve_ivp(
            lambda _, state: self.slope(state, -taken_A(state)),
            (0.0, longest_s),
            state,
            method="LSODA",
            rtol=1e-6,
            atol=1e-9,
            max_step=120.0,
            events=tail,
        )
        return run.t, run.y, np.array([taken_A(state) for state in run.y.T])

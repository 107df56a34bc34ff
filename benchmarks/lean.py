"""The same equations once more, lean and compiled, for general-purpose integrators.

The state is reduced as far as the bank allows: all cells of a battery carry one current, so
charge out and in, one value per relaxation time constant and the hysteresis stand for all of them.
This asks for equal leads, one power load, one capacity within a battery, and one rule on the
lowest cell.
"""

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from numba import njit

from bankSim.model.cell import arrhenius_factor

PER_BATTERY = 5  # out / Q, into / Q, two pairs in AMPERE, hysteresis
AMPERE = 10.0  # unit of the pairs, so that all entries of the state are of order 1


@dataclass(frozen=True, eq=False)
class Lean:
    """Compiled rates and guards of one bank; `joined` says who is in the bank (1 or 0).

    rates(t, y, dy, joined) and guards(t, y, margin, joined): margin is the lowest cell voltage
    less the threshold per battery [V], then E^2 - 4 R P of the loads [V^2].
    """

    rates: Any
    guards: Any
    start: np.ndarray
    capacity_C: np.ndarray
    delay_s: np.ndarray
    duration_s: float


def build_lean(bank):
    """Compile a bank; its numbers become constants of the code."""
    count = len(bank.batteries)
    cells = [cell for battery in bank.batteries for cell in battery.cells]
    factor = np.array([arrhenius_factor(c.activation_J_mol, bank.temperature_K) for c in cells])
    ends = np.cumsum([0, *(len(battery.cells) for battery in bank.batteries)])
    lead = [cells[i] for i in ends[:-1]]
    capacity = np.array([c.charge_C for c in lead])
    z_start = np.array([c.state_of_charge for c in cells])
    pair_ohm = np.array([[p.resistance_ohm for p in c.relaxation] for c in cells]) * factor[:, None]
    tau = np.array([[p.time_constant_s for p in c.relaxation] for c in lead])
    half_gap = np.array([c.hysteresis_V for c in cells])
    branch_rate = np.array([c.hysteresis_rate for c in lead])
    efficiency = np.array([c.coulombic_efficiency for c in lead])
    standing = np.array([c.standing_A for c in lead])
    ocv_knots, ocv = _curve_rows(cells[0].ocv_V)
    ohm_knots = _curve_rows(cells[0].ohmic_ohm)[0]
    ohm = np.array(
        [_curve_rows(c.ohmic_ohm.scaled(f))[1] for c, f in zip(cells, factor, strict=True)]
    )
    series = np.array([b.internal_ohm + b.lead_ohm for b in bank.batteries])
    main, power = bank.wiring.main_ohm, float(bank.loads[0].profile_amount[0])
    rule = [battery.rules[0] for battery in bank.batteries]
    threshold = np.array([r.threshold for r in rule])

    @njit(error_model="numpy", inline="always")
    def value(knots, rows, z):
        low, high = 0, rows.shape[0]
        while high - low > 1:
            middle = (low + high) >> 1
            if z < knots[middle]:
                high = middle
            else:
                low = middle
        s = z - knots[low]
        return rows[low, 0] + s * (rows[low, 1] + s * (rows[low, 2] + s * rows[low, 3]))

    @njit(error_model="numpy")
    def cell_source(t, y, k, i):
        at = PER_BATTERY * k
        z = z_start[i] - y[at] + efficiency[k] * y[at + 1] - standing[k] * t / capacity[k]
        volt = value(ocv_knots, ocv, z) + half_gap[i] * y[at + 4]
        volt -= AMPERE * (pair_ohm[i, 0] * y[at + 2] + pair_ohm[i, 1] * y[at + 3])
        return volt, value(ohm_knots, ohm[i], z)

    @njit(error_model="numpy")
    def solve(t, y, joined, emf, inner):
        conductance, driven = 0.0, 0.0
        for k in range(count):
            emf[k], inner[k] = 0.0, series[k]
            for i in range(ends[k], ends[k + 1]):
                volt, resistance = cell_source(t, y, k, i)
                emf[k] += volt
                inner[k] += resistance
            if joined[k] > 0.0:
                conductance += 1.0 / inner[k]
                driven += emf[k] / inner[k]
        if conductance == 0.0:
            return 0.0, 1.0
        total = driven / conductance
        under_root = total * total - 4.0 * (1.0 / conductance + main) * power
        at_load = 0.5 * (total + math.sqrt(max(under_root, 0.0)))
        return at_load + main * power / at_load, under_root

    @njit(error_model="numpy")
    def rates(t, y, dy, joined):
        emf, inner = np.empty(count), np.empty(count)
        bus = solve(t, y, joined, emf, inner)[0]
        for k in range(count):
            at = PER_BATTERY * k
            current = (emf[k] - bus) / inner[k] if joined[k] > 0.0 else 0.0
            dy[at] = max(current, 0.0) / capacity[k]
            dy[at + 1] = max(-current, 0.0) / capacity[k]
            dy[at + 2] = (current / AMPERE - y[at + 2]) / tau[k, 0]
            dy[at + 3] = (current / AMPERE - y[at + 3]) / tau[k, 1]
            speed = branch_rate[k] * abs(current) / capacity[k]
            dy[at + 4] = -speed * (y[at + 4] + math.copysign(1.0, current))

    @njit(error_model="numpy")
    def guards(t, y, margin, joined):
        emf, inner = np.empty(count), np.empty(count)
        bus, margin[count] = solve(t, y, joined, emf, inner)
        for k in range(count):
            current = (emf[k] - bus) / inner[k] if joined[k] > 0.0 else 0.0
            lowest = np.inf
            for i in range(ends[k], ends[k + 1]):
                volt, resistance = cell_source(t, y, k, i)
                lowest = min(lowest, volt - resistance * current)
            margin[k] = lowest - threshold[k]

    delay = np.array([r.delay_s for r in rule])
    return Lean(rates, guards, np.zeros(PER_BATTERY * count), capacity, delay, bank.duration_s)


def _curve_rows(curve):
    """Return the starts of all pieces, straight ends included, and their coefficients."""
    knots = np.concatenate([[curve.knots[0] - 1.0], curve.knots])
    first = curve.coefficients[0, 0] - curve.slope_below
    below = [first, curve.slope_below, 0.0, 0.0]
    above = [curve.last_value, curve.slope_above, 0.0, 0.0]
    return knots, np.vstack([below, curve.coefficients, above])

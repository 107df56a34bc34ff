"""The same equations once more, lean and compiled, for general-purpose integrators.

The state is reduced as far as the bank allows: all cells of a battery carry one current, so
charge out and in, one value per relaxation time constant and the hysteresis stand for all of them.
For equal leads, one power load, two relaxation pairs, one curve, one capacity within a battery,
and one rule on the lowest cell; without what a charge meets near full.
"""

import math
from typing import NamedTuple

import numpy as np
from numba import njit

from bankSim.model.cell import arrhenius_factor
from bankSim.model.charge_lag import NO_LAG

PER_BATTERY = 5  # columns of the state: out / Q, into / Q, two pairs in AMPERE, hysteresis
OUT, INTO, QUICK, SLOW, BRANCH = range(PER_BATTERY)
AMPERE = 10.0  # unit of the pairs, so that all entries of the state are of order 1


class Numbers(NamedTuple):
    """A bank of n batteries and m cells as arrays, SI units."""

    ends: np.ndarray  # (n + 1,) cells ends[k]:ends[k + 1] are those of battery k
    capacity: np.ndarray  # (n,)
    efficiency: np.ndarray  # (n,)
    standing: np.ndarray  # (n,)
    branch_rate: np.ndarray  # (n,)
    series: np.ndarray  # (n,) internal and lead
    threshold: np.ndarray  # (n,)
    delay: np.ndarray  # (n,)
    tau: np.ndarray  # (n, 2)
    z_start: np.ndarray  # (m,)
    half_gap: np.ndarray  # (m,)
    pair_ohm: np.ndarray  # (m, 2)
    ocv_knots: np.ndarray
    ocv: np.ndarray  # (pieces, 4)
    ohm_knots: np.ndarray
    ohm: np.ndarray  # (m, pieces, 4)
    main: float
    power: float
    duration: float


def gather(bank):
    """Return the numbers of a bank."""
    cells = [cell for battery in bank.batteries for cell in battery.cells]
    if any(cell.charge_lag != NO_LAG for cell in cells):
        raise ValueError("the lean equations know no charge lag; see banks.without_charge_lag")
    factor = np.array([arrhenius_factor(c.activation_J_mol, bank.temperature_K) for c in cells])
    first = [battery.cells[0] for battery in bank.batteries]
    rules = [battery.rules[0] for battery in bank.batteries]
    pairs = np.array([[p.resistance_ohm for p in c.relaxation] for c in cells])
    curves = [_pieces(c.ohmic_ohm.scaled(f)) for c, f in zip(cells, factor, strict=True)]
    ocv_knots, ocv = _pieces(first[0].ocv_V)
    return Numbers(
        ends=np.cumsum([0, *(len(battery.cells) for battery in bank.batteries)]),
        capacity=np.array([c.charge_C for c in first]),
        efficiency=np.array([c.coulombic_efficiency for c in first]),
        standing=np.array([c.standing_A for c in first]),
        branch_rate=np.array([c.hysteresis_rate for c in first]),
        series=np.array([b.internal_ohm + b.lead_ohm for b in bank.batteries]),
        threshold=np.array([rule.threshold for rule in rules]),
        delay=np.array([rule.delay_s for rule in rules]),
        tau=np.array([[p.time_constant_s for p in c.relaxation] for c in first]),
        z_start=np.array([c.state_of_charge for c in cells]),
        half_gap=np.array([c.hysteresis_V for c in cells]),
        pair_ohm=pairs * factor[:, None],
        ocv_knots=ocv_knots,
        ocv=ocv,
        ohm_knots=curves[0][0],
        ohm=np.array([rows for _, rows in curves]),
        main=bank.wiring.main_ohm,
        power=float(bank.loads[0].profile_amount[0]),
        duration=bank.duration_s,
    )


def _pieces(curve):
    """Return the starts of all pieces, straight ends included, and their coefficients."""
    knots = np.concatenate([[curve.knots[0] - 1.0], curve.knots])
    below = [curve.coefficients[0, 0] - curve.slope_below, curve.slope_below, 0.0, 0.0]
    above = [curve.last_value, curve.slope_above, 0.0, 0.0]
    return knots, np.vstack([below, curve.coefficients, above])


@njit(error_model="numpy")
def _value(knots, rows, z):
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
def _cell(bank, t, y, k, i):
    """Voltage without current and resistance of cell i in battery k."""
    mine = y[PER_BATTERY * k : PER_BATTERY * (k + 1)]
    gone = mine[OUT] - bank.efficiency[k] * mine[INTO] + bank.standing[k] * t / bank.capacity[k]
    z = bank.z_start[i] - gone
    volt = _value(bank.ocv_knots, bank.ocv, z) + bank.half_gap[i] * mine[BRANCH]
    volt -= AMPERE * (bank.pair_ohm[i, 0] * mine[QUICK] + bank.pair_ohm[i, 1] * mine[SLOW])
    return volt, _value(bank.ohm_knots, bank.ohm[i], z)


@njit(error_model="numpy")
def _solve(bank, t, y, joined, emf, ohm):
    """Write source voltages and resistances; return bus voltage and E^2 - 4 R P."""
    conductance, driven = 0.0, 0.0
    for k in range(joined.size):
        emf[k], ohm[k] = 0.0, bank.series[k]
        for i in range(bank.ends[k], bank.ends[k + 1]):
            volt, resistance = _cell(bank, t, y, k, i)
            emf[k] += volt
            ohm[k] += resistance
        conductance += joined[k] / ohm[k]
        driven += joined[k] * emf[k] / ohm[k]
    if conductance == 0.0:
        return 0.0, 1.0
    total = driven / conductance
    under_root = total * total - 4.0 * (1.0 / conductance + bank.main) * bank.power
    at_load = 0.5 * (total + math.sqrt(max(under_root, 0.0)))
    return at_load + bank.main * bank.power / at_load, under_root


@njit(error_model="numpy")
def rates(bank, t, y, dy, joined):
    """Write dy/dt; joined is 1 for a battery that is in the bank, else 0."""
    emf, ohm = np.empty(joined.size), np.empty(joined.size)
    bus = _solve(bank, t, y, joined, emf, ohm)[0]
    for k in range(joined.size):
        at, capacity = PER_BATTERY * k, bank.capacity[k]
        current = joined[k] * (emf[k] - bus) / ohm[k]
        dy[at + OUT] = max(current, 0.0) / capacity
        dy[at + INTO] = max(-current, 0.0) / capacity
        dy[at + QUICK] = (current / AMPERE - y[at + QUICK]) / bank.tau[k, 0]
        dy[at + SLOW] = (current / AMPERE - y[at + SLOW]) / bank.tau[k, 1]
        speed = bank.branch_rate[k] * abs(current) / capacity
        dy[at + BRANCH] = -speed * (y[at + BRANCH] + math.copysign(1.0, current))


@njit(error_model="numpy")
def guards(bank, t, y, margin, joined):
    """Write lowest cell voltage less threshold per battery [V], then E^2 - 4 R P [V^2]."""
    emf, ohm = np.empty(joined.size), np.empty(joined.size)
    bus, margin[joined.size] = _solve(bank, t, y, joined, emf, ohm)
    for k in range(joined.size):
        current = joined[k] * (emf[k] - bus) / ohm[k]
        lowest = np.inf
        for i in range(bank.ends[k], bank.ends[k + 1]):
            volt, resistance = _cell(bank, t, y, k, i)
            lowest = min(lowest, volt - resistance * current)
        margin[k] = lowest - bank.threshold[k]

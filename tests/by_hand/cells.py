"""Every cell followed by hand along the currents of the rows (docs/theory.md, sections 2 to 8)."""

from dataclasses import dataclass

import numpy as np

GAS = 8.314462618  # J/mol/K, CODATA 2018
WARM_K = 298.15
DOUBT = 2e-5  # of the charge that has passed, which is what a run promises
LEAST_V = 1e-4
SELF_TO = 0.01  # self-discharge ends so far below empty
LAG_STEPS = 16  # of what a charge meets, between two rows
GASSING_S, GASSING_PART = 20.0, 0.05  # followed in steps of so long, known so well


@dataclass
class Followed:
    """Of one battery, by row: voltage without current and resistances of its cells. [V, ohm]

    `doubt_V` is what currents leave open that bend between two rows, and `held` the state of charge
    at the end. [V], [1]
    """

    open_V: np.ndarray
    out_ohm: np.ndarray
    into_ohm: np.ndarray
    doubt_V: np.ndarray
    held: np.ndarray


def passed(first, last, dt):
    """Charge out and in while a current runs straight from first to last. [C]"""
    if first * last >= 0.0:
        mean = 0.5 * (first + last) * dt
        return max(mean, 0.0), max(-mean, 0.0)
    turn = first / (first - last)
    one, other = 0.5 * first * turn * dt, 0.5 * last * (1.0 - turn) * dt
    return max(one, 0.0) + max(other, 0.0), max(-one, 0.0) + max(-other, 0.0)


def held_back(dt, tau):
    """Weights of a first-order lag for a straight drive: what is kept, and of its rise. [1]"""
    x = dt / tau
    exact = 1.0 + np.expm1(-x) / np.maximum(x, 1e-9)
    return np.exp(-x), np.where(x < 1e-3, x * (0.5 - x / 6.0), exact)


def bends(time_s, amps):
    """How far a current may be from the straight line between two rows, for each row but one. [A]

    A decay that is over at once strays by half of the difference of two slopes, a slow one by less.
    """
    dt = np.diff(time_s)
    slope = np.divide(np.diff(amps), dt, out=np.zeros_like(dt), where=dt > 0.0)
    found = np.zeros_like(dt)
    live = np.flatnonzero(dt > 0.0)
    for one, other in ((live[:-1], live[1:]), (live[1:], live[:-1])):
        bend = 0.5 * np.abs(slope[one] - slope[other]) * np.minimum(dt[one], dt[other])
        found[one] = np.maximum(found[one], bend)
    return found


def follow(battery, time_s, amps, kelvin, loose_A):
    """Return what a battery without balancer shows at each row; [s, A, K, A].

    `loose_A` is what the run may be off at each row.
    """
    cells, rows = battery.cells, time_s.size
    of = {
        name: np.array([getattr(cell, name) for cell in cells])
        for name in ("charge_C", "coulombic_efficiency", "standing_A", "gassing_A",
                     "hysteresis_V", "hysteresis_rate", "available_fraction", "well_rate_per_s")
    }  # fmt: skip
    factor = np.exp(cells[0].activation_J_mol / GAS * (1.0 / kelvin - 1.0 / WARM_K))
    pairs = np.array([[(0.0, 1.0)] * 3 for _ in cells])
    for number, cell in enumerate(cells):
        for place, pair in enumerate(cell.relaxation):
            pairs[number, place] = pair.resistance_ohm, pair.time_constant_s
    z = np.array([cell.state_of_charge for cell in cells])
    bound, lag, branch = np.zeros(len(cells)), np.zeros((len(cells), 3)), np.zeros(len(cells))
    head, back = np.empty((rows, len(cells))), np.empty((rows, len(cells)))
    stray_A, stray_C = bends(time_s, amps), 0.0
    loose, lag_V, lags = np.zeros((rows, 1)), np.zeros((len(cells), 3)), np.zeros_like(head)
    for row in range(rows):
        dt = time_s[row] - time_s[row - 1] if row else 0.0
        if dt > 0.0:
            first, last = amps[row - 1], amps[row]
            out, into = passed(first, last, dt)
            gas = gassed(of, head[row - 1], first, last, dt)
            lost = of["standing_A"] * np.clip(1.0 + head[row - 1] / SELF_TO, 0.0, 1.0) + gas
            stray_C += GASSING_PART * np.max(gas) * dt
            z = z - (out - of["coulombic_efficiency"] * into + lost * dt) / of["charge_C"]
            stray_C += (stray_A[row - 1] + loose_A[row]) * dt + DOUBT * (out + into)
            bound = next_bound(of, bound, first, last, lost, dt)
            keep, rise = held_back(dt, pairs[:, :, 1])
            ohm = 0.5 * (factor[row - 1] + factor[row]) * pairs[:, :, 0]
            lag = keep * lag + ohm * ((1.0 - keep) * first + rise * (last - first))
            now = z - (1.0 - of["available_fraction"]) * bound
            warmth = 0.5 * (factor[row - 1] + factor[row])
            path = (
                np.linspace(head[row - 1], now, LAG_STEPS + 1),
                np.linspace(first, last, LAG_STEPS + 1),
            )
            lag[:, 0] -= slow_charge(cells, warmth, *path, dt, pairs[:, 0, 1])
            lag_V = keep * lag_V + ohm * (1.0 - keep) * stray_A[row - 1]
            shift = stray_C / of["charge_C"] / of["available_fraction"]
            ends = [
                charge_lag(cells, warmth, now + way * shift, last - way * stray_A[row - 1])
                for way in (1.0, -1.0)
            ]
            lag_V[:, 0] += (1.0 - keep[:, 0]) * np.abs(ends[0] - ends[1])
            branch = next_branch(of, branch, first, out, into)
        loose[row], lags[row] = stray_C, lag_V.sum(axis=1)
        head[row] = z - (1.0 - of["available_fraction"]) * bound
        back[row] = of["hysteresis_V"] * branch - lag.sum(axis=1)
    one = read(battery, head, back, factor, kelvin)
    shift = loose / of["charge_C"] / of["available_fraction"]
    doubts = [read(battery, head + way * shift, back, factor, kelvin) for way in (1.0, -1.0)]
    doubt = LEAST_V + lags + sum(apart(one, other, amps[:, None]) for other in doubts)
    doubt += 2.0 * of["hysteresis_V"] * np.minimum(of["hysteresis_rate"] * shift, 1.0)
    return Followed(*one, doubt, z)


def charge_lag(cells, warmth, head, amps):
    """What a steady current drives the first pair of each cell to on charge, besides R I. [V]"""
    volts = np.zeros(len(cells))
    for number, (cell, at) in enumerate(zip(cells, head, strict=True)):
        lag, part = cell.charge_lag, 1.0
        if lag.width < np.inf:
            part = 1.0 / (1.0 + max(1.0 - at, 0.0) / lag.width)
            part -= 1.0 / (1.0 + (1.0 - lag.starts_at) / lag.width)
        stored = -amps * cell.coulombic_efficiency - cell.gassing_A * max(at - 1.0, 0.0)
        if cell.relaxation and stored > 0.0:
            volts[number] = warmth * lag.full_ohm * max(part, 0.0) * stored
            if lag.bend_V < np.inf:
                volts[number] = lag.bend_V * np.arcsinh(volts[number] / lag.bend_V)
    return volts


def slow_charge(cells, warmth, heads, amps, dt, tau):
    """What comes of it over a row, in so many straight pieces. [V]"""
    keep, rise = held_back(dt / LAG_STEPS, tau)
    volts, begin = np.zeros(len(cells)), charge_lag(cells, warmth, heads[0], amps[0])
    for head, current in zip(heads[1:], amps[1:], strict=True):
        end = charge_lag(cells, warmth, head, current)
        volts = keep * volts + (1.0 - keep) * begin + rise * (end - begin)
        begin = end
    return volts


def apart(one, other, amps):
    """How far two readings of the same cells are apart, at the most. [V]"""
    ohm = np.maximum(np.abs(one[1] - other[1]), np.abs(one[2] - other[2]))
    return np.abs(one[0] - other[0]) + np.abs(amps) * ohm


def gassed(of, head, first, last, dt):
    """Mean loss to gassing over a straight current: of heads above full, in small steps. [A]"""
    if not of["gassing_A"].any() or (max(head.max(), 0.99) == 0.99 and min(first, last) >= 0.0):
        return 0.0
    steps = min(int(dt / GASSING_S) + 1, 400)
    part, at, total = dt / steps, head.copy(), 0.0
    for step in range(steps):
        amps = first + (last - first) * (step + 0.5) / steps
        amps *= of["coulombic_efficiency"] if amps < 0.0 else 1.0
        loss = of["gassing_A"] * np.maximum(at - 1.0, 0.0)
        at = at - (amps + loss) * part / of["charge_C"] / of["available_fraction"]
        total = total + loss * part
    return total / dt


def next_bound(of, bound, first, last, lost, dt):
    """How far the bound wells stand above the available ones after a straight current. [1]"""
    part, tau = of["available_fraction"], 1.0 / np.maximum(of["well_rate_per_s"], 1e-9)
    keep, rise = held_back(dt, tau)
    begin, end = (
        amps * (of["coulombic_efficiency"] if amps < 0.0 else 1.0) + lost for amps in (first, last)
    )
    drive = (-np.expm1(-dt / tau) * begin + rise * (end - begin)) * tau / (part * of["charge_C"])
    return np.where(part < 1.0, keep * bound + drive, 0.0)


def next_branch(of, branch, first, out, into):
    """The branch of hysteresis after charge has passed, in the order of its directions. [1]"""
    way = [(-1.0, out), (1.0, into)]
    for toward, charge in way if first >= 0.0 else way[::-1]:
        gone = np.exp(-of["hysteresis_rate"] * charge / of["charge_C"])
        branch = toward + (branch - toward) * gone
    return branch


def read(battery, head, back, factor, kelvin):
    """Read the curves of all cells at all rows: voltage without current and both resistances."""
    open_V, out_ohm, into_ohm = (np.empty_like(head) for _ in range(3))
    for number, cell in enumerate(battery.cells):
        usable = 1.0 if cell.usable_part is None else cell.usable_part(kelvin)
        at = 1.0 - (1.0 - head[:, number]) / usable
        open_V[:, number] = cell.ocv_V(head[:, number]) + back[:, number]
        out_ohm[:, number] = factor * cell.ohmic_ohm(at)
        into_ohm[:, number] = factor * cell.ohmic_ohm(np.maximum(at, cell.charge_ohm_from))
    return open_V, out_ohm, into_ohm

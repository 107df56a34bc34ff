"""A bank as the arrays that the kernels work on."""

import math
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from bankSim.kernels import arrays as k
from bankSim.model.bank import Bank, Layout
from bankSim.model.battery import Battery
from bankSim.model.cell import Cell, arrhenius_factor
from bankSim.model.curve import Curve, Floats
from bankSim.model.rule import Rule, Watch
from bankSim.sim.demand import build_demand

Records = np.recarray[Any, Any]
MOST_STEP, LEAST_STEP = 0.02, 1e-4  # of a cell's capacity, in one step of the march

WATCH_NUMBER = {
    Watch.LOWEST_CELL: k.LOWEST_CELL,
    Watch.HIGHEST_CELL: k.HIGHEST_CELL,
    Watch.BATTERY_VOLTAGE: k.BATTERY_VOLTAGE,
    Watch.DISCHARGE_CURRENT: k.DISCHARGE_CURRENT,
    Watch.CHARGE_CURRENT: k.CHARGE_CURRENT,
    Watch.TEMPERATURE: k.TEMPERATURE,
}


def curve_pieces(curve: Curve) -> Floats:
    """Return a curve as rows of anchor, 4 coefficients, largest |slope|; ends included; (q, 6)."""
    level = curve.coefficients[0, 0]
    flat = not np.any(curve.coefficients[:, 1:]) and not np.any(curve.coefficients[:, 0] - level)
    if flat and curve.slope_below == curve.slope_above == 0.0:
        return np.array([[0.0, level, 0.0, 0.0, 0.0, 0.0]])
    low, high = curve.slope_below, curve.slope_above
    below = [curve.knots[0], level, low, 0.0, 0.0, abs(low)]
    above = [curve.knots[-1], curve.last_value, high, 0.0, 0.0, abs(high)]
    inside = np.column_stack([curve.knots[:-1], curve.coefficients, _steepest(curve)])
    return np.vstack([below, inside, above])


def _steepest(curve: Curve) -> Floats:
    """Return the largest |dy/dz| inside each piece: at its ends, or where the slope turns."""
    _, c1, c2, c3 = curve.coefficients.T
    width = np.diff(curve.knots)
    turn = np.divide(-c2, 3.0 * c3, out=np.zeros_like(c2), where=c3 != 0.0)
    places = (np.zeros_like(width), width, np.clip(turn, 0.0, width))
    slopes = [np.abs(c1 + s * (2.0 * c2 + s * 3.0 * c3)) for s in places]
    return np.asarray(np.max(slopes, axis=0))


def curve_grain(curve: Curve) -> float:
    """Return the most that a step may move along a curve, so that no turn of it is jumped. [1]"""
    slopes = curve.coefficients[:, 1]
    turns = np.flatnonzero(slopes[:-1] * slopes[1:] < 0.0)
    width = np.diff(curve.knots)
    around = np.concatenate([width[turns], width[turns + 1]])
    return float(np.clip(around.min(initial=MOST_STEP), LEAST_STEP, MOST_STEP))


@dataclass
class _Pieces:
    """Collects curves, each stored once."""

    known: list[tuple[Curve, tuple[int, int]]] = field(default_factory=list)
    rows: list[Floats] = field(default_factory=list)
    used: int = 0

    def add(self, curve: Curve) -> tuple[int, int]:
        """Return the range of rows that holds the curve."""
        for other, place in self.known:
            if curve.same_as(other):
                return place
        rows = curve_pieces(curve)
        place = (self.used, self.used + len(rows))
        self.used = place[1]
        self.rows.append(rows)
        self.known.append((curve, place))
        return place


def records(rows: Any, kind: np.dtype[Any]) -> Records:
    """Return rows as an array of records with named fields."""
    return np.array(rows, dtype=kind).view(np.recarray)


def bank_rules(bank: Bank) -> list[tuple[int, Rule]]:
    """All rules with the number of their battery, in order of action."""
    return [(i, rule) for i, battery in enumerate(bank.batteries) for rule in battery.rules]


def pack_bank(
    bank: Bank, *, relative: float, absolute_A: float, every_s: float, most_edges: int
) -> k.Bank:
    """Gather what never changes during a march.

    Parameters
    ----------
    bank : Bank
    relative, absolute_A : float
        Tolerances. [1], [A]
    every_s : float
        Spacing of timeline rows; inf for none. [s]
    most_edges : int
        Rows around load edges are kept only up to this many edges.
    """
    cells = [cell for battery in bank.batteries for cell in battery.cells]
    factor = [arrhenius_factor(cell.activation_J_mol, bank.temperature_K) for cell in cells]
    pieces = _Pieces()
    cell_rows = [_cell_row(cell, f, pieces) for cell, f in zip(cells, factor, strict=True)]
    edge, demand, exponent = build_demand(bank)
    row = bank.wiring.layout is not Layout.EQUAL_LEADS
    setting = np.zeros(8)
    setting[k.LINK] = bank.wiring.link_ohm if row else 0.0
    setting[k.FAR] = float(bank.wiring.layout is Layout.OPPOSITE_ENDS)
    setting[k.MAIN] = bank.wiring.main_ohm
    setting[k.RELATIVE], setting[k.ABSOLUTE], setting[k.EVERY] = relative, absolute_A, every_s
    setting[k.STOP_EMPTY] = float(bank.stop_when_empty)
    setting[k.TRACE_EDGES] = float(edge.size <= most_edges)
    return k.Bank(
        cell=records(cell_rows, k.CELL),
        pair=np.array([_pairs(cell, f) for cell, f in zip(cells, factor, strict=True)]),
        pieces=np.vstack(pieces.rows),
        battery=_batteries(bank),
        rule=records([_rule_row(i, rule) for i, rule in bank_rules(bank)], k.RULE),
        setting=setting,
        edge=edge,
        demand=demand,
        exponent=exponent,
    )


def _cell_row(cell: Cell, factor: float, pieces: _Pieces) -> tuple[Any, ...]:
    return (
        cell.charge_C,
        cell.coulombic_efficiency,
        cell.standing_A,
        cell.hysteresis_V,
        cell.hysteresis_rate,
        factor,
        len(cell.relaxation),
        *pieces.add(cell.ocv_V),
        *pieces.add(cell.ohmic_ohm),
    )


def _pairs(cell: Cell, factor: float) -> Floats:
    pairs = np.zeros((k.MOST_PAIRS, 2))
    for j, pair in enumerate(cell.relaxation):
        pairs[j] = pair.resistance_ohm * factor, pair.time_constant_s
    return pairs


def _batteries(bank: Bank) -> Records:
    ends = np.cumsum([len(one.cells) for one in bank.batteries])
    rows = [
        (
            end - len(one.cells),
            end,
            one.internal_ohm,
            one.lead_ohm,
            bank.temperature_K,
            stride_C(one),
        )
        for one, end in zip(bank.batteries, ends, strict=True)
    ]
    return records(rows, k.BATTERY)


def stride_C(battery: Battery) -> float:  # noqa: N802 - the unit as printed
    """Return the most charge that may pass a battery in one step of the march. [C]"""
    return min(curve_grain(cell.ocv_V) * cell.charge_C for cell in battery.cells)


def _rule_row(battery: int, rule: Rule) -> tuple[Any, ...]:
    sign = 1.0 if rule.below else -1.0
    watch = WATCH_NUMBER[rule.watches]
    return battery, watch, sign, rule.threshold, rule.delay_s, int(rule.blocks)


def start_run(bank: Bank, packed: k.Bank, *, rows: int) -> k.Run:
    """Return the state at t = 0: charged as given, at rest, midway between both branches.

    Parameters
    ----------
    bank : Bank
    packed : kernels Bank
    rows : int
        Room for the trace; 0 keeps none.
    """
    n, m, p = packed.battery.size, packed.cell.size, packed.rule.size
    least = 8 * (p + 4)
    moment, now = np.zeros((m, 8)), np.zeros((n + 1, 3))
    cells = [cell for battery in bank.batteries for cell in battery.cells]
    moment[:, k.SOC] = [cell.state_of_charge for cell in cells]
    tally, clock = records(np.zeros(n, k.TALLY), k.TALLY), records(np.zeros(1, k.CLOCK), k.CLOCK)
    tally["on"], tally["share"] = 1, math.nan
    clock["step"], clock["fed_until"], clock["segment"] = bank.duration_s, math.inf, -1
    clock["arrived"] = 1
    return k.Run(
        moment=moment,
        now=now,
        trial=np.zeros_like(moment),
        trial_now=np.zeros_like(now),
        probe=np.zeros_like(moment),
        probe_now=np.zeros_like(now),
        weight=np.zeros((m, k.MOST_PAIRS, 2)),
        extreme=np.tile([math.inf, -math.inf, math.inf, -math.inf], (n, 1)),
        hint=np.column_stack([packed.cell["ocv_first"], packed.cell["ohm_first"]]),
        tally=tally,
        alarm=records(np.zeros(p, k.ALARM), k.ALARM),
        gap=np.zeros((p, 9)),
        level=np.zeros(packed.demand.shape[1]),
        clock=clock,
        ladder=np.zeros((n, 5)),
        active=np.zeros(n, dtype=np.int64),
        series=np.zeros(n),
        rows=np.zeros((max(rows, least) if rows else 0, 5 + 3 * n + m)),
        events=np.zeros((least, 6 + 3 * n + m)),
        used=np.zeros(2, dtype=np.int64),
    )

"""A bank as the arrays that the kernels work on."""

import math
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any

import numpy as np

from bankSim.kernels import arrays as k
from bankSim.model.bank import Bank, Layout
from bankSim.model.battery import Battery
from bankSim.model.cell import GAS_CONSTANT_J_MOL_K, Cell
from bankSim.model.curve import Curve, Floats
from bankSim.model.rule import Needs, Rule, Watch
from bankSim.model.upkeep import Balancing
from bankSim.sim.demand import build_demand, cutting_loads

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
NEED_NUMBER = {
    Needs.NOTHING: k.NOTHING,
    Needs.CHARGING: k.CHARGING,
    Needs.LOAD_REMOVED: k.LOAD_REMOVED,
}
KEPT_CURVES = 256  # cells share few; a bank is packed several times for one answer
SHUT_WELL_S = 1e9  # a bound well without a rate gives nothing in any run


@lru_cache(maxsize=KEPT_CURVES)
def curve_pieces(curve: Curve) -> Floats:
    """Return a curve as rows of anchor, 4 coefficients, largest |slope|; ends included; (q, 6).

    Kept for the next bank with the very same curve, so nobody may write into it.

    Unit: [1; V or ohm]
    """
    rows = _rows_of(curve)
    rows.setflags(write=False)
    return rows


def _rows_of(curve: Curve) -> Floats:
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
    if not curve.coefficients[:, 2:].any():
        return np.asarray(np.abs(c1))
    width = np.diff(curve.knots)
    turn = np.divide(-c2, 3.0 * c3, out=np.zeros_like(c2), where=c3 != 0.0)
    places = (np.zeros_like(width), width, np.clip(turn, 0.0, width))
    slopes = [np.abs(c1 + s * (2.0 * c2 + s * 3.0 * c3)) for s in places]
    return np.asarray(np.max(slopes, axis=0))


@lru_cache(maxsize=KEPT_CURVES)
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

    known: dict[tuple[object, ...], tuple[int, int]] = field(default_factory=dict)
    rows: list[Floats] = field(default_factory=list)
    used: int = 0

    def add(self, curve: Curve) -> tuple[int, int]:
        """Return the range of rows that holds the curve."""
        numbers = (
            curve.knots.tobytes(), curve.coefficients.tobytes(),
            curve.slope_below, curve.slope_above,
        )  # fmt: skip
        place = self.known.get(numbers)
        if place is None:
            rows = curve_pieces(curve)
            place = self.known[numbers] = (self.used, self.used + len(rows))
            self.used = place[1]
            self.rows.append(rows)
        return place


def records(rows: Any, kind: np.dtype[Any]) -> Records:
    """Return rows as an array of records with named fields."""
    return np.array(rows, dtype=kind).view(np.recarray)


@dataclass(frozen=True, slots=True)
class Guard:
    """One rule of the kernels: what it belongs to.

    Parameters
    ----------
    act : int
        BLOCK, SHED, HEATS or ENDS_STAGE.
    subject : int
        Number of the battery, of the load among those that cut themselves off, or of the charger.
    rule : Rule or None
        For BLOCK.
    """

    act: int
    subject: int
    rule: Rule | None = None


def bank_guards(bank: Bank) -> list[Guard]:
    """Return all rules in order of action: batteries', loads', heaters', chargers'."""
    numbered = list(enumerate(bank.batteries))
    return [
        *(Guard(k.BLOCK, i, rule) for i, battery in numbered for rule in battery.rules),
        *(Guard(k.SHED, i) for i in range(len(cutting_loads(bank)))),
        *(Guard(k.HEATS, i) for i, battery in numbered if battery.heater is not None),
        *(
            Guard(k.ENDS_STAGE, i)
            for i, charger in enumerate(bank.chargers)
            if any(stage.tail_A is not None for stage in charger.stages)
        ),
    ]


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
    pieces = _Pieces()
    cell_rows = [_cell_row(cell, pieces) for cell in cells]
    battery_rows = _battery_rows(bank, pieces)
    edge, demand, exponent = build_demand(bank)
    return k.Bank(
        cell=records(cell_rows, k.CELL),
        pair=np.array([_pairs(cell) for cell in cells]),
        pieces=np.vstack(pieces.rows),
        battery=records(battery_rows, k.BATTERY),
        rule=records([_rule_row(bank, guard) for guard in bank_guards(bank)], k.RULE),
        charger=records(_charger_rows(bank), k.CHARGER),
        stage=_stages(bank),
        setting=_settings(bank, relative, absolute_A, every_s, edge.size <= most_edges),
        edge=edge,
        demand=demand,
        exponent=exponent,
        row_s=np.empty(0),
    )


def _settings(
    bank: Bank, relative: float, absolute_A: float, every_s: float, trace_edges: bool
) -> Floats:
    row = bank.wiring.layout is not Layout.EQUAL_LEADS
    setting = np.zeros(12)
    setting[k.LINK] = bank.wiring.link_ohm if row else 0.0
    setting[k.FAR] = float(bank.wiring.layout is Layout.OPPOSITE_ENDS)
    setting[k.MAIN] = bank.wiring.main_ohm
    setting[k.RELATIVE], setting[k.ABSOLUTE], setting[k.EVERY] = relative, absolute_A, every_s
    setting[k.STOP_EMPTY] = float(bank.stop_when_empty)
    setting[k.TRACE_EDGES] = float(trace_edges)
    setting[k.MEAN_K], setting[k.SWING_K] = bank.temperature_K, bank.swing_K
    setting[k.DAY_SHIFT] = bank.starts_at_s - bank.warmest_s
    setting[k.GROUPS] = len(cutting_loads(bank))
    return setting


def _cell_row(cell: Cell, pieces: _Pieces) -> tuple[Any, ...]:
    return (
        cell.charge_C,
        cell.coulombic_efficiency,
        cell.standing_A,
        cell.gassing_A,
        cell.hysteresis_V,
        cell.hysteresis_rate,
        1.0 - cell.available_fraction,
        len(cell.relaxation),
        *pieces.add(cell.ocv_V),
        *pieces.add(cell.ohmic_ohm),
        cell.charge_ohm_from,
        1.0,
        cell.charge_lag.full_ohm,
        1.0 / cell.charge_lag.width,
        cell.charge_lag.away,
        1.0 / cell.charge_lag.bend_V,
    )


def _pairs(cell: Cell) -> Floats:
    pairs = np.zeros((k.MOST_PAIRS + 1, 2))
    for j, pair in enumerate(cell.relaxation):
        pairs[j] = pair.resistance_ohm, pair.time_constant_s
    if cell.available_fraction < 1.0:
        well_s = 1.0 / cell.well_rate_per_s if cell.well_rate_per_s > 0.0 else SHUT_WELL_S
        pairs[k.WELL_SLOT] = well_s / (cell.available_fraction * cell.charge_C), well_s
    return pairs


def _battery_rows(bank: Bank, pieces: _Pieces) -> list[tuple[Any, ...]]:
    ends = np.cumsum([len(one.cells) for one in bank.batteries])
    return [
        (
            end - len(one.cells),
            end,
            one.internal_ohm,
            one.lead_ohm,
            one.diode_drop_V,
            stride_C(one),
            one.rated_C,
            _or_inf(one.continuous_discharge_A),
            _or_inf(one.continuous_charge_A),
            one.cells[0].activation_J_mol / GAS_CONSTANT_J_MOL_K,
            *_usable(one.cells[0], pieces),
            *_heat(one),
            *_balancer(one),
        )
        for one, end in zip(bank.batteries, ends, strict=True)
    ]


def _or_inf(limit: float | None) -> float:
    return math.inf if limit is None else limit


def _usable(cell: Cell, pieces: _Pieces) -> tuple[int, int]:
    return (0, 0) if cell.usable_part is None else pieces.add(cell.usable_part)


def _heat(battery: Battery) -> tuple[float, float]:
    """Time constant and loss; a time constant of 0 means the temperature of the surroundings."""
    if battery.thermal is None:
        return 0.0, 1.0
    return battery.thermal.capacity_J_K / battery.thermal.loss_W_K, battery.thermal.loss_W_K


def _balancer(battery: Battery) -> tuple[int, float, float, float]:
    one = battery.balancer
    if one is None:
        return k.NO_BALANCER, 0.0, 0.0, 0.0
    kind = k.BLEED if one.kind is Balancing.BLEED else k.TRANSFER
    return kind, one.current_A, one.starts_above_V, one.within_V


def stride_C(battery: Battery) -> float:  # noqa: N802 - the unit as printed
    """Return the most charge that may pass a battery in one step of the march. [C]"""
    return min(
        curve_grain(cell.ocv_V) * cell.charge_C * cell.available_fraction for cell in battery.cells
    )


def _rule_row(bank: Bank, guard: Guard) -> tuple[Any, ...]:
    """One row of RULE, in the order of its fields."""
    if guard.rule is not None:
        return _protection_row(guard.subject, guard.rule)
    if guard.act == k.SHED:
        cut = cutting_loads(bank)[guard.subject].cut_off
        assert cut is not None
        again = (0, 0.0) if cut.restart_V is None else (1, cut.restart_V)
        watched = (k.LOAD_VOLTAGE, 1.0, cut.below_V, cut.after_s, 0)
        return (guard.act, guard.subject, *watched, *again, 0.0, k.NOTHING, 0.0, 0)
    if guard.act == k.HEATS:
        heater = bank.batteries[guard.subject].heater
        assert heater is not None
        watched = (k.TEMPERATURE, 1.0, heater.on_below_K, 0.0, 0)
        pad = (heater.power_W, int(heater.needs_charger))
        return (guard.act, guard.subject, *watched, 1, heater.off_above_K, 0.0, k.NOTHING, *pad)
    watched = (k.TAIL_CURRENT, -1.0, 0.0, 0.0, 0)
    return (guard.act, guard.subject, *watched, 0, 0.0, 0.0, k.NOTHING, 0.0, 0)


def _protection_row(battery: int, rule: Rule) -> tuple[Any, ...]:
    sign, release = 1.0 if rule.below else -1.0, rule.release
    watched = (WATCH_NUMBER[rule.watches], sign, rule.threshold, rule.delay_s, int(rule.blocks))
    again = (0, 0.0, 0.0, k.NOTHING)
    if release is not None and release.needs is not Needs.HAND:
        again = (1, release.threshold, release.delay_s, NEED_NUMBER[release.needs])
    return (k.BLOCK, battery, *watched, *again, 0.0, 0)


def _charger_rows(bank: Bank) -> list[tuple[Any, ...]]:
    ends = np.cumsum([len(one.stages) for one in bank.chargers])
    return [
        (
            one.limit_A or 0.0,
            one.sun.peak_W if one.sun else one.limit_W or 0.0,
            one.sun.set_s - one.sun.rise_s if one.sun else 0.0,
            end - len(one.stages),
            end,
        )
        for one, end in zip(bank.chargers, ends, strict=True)
    ]


def _stages(bank: Bank) -> Floats:
    rows = [
        (stage.hold_V, -1.0 if stage.tail_A is None else stage.tail_A, _or_inf(stage.most_s))
        for charger in bank.chargers
        for stage in charger.stages
    ]
    return np.array(rows, dtype=float).reshape(-1, 3)


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
    c = packed.charger.size
    least = 16 * (p + c + 3 * n + 4)
    moment, now = np.zeros((m, k.CELL_COLUMNS)), np.zeros((n + 1 + c, k.NOW_COLUMNS))
    now[:n, k.KELVIN] = bank.ambient_K(0.0)
    cells = [cell for battery in bank.batteries for cell in battery.cells]
    moment[:, k.SOC] = [cell.state_of_charge for cell in cells]
    source, alarm = np.zeros(c, k.SOURCE), np.zeros(p, k.ALARM)
    source["stage"], alarm["freed"] = -1, -math.inf
    return k.Run(
        moment=moment,
        now=now,
        trial=np.zeros_like(moment),
        trial_now=np.zeros_like(now),
        probe=np.zeros_like(moment),
        probe_now=np.zeros_like(now),
        weight=np.zeros((m, k.MOST_PAIRS + 1, 2)),
        extreme=np.tile([math.inf, -math.inf, math.inf, -math.inf], (n, 1)),
        hint=np.column_stack([packed.cell["ocv_first"], packed.cell["ohm_first"]]),
        tally=_tally_at_start(n),
        alarm=records(alarm, k.ALARM),
        source=records(source, k.SOURCE),
        gap=np.zeros((p, 9)),
        level=np.zeros(3 + packed.exponent.size),
        ledger=np.zeros((3, n + 1, k.LEDGER_COLUMNS)),
        clock=_clock_at_start(bank.duration_s),
        ladder=np.zeros((n, 5)),
        active=np.zeros(n, dtype=np.int64),
        series=np.zeros(n),
        rows=np.zeros((max(rows, 4 * least) if rows else 0, 5 + 5 * n + m + c)),
        events=np.zeros((least, 6 + 3 * n + m)),
        used=np.zeros(2, dtype=np.int64),
    )


def _tally_at_start(count: int) -> Any:
    """Return the records of batteries that have done nothing yet."""
    tally = records(np.zeros(count, k.TALLY), k.TALLY)
    tally["on"] = 1
    for name in ("share", "back_out", "back_into"):
        tally[name] = math.nan
    tally["coldest"], tally["warmest"] = math.inf, -math.inf
    return tally


def _clock_at_start(duration_s: float) -> Any:
    """Return the clock before the first load."""
    clock = records(np.zeros(1, k.CLOCK), k.CLOCK)
    clock["step"], clock["fed_until"], clock["segment"] = duration_s, math.inf, -1
    clock["left_at"] = -math.inf
    clock["arrived"] = 1
    return clock

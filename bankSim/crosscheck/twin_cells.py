"""Cells and batteries of the twin: rates of change and what the rules watch, in plain NumPy."""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from bankSim.crosscheck.twin_network import Flags, Flow, Indices, Network, rail_matrix
from bankSim.model.bank import Bank
from bankSim.model.cell import Cell, arrhenius_factor
from bankSim.model.curve import Curve, Floats
from bankSim.model.rule import Rule, Watch


class CurveTable:
    """Many curves side by side, each read at its own state of charge in one go."""

    def __init__(self, curves: list[Curve], factors: list[float]) -> None:
        self.first = np.array([c.knots[0] for c in curves])
        self.last = np.array([c.knots[-1] for c in curves])
        self.below = np.array([c.slope_below for c in curves])
        self.above = np.array([c.slope_above for c in curves])
        self.factor = np.array(factors)
        spans = np.array([0.0, *(self.last - self.first + 1.0)[:-1]])
        self.shift = np.cumsum(spans) - self.first
        self.knots = np.concatenate([c.knots + s for c, s in zip(curves, self.shift, strict=True)])
        gap = np.zeros((1, 4))
        self.pieces = np.concatenate([np.vstack([c.coefficients, gap]) for c in curves])
        sizes = [c.knots.size for c in curves]
        self.final = np.cumsum(sizes) - 2

    def __call__(self, z: Floats) -> Floats:
        """Return y of curve i at z[i]; shape of `z`."""
        inside = np.minimum(np.maximum(z, self.first), self.last)
        moved = inside + self.shift
        index = np.minimum(self.knots.searchsorted(moved, side="right") - 1, self.final)
        s = moved - self.knots[index]
        c = self.pieces[index].T
        y = c[0] + s * (c[1] + s * (c[2] + s * c[3]))
        beyond = z - inside
        y += np.where(beyond < 0.0, beyond * self.below, beyond * self.above)
        return np.asarray(y * self.factor)


@dataclass(frozen=True, slots=True)
class Snapshot:
    """Everything that can be watched at one instant.

    Parameters
    ----------
    flow : Flow
    cell_V : array (cells,)
        U + M h - sum v - I R0 of every cell, battery by battery. [V]
    battery_V : array (n,)
        At the batteries' own terminals, before the leads. [V]
    """

    flow: Flow
    cell_V: Floats
    battery_V: Floats


class Plant:
    """The bank as vectors.

    The state is [z of every cell, v of every relaxation pair, h of every cell with hysteresis,
    charge given by every battery, charge taken by every battery]; charges in units of the
    largest cell's charge, so that one absolute tolerance suits all entries.
    """

    def __init__(self, bank: Bank) -> None:
        cells = [cell for battery in bank.batteries for cell in battery.cells]
        factors = [arrhenius_factor(c.activation_J_mol, bank.temperature_K) for c in cells]
        counts = [len(battery.cells) for battery in bank.batteries]
        self.bank = bank
        self.owner: Indices = np.repeat(np.arange(len(counts)), counts)
        self.starts: Indices = np.cumsum([0, *counts[:-1]])
        self.ocv_V = CurveTable([c.ocv_V for c in cells], [1.0] * len(cells))
        self.ohmic_ohm = CurveTable([c.ohmic_ohm for c in cells], factors)
        self.charge_C = np.array([c.charge_C for c in cells])
        self.efficiency = np.array([c.coulombic_efficiency for c in cells])
        self.standing_A = np.array([c.standing_A for c in cells])
        self.unit_C = float(self.charge_C.max())
        self.internal_ohm = np.array([b.internal_ohm for b in bank.batteries])
        self.lead_ohm = np.array([b.lead_ohm for b in bank.batteries])
        self._set_memory(cells, factors)
        exponents = np.array([load.exponent for load in bank.loads])
        self.network = Network(rail_matrix(bank), bank.wiring.main_ohm, exponents)

    def _set_memory(self, cells: list[Cell], factors: list[float]) -> None:
        """Collect the relaxation pairs and the cells with hysteresis."""
        pairs = [(k, pair) for k, cell in enumerate(cells) for pair in cell.relaxation]
        self.pair_cell: Indices = np.array([k for k, _ in pairs], dtype=np.intp)
        self.pair_ohm = np.array([pair.resistance_ohm * factors[k] for k, pair in pairs])
        self.pair_tau_s = np.array([pair.time_constant_s for _, pair in pairs])
        self.lagging: Indices = np.array(
            [k for k, cell in enumerate(cells) if cell.hysteresis_V > 0.0], dtype=np.intp
        )
        self.hysteresis_V = np.array([cells[k].hysteresis_V for k in self.lagging])
        self.hysteresis_rate = np.array([cells[k].hysteresis_rate for k in self.lagging])
        sizes = [len(cells), len(pairs), self.lagging.size, *[len(self.bank.batteries)] * 2]
        ends = np.cumsum([0, *sizes])
        self.parts = [slice(*pair) for pair in pairwise(ends)]
        self.start = np.zeros(sum(sizes))
        self.start[: len(cells)] = [cell.state_of_charge for cell in cells]

    def split(self, y: Floats) -> list[Floats]:
        """Return views of the five parts of the state."""
        return [y[part] for part in self.parts]

    def emf_and_ohm(self, y: Floats) -> tuple[Floats, Floats]:
        """Return voltage without current and R0 of every cell. [V, ohm]"""
        z, v, h, *_ = self.split(y)
        emf_V = self.ocv_V(z) - np.bincount(self.pair_cell, v, minlength=z.size)
        emf_V[self.lagging] += self.hysteresis_V * h
        return emf_V, self.ohmic_ohm(z)

    def flow(self, y: Floats, amounts: Floats, joined: Flags, one_way: Flags) -> Flow:
        """Solve the network for one state."""
        emf_V, ohm = self.emf_and_ohm(y)
        series = np.add.reduceat(ohm, self.starts) + self.internal_ohm + self.lead_ohm
        total = np.add.reduceat(emf_V, self.starts)
        return self.network.share(total, series, amounts, joined, one_way)

    def rates(self, y: Floats, current_A: Floats) -> Floats:
        """Return dy/dt for the given battery currents."""
        _, v, h, *_ = self.split(y)
        through = current_A[self.owner]
        stored = np.where(through < 0.0, self.efficiency * through, through)
        slow = through[self.lagging]
        speed = self.hysteresis_rate / self.charge_C[self.lagging]
        parts = (
            -(stored + self.standing_A) / self.charge_C,
            (self.pair_ohm * through[self.pair_cell] - v) / self.pair_tau_s,
            -np.abs(speed * slow) * (h + np.sign(slow)),
            np.maximum(current_A, 0.0) / self.unit_C,
            np.maximum(-current_A, 0.0) / self.unit_C,
        )
        return np.concatenate(parts)

    def snapshot(self, y: Floats, flow: Flow) -> Snapshot:
        """Return cell and battery voltages that belong to a flow."""
        emf_V, ohm = self.emf_and_ohm(y)
        cell_V = emf_V - ohm * flow.current_A[self.owner]
        terminal = np.add.reduceat(cell_V, self.starts) - flow.current_A * self.internal_ohm
        return Snapshot(flow, cell_V, terminal)

    def cells_of(self, battery: int) -> slice:
        """Return where a battery's cells stand in the cell vectors."""
        start = int(self.starts[battery])
        return slice(start, start + len(self.bank.batteries[battery].cells))

    def watched(self, seen: Snapshot, battery: int, watch: Watch) -> float:
        """Return the value that a rule of one battery watches, in SI."""
        if watch is Watch.LOWEST_CELL:
            return float(seen.cell_V[self.cells_of(battery)].min())
        if watch is Watch.HIGHEST_CELL:
            return float(seen.cell_V[self.cells_of(battery)].max())
        if watch is Watch.BATTERY_VOLTAGE:
            return float(seen.battery_V[battery])
        if watch is Watch.TEMPERATURE:
            return self.bank.temperature_K
        current_A = float(seen.flow.current_A[battery])
        return current_A if watch is Watch.DISCHARGE_CURRENT else -current_A

    def margin(self, seen: Snapshot, battery: int, rule: Rule) -> float:
        """Return how far a rule is from its condition; negative when the condition holds."""
        value = self.watched(seen, battery, rule.watches)
        return value - rule.threshold if rule.below else rule.threshold - value

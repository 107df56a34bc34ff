"""Cells and batteries of the twin: rates of change and what can be watched, in plain NumPy."""

from dataclasses import dataclass, replace

import numpy as np

from bankSim.crosscheck.twin_curves import CurveTable
from bankSim.crosscheck.twin_diodes import Indices
from bankSim.crosscheck.twin_network import Flow, Network, rail_matrix
from bankSim.crosscheck.twin_state import StateLayout, Switching
from bankSim.crosscheck.twin_upkeep import balancing_A, supply_at
from bankSim.errors import SimulationError
from bankSim.model.bank import Bank
from bankSim.model.cell import DRAINED, GAS_CONSTANT_J_MOL_K, REFERENCE_K
from bankSim.model.curve import Curve, Floats

MOST_TURNS = 12
TURN_A = 1e-9  # below it a direction means nothing
ALL_USABLE = Curve.linear(np.array([1.0, 1e4]), np.ones(2))  # over any temperature


@dataclass(frozen=True, slots=True)
class View:
    """The cells at one instant, before the network is solved.

    Parameters
    ----------
    temperature_K : array (n,)
    factor : array (n,)
        R(T) / R(25 degC). [1]
    head : array (cells,)
        y of the available well. [1]
    open_V, emf_V : array (cells,)
        U, and U + M h - sum v. [V]
    ohm, easy_ohm : array (cells,)
        R0 at its temperature, and without its rise near empty where that only hinders discharge;
        once currents are known, `ohm` is what holds for their directions. [ohm]
    """

    temperature_K: Floats
    factor: Floats
    head: Floats
    open_V: Floats
    emf_V: Floats
    ohm: Floats
    easy_ohm: Floats


@dataclass(frozen=True, slots=True)
class Snapshot:
    """Everything that can be watched at one instant.

    Parameters
    ----------
    flow : Flow
    cell_V : array (cells,)
        U + M h - sum v - I R0 of every cell, battery by battery. [V]
    battery_V : array (n,)
        Sum of its cells less the drop in its own resistance, on the cells' side of the diode. [V]
    emf_V, rail_V : array (n,)
        Without current, and of the rails where the lead ends. [V]
    temperature_K : array (n,)
    given_C, taken_C : array (n,)
        Since the start. [C]
    margin_A : float
        By how much the loads can be fed. [A]
    """

    flow: Flow
    cell_V: Floats
    battery_V: Floats
    emf_V: Floats
    rail_V: Floats
    temperature_K: Floats
    given_C: Floats
    taken_C: Floats
    margin_A: float


class Plant:
    """The bank as vectors; `layout` says what stands where in the state.

    Parameters
    ----------
    bank : Bank
    """

    def __init__(self, bank: Bank) -> None:
        self.bank, self.layout = bank, StateLayout(bank)
        cells, batteries = self.layout.cells, bank.batteries
        counts = [len(battery.cells) for battery in batteries]
        self.owner: Indices = np.repeat(np.arange(len(counts)), counts)
        self.starts: Indices = np.cumsum([0, *counts[:-1]])
        self.ocv_V = CurveTable([c.ocv_V for c in cells])
        self.ohmic_ohm = CurveTable([c.ohmic_ohm for c in cells])
        self.last_into = np.zeros(len(batteries), bool)  # a first guess, no part of the state
        self.charge_ohm_from = np.array([c.charge_ohm_from for c in cells])
        self.eases = bool(np.isfinite(self.charge_ohm_from).any())
        self.charge_C = np.array([c.charge_C for c in cells])
        self.efficiency = np.array([c.coulombic_efficiency for c in cells])
        self.standing_A = np.array([c.standing_A for c in cells])
        self.gassing_A = np.array([c.gassing_A for c in cells])
        self.bound_part = np.array([1.0 - c.available_fraction for c in cells])
        self.well_rate = np.array([c.well_rate_per_s for c in cells])
        self.hysteresis_V = np.array([c.hysteresis_V for c in cells])
        self.hysteresis_rate = np.array([c.hysteresis_rate for c in cells])
        self.pair_cell: Indices = np.array([k for k, _ in self.layout.pairs], dtype=np.intp)
        self.pair_ohm = np.array([pair.resistance_ohm for _, pair in self.layout.pairs])
        first = np.diff(self.pair_cell, prepend=-1) > 0  # pairs of a cell stand side by side
        self.first_pairs: Indices = np.flatnonzero(first)
        lags = [self.layout.cells[k].charge_lag for k in self.pair_cell[first]]
        self.lag_ohm = np.array([lag.full_ohm for lag in lags])
        self.lag_width = np.array([lag.width for lag in lags])
        self.lag_from = np.array([lag.starts_at for lag in lags])
        self.lag_bend_V = np.array([lag.bend_V for lag in lags])
        self.pair_tau_s = np.array([pair.time_constant_s for _, pair in self.layout.pairs])
        self.internal_ohm = np.array([b.internal_ohm for b in batteries])
        self.outer_ohm = self.internal_ohm + [b.lead_ohm for b in batteries]
        self.drop_V = np.array([b.diode_drop_V for b in batteries])
        self.rails_ohm = rail_matrix(bank)
        kinds = [b.cells[0] for b in batteries]
        self.activation_J_mol = np.array([kind.activation_J_mol for kind in kinds])
        self.usable_part = CurveTable([kind.usable_part or ALL_USABLE for kind in kinds])
        self.stiffens = any(kind.usable_part is not None for kind in kinds)
        heats = [batteries[k].thermal for k in self.layout.warming]
        self.heat_J_K = np.array([heat.capacity_J_K for heat in heats if heat])
        self.loss_W_K = np.array([heat.loss_W_K for heat in heats if heat])

    @property
    def start(self) -> Floats:
        """The state at t = 0. In the units of `StateLayout`."""
        return self.layout.start()

    @property
    def unit_C(self) -> float:  # noqa: N802 - the unit as printed
        """Charge of the largest cell, the unit of charges in the state. [C]"""
        return self.layout.unit_C

    def split(self, y: Floats) -> list[Floats]:
        """Return views of the parts of the state. In the units of `StateLayout`."""
        return self.layout.split(y)

    def cells_of(self, battery: int) -> slice:
        """Return where a battery's cells stand in the cell vectors."""
        start = int(self.starts[battery])
        return slice(start, start + len(self.bank.batteries[battery].cells))

    def temperature_K(self, time_s: float, y: Floats) -> Floats:  # noqa: N802 - the unit as printed
        """Return the temperature of every battery, shape (n,). [K]"""
        temperature = np.full(len(self.bank.batteries), self.bank.ambient_K(time_s))
        temperature[self.layout.warming] = self.split(y)[6]
        return temperature

    def head(self, y: Floats) -> Floats:
        """Return y = z - (1 - c) d, the head of the available well of every cell. [1]"""
        z, d = y[self.layout.parts[0]], self.split(y)[5]
        head = z.copy()
        head[self.layout.welled] -= self.bound_part[self.layout.welled] * d
        return np.asarray(head)

    def view(self, time_s: float, y: Floats) -> View:
        """Return voltages and resistances without current. `y` in the units of `StateLayout`."""
        _, v, h, *_ = self.split(y)
        temperature, head = self.temperature_K(time_s, y), self.head(y)
        colder = 1.0 / temperature - 1.0 / REFERENCE_K
        factor = np.exp(self.activation_J_mol / GAS_CONSTANT_J_MOL_K * colder)
        read_at = head
        if self.stiffens:
            read_at = 1.0 - (1.0 - head) / self.usable_part(temperature)[self.owner]
        open_V = self.ocv_V(head)
        emf_V = open_V - np.bincount(self.pair_cell, v, minlength=head.size)
        emf_V[self.layout.lagging] += self.hysteresis_V[self.layout.lagging] * h
        ohm = self.ohmic_ohm(read_at) * factor[self.owner]
        easy_ohm = ohm
        if self.eases:
            easier_at = np.maximum(read_at, self.charge_ohm_from)
            easy_ohm = self.ohmic_ohm(easier_at) * factor[self.owner]
        return View(temperature, factor, head, open_V, emf_V, ohm, easy_ohm)

    def split_current(
        self, time_s: float, view: View, now: Switching
    ) -> tuple[View, Network, Flow]:
        """Solve for one instant; on charge R0 has no rise near empty, so directions are tried.

        The resistance that belongs to them stands in the returned view.
        """
        into = self.last_into
        for _ in range(MOST_TURNS):
            known = replace(view, ohm=np.where(into[self.owner], view.easy_ohm, view.ohm))
            network = self.network(time_s, known, now)
            flow = network.solve()
            found = (flow.current_A < 0.0) & flow.fed
            agree = np.all((found == into) | (np.abs(flow.current_A) <= TURN_A))
            if agree and (flow.fed or not into.any()):
                self.last_into = into
                return known, network, flow
            into = found
        raise SimulationError(
            "the twin finds no directions of current that fit the resistances near empty; beside a "
            "charger a load of constant power can have several answers there"
        )

    def network(self, time_s: float, view: View, now: Switching) -> Network:
        """Return the question to the network for one instant."""
        exponents = [load.exponent for load in self.bank.loads]
        asked = (
            *zip(now.amounts.tolist(), exponents, strict=True),
            (float(now.heating_W.sum()), 0.0),
        )
        return Network(
            np.add.reduceat(view.emf_V, self.starts),
            np.add.reduceat(view.ohm, self.starts) + self.outer_ohm,
            self.drop_V,
            now.blocked,
            self.rails_ohm,
            self.bank.wiring.main_ohm,
            supply_at(self.bank, now.stages, time_s),
            asked,
        )

    def flow(self, time_s: float, y: Floats, now: Switching) -> Flow:
        """Solve the network for one state. `y` in the units of `StateLayout`."""
        return self.split_current(time_s, self.view(time_s, y), now)[2]

    def snapshot(self, time_s: float, y: Floats, now: Switching) -> Snapshot:
        """Return all that can be watched. `y` in the units of `StateLayout`."""
        view, network, flow = self.split_current(time_s, self.view(time_s, y), now)
        cell_V = view.emf_V - view.ohm * flow.current_A[self.owner]
        return Snapshot(
            flow,
            cell_V,
            np.add.reduceat(cell_V, self.starts) - flow.current_A * self.internal_ohm,
            network.emf_V,
            flow.bus_V + self.rails_ohm @ flow.current_A,
            view.temperature_K,
            self.split(y)[3] * self.layout.unit_C,
            self.split(y)[4] * self.layout.unit_C,
            network.margin_A() if flow.fed else -1.0,
        )

    def rates(self, time_s: float, y: Floats, now: Switching) -> Floats:
        """Return dy/dt. [units of `StateLayout` per s]"""
        _, v, h, _, _, d, *_ = self.split(y)
        view, _, flow = self.split_current(time_s, self.view(time_s, y), now)
        current_A = flow.current_A
        through = current_A[self.owner]
        left = np.clip(1.0 + view.head / DRAINED, 0.0, 1.0)
        gas = self.gassing_A * np.maximum(view.head - 1.0, 0.0)
        leak = left * self.standing_A + gas
        balance = self._balancing(view.emf_V - view.ohm * through)
        charging = np.maximum(-through, 0.0)
        drawn = through + (1.0 - self.efficiency) * charging + leak + balance
        warmth, passed_A = view.factor[self.owner][self.pair_cell], through[self.pair_cell]
        aim_V = warmth * self.pair_ohm * passed_A
        aim_V[self.first_pairs] -= self._charge_lag(view, charging * self.efficiency - gas)
        lagging, welled = self.layout.lagging, self.layout.welled
        speed = self.hysteresis_rate[lagging] / self.charge_C[lagging]
        into_well = drawn[welled] / ((1.0 - self.bound_part[welled]) * self.charge_C[welled])
        lost = leak + (1.0 - self.efficiency) * charging + balance
        heat_W = self._heat(view, y, current_A, lost) + now.heating_W
        power_W = self._terminal_V(view, current_A, now) * current_A
        parts = (
            -drawn / self.charge_C,
            (aim_V - v) / self.pair_tau_s,
            -np.abs(speed * through[lagging]) * (h + np.sign(through[lagging])),
            np.maximum(current_A, 0.0) / self.layout.unit_C,
            np.maximum(-current_A, 0.0) / self.layout.unit_C,
            into_well - self.well_rate[welled] * d,
            self._warming(time_s, view, heat_W + self._diode_W(current_A, now)),
            flow.charger_A / self.layout.unit_C,
            np.maximum(power_W, 0.0) / self.layout.unit_J,
            np.maximum(-power_W, 0.0) / self.layout.unit_J,
        )
        return np.concatenate(parts)

    def _charge_lag(self, view: View, stored_A: Floats) -> Floats:
        """Return what currents that are stored drive the first pairs to besides. [V]"""
        of = self.pair_cell[self.first_pairs]
        part = np.ones(of.size)
        for k in np.flatnonzero(np.isfinite(self.lag_width)):
            width, below = self.lag_width[k], max(1.0 - float(view.head[of[k]]), 0.0)
            part[k] = width / (width + below)
            if np.isfinite(self.lag_from[k]):
                part[k] -= width / (width + 1.0 - self.lag_from[k])
        straight = self.lag_ohm * np.maximum(part, 0.0) * np.maximum(stored_A[of], 0.0)
        straight *= view.factor[self.owner][of]
        bends = np.isfinite(self.lag_bend_V)
        bend_V = np.where(bends, self.lag_bend_V, 1.0)
        bent = np.log(straight / bend_V + np.hypot(straight / bend_V, 1.0)) * bend_V
        return np.asarray(np.where(bends, bent, straight))

    def _balancing(self, cell_V: Floats) -> Floats:
        """Return the balancing current out of every cell. [A]"""
        out = np.zeros(cell_V.size)
        for k, battery in enumerate(self.bank.batteries):
            if battery.balancer is not None:
                where = self.cells_of(k)
                out[where] = balancing_A(battery.balancer, cell_V[where])
        return out

    def _diode_W(self, current_A: Floats, now: Switching) -> Floats:  # noqa: N802 - the unit as printed
        """Return the heat in diodes; a blocked direction makes the other one go through one. [W]"""
        return np.asarray(np.where(now.blocked != 0, self.drop_V * np.abs(current_A), 0.0))

    def _terminal_V(self, view: View, current_A: Floats, now: Switching) -> Floats:  # noqa: N802
        """Return the voltage at the ends of the leads inside, after the diode. [V]"""
        emf_V = np.add.reduceat(view.emf_V, self.starts)
        ohm = np.add.reduceat(view.ohm, self.starts) + self.internal_ohm
        drop_V = np.where(now.blocked != 0, np.sign(current_A) * self.drop_V, 0.0)
        return np.asarray(emf_V - ohm * current_A - drop_V)

    def _heat(self, view: View, y: Floats, current_A: Floats, lost_A: Floats) -> Floats:
        """Return I^2 R + I (sum v - sum M h) + sum U x lost current of every battery. [W]"""
        over_V = np.add.reduceat(view.open_V - view.emf_V, self.starts)  # sum v - sum M h
        ohm = np.add.reduceat(view.ohm, self.starts) + self.internal_ohm
        own = np.add.reduceat(view.open_V * lost_A, self.starts)
        return np.asarray(current_A**2 * ohm + current_A * over_V + own)

    def _warming(self, time_s: float, view: View, heat_W: Floats) -> Floats:
        """Return dT/dt of the batteries with a temperature of their own. [K/s]"""
        warming = self.layout.warming
        above_K = view.temperature_K[warming] - self.bank.ambient_K(time_s)
        return np.asarray((heat_W[warming] - self.loss_W_K * above_K) / self.heat_J_K)

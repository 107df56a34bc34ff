"""The bank's network in dense form, solved by SciPy's bracketing root finder."""

from collections.abc import Callable
from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq

from bankSim.model.bank import Bank, Layout
from bankSim.model.curve import Floats

Flags = NDArray[np.bool_]
Indices = NDArray[np.intp]

LEAST_VOLTAGE_V = 1e-6
LEAST_RESISTANCE_OHM = 1e-9
SMALLEST_A = 1e-12


@dataclass(frozen=True, slots=True)
class Flow:
    """How the current splits at one instant.

    Parameters
    ----------
    current_A : array (n,)
        Of every battery, discharge positive. [A]
    bus_V : float
        At the take-off. [V]
    margin_V : float
        How far the loads are from not being fed; negative when they cannot be. [V]
    refused : bool
        The bank is asked to take charge and no battery accepts any.
    """

    current_A: Floats
    bus_V: float
    margin_V: float
    refused: bool = False


def rail_matrix(bank: Bank) -> Floats:
    """Z of (diag(R) + Z) I = E - V: the drop along the rails to battery k per ampere of battery l.

    With k, l counted from 1 and r one rail between neighbours, a pair of batteries shares
    2 r (min(k, l) - 1) when both take-offs are at battery 1, and r (min(k, l) - 1) on plus and
    r (N - max(k, l)) on minus when they are at opposite ends (Kirchhoff's laws).

    Returns
    -------
    Z : array (N, N)
        [ohm]
    """
    count, r = len(bank.batteries), bank.wiring.link_ohm
    place = np.arange(1, count + 1)
    nearer = np.minimum.outer(place, place) - 1.0
    if bank.wiring.layout is Layout.SAME_END:
        return np.asarray(2.0 * r * nearer)
    if bank.wiring.layout is Layout.OPPOSITE_ENDS:
        return np.asarray(r * nearer + r * (count - np.maximum.outer(place, place)))
    return np.zeros((count, count))


@dataclass(frozen=True, eq=False, slots=True)
class Network:
    """Rails, main and loads; amounts of the loads are handed over with every question.

    Parameters
    ----------
    rails_ohm : array (n, n)
        Z. [ohm]
    main_ohm : float
        From the take-off to the loads. [ohm]
    exponents : array (m,)
        Of the loads. [1]
    """

    rails_ohm: Floats
    main_ohm: float
    exponents: Floats

    def share(
        self, emf_V: Floats, series_ohm: Floats, amounts: Floats, joined: Flags, one_way: Flags
    ) -> Flow:
        """Return the flow with the `joined` batteries; those `one_way` may only discharge.

        Which one-way batteries conduct is found by trying every combination: a conducting one
        must carry current >= 0, a resting one must not be able to discharge.
        """
        gates = np.flatnonzero(joined & one_way)
        for pattern in product((True, False), repeat=gates.size):
            conducting = joined.copy()
            conducting[gates] = pattern
            if not conducting.any():
                break
            flow = self._solve(emf_V, series_ohm, amounts, np.flatnonzero(conducting))
            drop_V = self.rails_ohm @ flow.current_A
            resting = gates[~np.array(pattern, dtype=bool)]
            willing = emf_V[resting] - flow.bus_V - drop_V[resting]
            if (flow.current_A[gates] >= -SMALLEST_A).all() and (willing <= SMALLEST_A).all():
                return flow
        return self._nobody(emf_V, amounts, joined)

    def _solve(self, emf_V: Floats, series_ohm: Floats, amounts: Floats, who: Indices) -> Flow:
        """Solve Kirchhoff's laws for the conducting batteries `who`."""
        matrix = self.rails_ohm[np.ix_(who, who)]
        matrix = matrix + np.diag(np.maximum(series_ohm[who], LEAST_RESISTANCE_OHM))
        sides = np.column_stack([emf_V[who], np.ones(who.size)])
        driven, per_volt = np.linalg.solve(matrix, sides).T
        open_V, inner_ohm = driven.sum() / per_volt.sum(), 1.0 / per_volt.sum()
        load_V, margin_V = self._load_voltage(open_V, inner_ohm + self.main_ohm, amounts)
        bus_V = load_V + self.main_ohm * self._drawn(load_V, amounts)
        current_A = np.zeros(emf_V.size)
        current_A[who] = driven - bus_V * per_volt
        return Flow(current_A, bus_V, margin_V)

    def _nobody(self, emf_V: Floats, amounts: Floats, joined: Flags) -> Flow:
        """No battery conducts: nothing flows, whatever the loads ask for."""
        bus_V = float(emf_V[joined].max()) if joined.any() else 0.0
        asked = self._drawn(max(bus_V, LEAST_VOLTAGE_V), amounts)
        return Flow(np.zeros(emf_V.size), bus_V, 1.0, refused=bool(joined.any()) and asked < 0.0)

    def _drawn(self, load_V: float, amounts: Floats) -> float:
        """Return the sum of amount V^(n - 1). [A]"""
        return float(amounts @ load_V ** (self.exponents - 1.0))

    def _load_voltage(self, open_V: float, ohm: float, amounts: Floats) -> tuple[float, float]:
        """Return the upper root of V = open_V - ohm I(V) and the distance to its loss."""

        def excess(volt: float) -> float:
            return open_V - ohm * self._drawn(volt, amounts) - volt

        if not amounts.any():
            return open_V, 1.0
        lowest = self._turning_point(open_V, ohm, amounts)
        margin_V = excess(lowest)
        if margin_V <= 0.0:
            return lowest, margin_V
        highest = _where_negative(excess, max(open_V, lowest) + 1e-9)
        return float(brentq(excess, lowest, highest, xtol=1e-13, rtol=1e-14)), margin_V

    def _turning_point(self, open_V: float, ohm: float, amounts: Floats) -> float:
        """Return where the excess is largest, that is ohm * sum a (1 - n) V^(n - 2) = 1."""
        weight = ohm * amounts * (1.0 - self.exponents)

        def slope(volt: float) -> float:
            return float(weight @ volt ** (self.exponents - 2.0)) - 1.0

        if not (weight > 0.0).any() or slope(LEAST_VOLTAGE_V) <= 0.0:
            return LEAST_VOLTAGE_V
        if (self.exponents == self.exponents[0]).all():
            return float(weight.sum() ** (1.0 / (2.0 - self.exponents[0])))
        highest = _where_negative(slope, max(open_V, 1.0))
        return float(brentq(slope, LEAST_VOLTAGE_V, highest, xtol=1e-12))


def _where_negative(function: Callable[[float], float], start: float) -> float:
    """Double `start` until the function is negative there (at most to 1e12)."""
    point = start
    while function(point) >= 0.0 and point < 1e12:
        point *= 2.0
    return point

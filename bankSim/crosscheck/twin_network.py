"""The bank's network: batteries and chargers on one side, loads on the other, solved for V."""

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from scipy.optimize import brentq

from bankSim.crosscheck.twin_diodes import DISCHARGE, Flags, Indices, Piece, conducting_pieces
from bankSim.model.bank import Bank, Layout
from bankSim.model.curve import Floats

LEAST_VOLTAGE_V = 1e-6
MOST_VOLTAGE_V = 1e9
LEAST_RESISTANCE_OHM = 1e-9
MET_V = 1e-9
LEAST_FED = 0.2  # a choice: what is fed at less is no device that anyone has


@dataclass(frozen=True, slots=True)
class Supply:
    """What every charger may give at one instant; one that is off may give nothing.

    Parameters
    ----------
    hold_V : array (c,)
        Of the present stage. [V]
    limit_A, limit_W : array (c,)
        One of them is 0. [A], [W]
    """

    hold_V: Floats
    limit_A: Floats
    limit_W: Floats

    def limits_at(self, volt: float) -> Floats:
        """Return the largest current of every charger at one voltage, shape (c,). [A]"""
        return np.asarray(self.limit_A + self.limit_W / volt)

    def willing(self) -> Flags:
        """Tell which chargers have anything to give."""
        return np.asarray((self.limit_A > 0.0) | (self.limit_W > 0.0))


@dataclass(frozen=True, slots=True)
class Flow:
    """How the current splits at one instant.

    Parameters
    ----------
    current_A : array (n,)
        Of every battery, discharge positive. [A]
    charger_A : array (c,)
        What every charger gives. [A]
    bus_V, load_V : float
        At the take-off, and at the loads behind the main conductors. [V]
    fed : bool
        False when there is no solution; the rest is then the nearest miss.
    refused : bool
        The bank is asked to take charge and no battery accepts any.
    dark : bool
        Loads want current, nobody may discharge and the chargers do not cover it.
    """

    current_A: Floats
    charger_A: Floats
    bus_V: float
    load_V: float
    fed: bool = True
    refused: bool = False
    dark: bool = False


@dataclass(frozen=True, eq=False)
class Span:
    """A span of voltages at the loads in which nothing switches.

    The terms are (a [A V^(1 - n)], n [1]).

    The excess of what is given over what is asked is
    constant_A - per_ohm V - sum a V^(n - 1), with the chargers' watts among the terms.
    """

    piece: Piece
    bottom_V: float
    top_V: float
    constant_A: float
    per_ohm: float
    terms: tuple[tuple[float, float], ...]

    def excess(self, volt: float) -> float:
        """Return given minus asked. [A]"""
        asked = 0.0
        for a, n in self.terms:
            asked += a * volt ** (n - 1.0)
        return self.constant_A - self.per_ohm * volt - asked

    def slope(self, volt: float) -> float:
        """Return the derivative of `excess`. [A/V]"""
        asked = 0.0
        for a, n in self.terms:
            asked += a * (n - 1.0) * volt ** (n - 2.0)
        return -self.per_ohm - asked

    def finite_top_V(self) -> float:  # noqa: N802 - the unit as printed
        """Return the top, or a voltage above which the excess stays negative. [V]"""
        if math.isfinite(self.top_V):
            return self.top_V
        open_V = self.constant_A / self.per_ohm if self.per_ohm > 0.0 else 0.0
        volt = max(self.bottom_V, 1.0, open_V + MET_V)
        while self.excess(volt) >= 0.0 and volt < MOST_VOLTAGE_V:
            volt *= 2.0
        return volt

    @cached_property
    def peak_V(self) -> float:  # noqa: N802 - the unit as printed
        """Return where the excess is largest; with usual loads it has one peak at most. [V]"""
        top_V = self.finite_top_V()
        if self.slope(self.bottom_V) <= 0.0:
            return self.bottom_V
        if self.slope(top_V) >= 0.0:
            return top_V
        return _root(self.slope, self.bottom_V, top_V)


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


@dataclass(frozen=True, eq=False)
class Network:
    """One question to the network: all sources and all demands at one instant.

    Parameters
    ----------
    emf_V, series_ohm, drop_V : array (n,)
        Of the batteries; the resistance includes the lead. [V], [ohm], [V]
    blocked : array (n,)
        Bits of `Blocks`.
    rails_ohm : array (n, n)
        Z. [ohm]
    main_ohm : float
        From the take-off to the loads. [ohm]
    supply : Supply
    asked : tuple of (amount, exponent)
        Of the loads and heaters; a V^(n - 1) each. [A V^(1 - n)], [1]
    """

    emf_V: Floats
    series_ohm: Floats
    drop_V: Floats
    blocked: Indices
    rails_ohm: Floats
    main_ohm: float
    supply: Supply
    asked: tuple[tuple[float, float], ...]

    def solve(self) -> Flow:
        """Return the flow at the highest voltage below which more is given than asked.

        That is the upper of the two voltages at which a constant power can be fed, the hold of a
        charger that could give more, and the lowest of many where nothing flows at all.
        """
        for span in self._cut():
            if not math.isfinite(span.top_V):
                if span.excess(span.finite_top_V()) > 0.0:
                    return self._flow(span, span.finite_top_V(), refused=True)
            elif span.excess(span.top_V) > 0.0:
                return self._flow(span, span.top_V)
            for start_V in (span.peak_V, span.bottom_V):
                if span.excess(start_V) > 0.0:
                    return self._flow(span, _root(span.excess, start_V, span.finite_top_V()))
        if not any(a for a, _ in self.asked):
            return self._dead()
        if not self.may_discharge:
            return self._dead(dark=True)
        nearest = max(self.spans, key=lambda s: s.excess(s.peak_V))
        return self._flow(nearest, nearest.peak_V, fed=False)

    def margin_A(self) -> float:  # noqa: N802 - the unit as printed
        """Return by how much the loads can be fed at best; negative when they cannot be. [A]

        A bank in which nobody may discharge and no charger works stays dark, which is no failure.
        """
        feeders = self.may_discharge or self.supply.willing().any()
        if not any(a for a, _ in self.asked) or not feeders:
            return 1.0
        return max((s.excess(s.peak_V) for s in self.spans), default=-1.0)

    @cached_property
    def may_discharge(self) -> bool:
        """Whether some battery may."""
        return bool(((self.blocked & DISCHARGE) == 0).any())

    @cached_property
    def spans(self) -> list[Span]:
        """The spans from the highest voltage down."""
        return list(self._cut())

    @cached_property
    def pieces(self) -> list[Piece]:
        """The pieces from the highest voltage down."""
        matrix = self.rails_ohm + self.main_ohm
        matrix = matrix + np.diag(np.maximum(self.series_ohm, LEAST_RESISTANCE_OHM))
        return conducting_pieces(self.emf_V, matrix, self.blocked, self.drop_V)

    def _cut(self) -> Iterator[Span]:
        """Cut the pieces at the holds of the chargers and at the floor, from the highest down."""
        floor_V = self._floor_V()
        if not math.isfinite(floor_V):
            return
        holds = sorted({*self.supply.hold_V[self.supply.willing()].tolist()}, reverse=True)
        high_V = math.inf
        for piece in self.pieces:
            low_V = max(piece.low_V, floor_V)
            sums = float(piece.base_A.sum()), float(piece.per_ohm.sum())
            for bottom_V in [*(h for h in holds if low_V < h < high_V), low_V]:
                if bottom_V < high_V:
                    yield self._span(piece, sums, bottom_V, high_V)
                    high_V = bottom_V
        if not self.may_discharge:
            piece = self.pieces[-1]
            sums = float(piece.base_A.sum()), float(piece.per_ohm.sum())
            yield self._span(piece, sums, floor_V, floor_V)

    def _span(self, piece: Piece, sums: tuple[float, float], bottom_V: float, top_V: float) -> Span:
        """Return one span; `sums` are those of the piece's two parts."""
        giving = self.supply.hold_V >= top_V
        constant = sums[0] + float(self.supply.limit_A[giving].sum())
        terms = tuple((a, n) for a, n in self.asked if a)
        watts = float(self.supply.limit_W[giving].sum())
        if watts:
            terms = (*terms, (-watts, 0.0))
        return Span(piece, bottom_V, top_V, constant, sums[1], terms)

    def _floor_V(self) -> float:  # noqa: N802 - the unit as printed
        """Return the lowest voltage looked at.

        Where no battery can discharge, chargers alone feed loads down to a fifth of their hold;
        loads that give hold up a voltage only while some battery takes charge.
        """
        if self.may_discharge:
            return LEAST_VOLTAGE_V
        if self.supply.willing().any():
            return LEAST_FED * float(self.supply.hold_V[self.supply.willing()].max())
        taking = self.blocked == DISCHARGE
        return float((self.emf_V + self.drop_V)[taking].min(initial=math.inf))

    def _flow(self, span: Span, load_V: float, *, fed: bool = True, refused: bool = False) -> Flow:
        current_A = span.piece.current_A(load_V)
        charger_A = np.where(self.supply.hold_V > load_V, self.supply.limits_at(load_V), 0.0)
        holding = self.supply.hold_V == load_V
        limit_A = np.where(holding, self.supply.limits_at(load_V), 0.0)
        if fed and limit_A.sum() > 0.0:
            drawn_A = sum(a * load_V ** (n - 1.0) for a, n in self.asked)
            missing_A = drawn_A - current_A.sum() - charger_A.sum()
            charger_A = charger_A + limit_A * (missing_A / limit_A.sum())
        bus_V = load_V + self.main_ohm * float(current_A.sum())
        return Flow(current_A, charger_A, bus_V, load_V, fed, refused)

    def _dead(self, *, dark: bool = False) -> Flow:
        """Nothing flows and nothing holds up the bus."""
        asked_A = sum(a * LEAST_VOLTAGE_V ** (n - 1.0) for a, n in self.asked)
        zero = np.zeros(self.emf_V.size)
        idle = np.zeros(self.supply.hold_V.size)
        refused = asked_A < 0.0
        return Flow(zero, idle, 0.0, 0.0, refused=refused, dark=dark and not refused)


def _root(function: Callable[[float], float], low: float, high: float) -> float:
    """Return a zero between two points of opposite sign."""
    return float(brentq(function, low, high, xtol=1e-13, rtol=1e-14))

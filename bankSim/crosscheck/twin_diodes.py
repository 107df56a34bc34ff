"""The batteries and their diodes as the loads see them: current over voltage in straight pieces."""

from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import NDArray

from bankSim.model.curve import Floats
from bankSim.model.rule import Blocks

Indices = NDArray[np.intp]


@dataclass(frozen=True, slots=True)
class Piece:
    """One set of conducting batteries, right while low_V < V < high_V.

    Parameters
    ----------
    low_V, high_V : float
        Voltage at the loads. [V]
    base_A, per_ohm : array (n,)
        Currents are base_A - per_ohm V; both are 0 for a battery that does not conduct.
    """

    low_V: float
    high_V: float
    base_A: Floats
    per_ohm: Floats

    def current_A(self, volt: float) -> Floats:  # noqa: N802 - the unit as printed
        """Return the currents at one voltage at the loads, shape (n,). [A]"""
        return self.base_A - self.per_ohm * volt


def conducting_pieces(
    emf_V: Floats, matrix_ohm: Floats, blocked: Indices, drop_V: Floats
) -> list[Piece]:
    """Return all pieces, highest voltage first; every combination of conducting diodes is tried.

    A battery with charge blocked may only discharge, behind emf - drop; with discharge blocked it
    may only take charge, behind emf + drop. A conducting one must carry current of its sign; a
    resting one must see a voltage that cannot make it conduct. Both are straight in V, so every
    combination is right in one interval of V, or nowhere. As the matrix is positive definite
    there is exactly one answer for each V (Cottle, Pang & Stone, The Linear Complementarity
    Problem, theorem 3.3.7; from memory), so the intervals fill the line without overlap.

    Parameters
    ----------
    emf_V : array (n,)
    matrix_ohm : array (n, n)
        From the loads to every battery: rails, leads, batteries, main. [ohm]
    blocked : array (n,)
        Bits of `Blocks`.
    drop_V : array (n,)
        Of the diodes. [V]
    """
    sign = np.where(blocked == Blocks.CHARGE, 1.0, np.where(blocked == Blocks.DISCHARGE, -1.0, 0.0))
    behind_V = emf_V - sign * drop_V
    gates = np.flatnonzero(sign)
    found = []
    for pattern in product((True, False), repeat=gates.size):
        conducting = blocked == 0
        conducting[gates] = pattern
        piece = _piece(behind_V, matrix_ohm, sign, conducting, gates)
        if piece.low_V < piece.high_V:
            found.append(piece)
    return sorted(found, key=lambda piece: -piece.low_V)


def _piece(
    emf_V: Floats, matrix_ohm: Floats, sign: Floats, conducting: NDArray[np.bool_], gates: Indices
) -> Piece:
    """Solve Kirchhoff's laws for one combination and find where its signs are right."""
    who = np.flatnonzero(conducting)
    base, per = np.zeros(emf_V.size), np.zeros(emf_V.size)
    if who.size:
        sides = np.column_stack([emf_V[who], np.ones(who.size)])
        base[who], per[who] = np.linalg.solve(matrix_ohm[np.ix_(who, who)], sides).T
    low, high = -np.inf, np.inf
    for k in gates:
        if conducting[k]:
            constant, slope = base[k], -per[k]
        else:
            constant = matrix_ohm[k] @ base - emf_V[k]
            slope = 1.0 - matrix_ohm[k] @ per
        constant, slope = sign[k] * constant, sign[k] * slope  # constant + slope V >= 0
        if slope > 0.0:
            low = max(low, -constant / slope)
        elif slope < 0.0:
            high = min(high, -constant / slope)
        elif constant < 0.0:
            high = -np.inf
    return Piece(float(low), float(high), base, per)

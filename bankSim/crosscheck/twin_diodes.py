"""The batteries and their diodes as the loads see them: current over voltage in straight pieces."""

import math
from dataclasses import dataclass
from functools import lru_cache
from itertools import product

import numpy as np
from numpy.typing import NDArray

from bankSim.model.curve import Floats
from bankSim.model.rule import Blocks

CHARGE, DISCHARGE = int(Blocks.CHARGE), int(Blocks.DISCHARGE)  # numbers are looked up sooner
Indices = NDArray[np.intp]
Flags = NDArray[np.bool_]


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
    sign = np.where(blocked == CHARGE, 1.0, np.where(blocked == DISCHARGE, -1.0, 0.0))
    if not sign.any():  # no diodes: one combination, which is right everywhere
        base_A, per_ohm = _currents(emf_V, matrix_ohm, (blocked == 0)[None, :])
        return [Piece(-math.inf, math.inf, base_A[0], per_ohm[0])]
    behind_V = emf_V - sign * drop_V
    conducting = _combinations(tuple(blocked.tolist()))
    base_A, per_ohm = _currents(behind_V, matrix_ohm, conducting)
    low_V, high_V = _limits(behind_V, matrix_ohm, sign, conducting, base_A, per_ohm)
    found = [
        Piece(float(low_V[k]), float(high_V[k]), base_A[k], per_ohm[k])
        for k in np.flatnonzero(low_V < high_V)
    ]
    return sorted(found, key=lambda piece: -piece.low_V)


@lru_cache(maxsize=64)
def _combinations(blocked: tuple[int, ...]) -> Flags:
    """Return who conducts, (combinations, n): who is free does in all of them."""
    bits = np.array(blocked)
    gates = np.flatnonzero((bits == CHARGE) | (bits == DISCHARGE))
    patterns = np.array([*product((True, False), repeat=gates.size)], dtype=bool)
    conducting = np.tile(bits == 0, (len(patterns), 1))
    conducting[:, gates] = patterns
    conducting.flags.writeable = False
    return conducting


def _currents(behind_V: Floats, matrix_ohm: Floats, conducting: Flags) -> tuple[Floats, Floats]:
    """Solve Kirchhoff's laws: base_A and per_ohm of all combinations, (combinations, n) each.

    Who rests has no row of its own: a one on the diagonal, and no voltage.
    """
    both = conducting[:, :, None] & conducting[:, None, :]
    matrices = np.where(both, matrix_ohm, np.eye(behind_V.size))
    sides = np.stack([np.where(conducting, behind_V, 0.0), conducting.astype(float)], axis=-1)
    solved = np.linalg.solve(matrices, sides)
    return solved[..., 0], solved[..., 1]


def _limits(
    behind_V: Floats,
    matrix_ohm: Floats,
    sign: Floats,
    conducting: Flags,
    base_A: Floats,
    per_ohm: Floats,
) -> tuple[Floats, Floats]:
    """Return between which voltages at the loads the signs of each combination are right. [V]"""
    rest_V = base_A @ matrix_ohm - behind_V  # what a resting one sees, without the loads' voltage
    constant = sign * np.where(conducting, base_A, rest_V)
    slope = sign * np.where(conducting, -per_ohm, 1.0 - per_ohm @ matrix_ohm)
    # right where constant + slope V >= 0
    edge_V = np.divide(-constant, slope, out=np.zeros_like(slope), where=slope != 0.0)
    never = (slope == 0.0) & (constant < 0.0)
    low_V = np.where(slope > 0.0, edge_V, -np.inf).max(axis=1)
    high_V = np.where(slope < 0.0, edge_V, np.where(never, -np.inf, np.inf)).min(axis=1)
    return low_V, high_V

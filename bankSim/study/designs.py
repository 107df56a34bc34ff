"""Which chances the draws have that tell apart what matters: trajectories, and two sets swapped.

Both go on without end: rows belong to trajectories (points) one after the other, so a study can be
made longer without marching anything again. All chances are base chances, before what follows
another unknown gets its correlation: an unknown stands for its own independent part, and what goes
along with it counts for the one it follows.
"""

import hashlib
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bankSim.kernels.arrays import Floats, Ints
from bankSim.study.uniforms import RandomDraws, Sampling

STEP = 0.6  # of a chance; with 0.5 an answer that repeats itself after half the range seems still
LEAST, MOST = 2.0**-54, 1.0 - 2.0**-53  # chances stay off 0 and 1
Flags = NDArray[np.bool_]


@dataclass(frozen=True)
class Trajectories:
    """Walks through the cube of chances: in every step all unknowns of one group move.

    A walk has one row more than there are groups. Every unknown starts in the lower or upper
    `1 - STEP` of its chances and moves by `STEP` to the other side, each in its own direction.
    Walks start at even points; groups move in an order at random.

    Parameters
    ----------
    labels : tuple of str
        Of all unknowns, in their order.
    seed : int
    groups : tuple of tuple of int
        Places of the unknowns of each group; every unknown is in one.

    Source
    ------
    Morris, Technometrics 33 (1991) 161; groups: Campolongo, Cariboni and Saltelli, Environ. Model.
    Softw. 22 (2007) 1509 (pages from memory). Here the grid is as fine as can be.
    """

    labels: tuple[str, ...]
    seed: int
    groups: tuple[tuple[int, ...], ...]

    @property
    def rows(self) -> int:
        """How many rows a walk has."""
        return len(self.groups) + 1

    def chances(self, first: int, end: int) -> Floats:
        """Return numbers in (0, 1) for draws `first` to `end`; (draws, unknowns)."""
        low, high = first // self.rows, -(-end // self.rows)
        even = RandomDraws(self.labels, self.seed, Sampling.EVEN).chances(low, high)
        upper = even >= 0.5
        start = 2.0 * (1.0 - STEP) * even + np.where(upper, 2.0 * STEP - 1.0, 0.0)
        other = start + np.where(upper, -STEP, STEP)
        places = np.arange(first, end)
        walk = places // self.rows - low
        moved = self._moved(low, high)[walk, places % self.rows]
        return np.clip(np.where(moved, other[walk], start[walk]), LEAST, MOST)

    def order(self, walks: int) -> Ints:
        """Return which group moves in each step of the first walks; (walks, groups)."""
        return np.argsort(self._ranks(0, walks), axis=1)

    def _ranks(self, low: int, high: int) -> Ints:
        """Place of each group in the order of its walk; (walks, groups)."""
        words = tuple(f"order of {number}" for number in range(len(self.groups)))
        lots = RandomDraws(words, self.seed).chances(low, high)
        return np.argsort(np.argsort(lots, axis=1), axis=1)

    def _moved(self, low: int, high: int) -> Flags:
        """Which unknowns have moved in which row; (walks, rows, unknowns)."""
        group = np.empty(len(self.labels), dtype=int)
        for number, columns in enumerate(self.groups):
            group[list(columns)] = number
        ranks = self._ranks(low, high)[:, None, group]
        return np.asarray(ranks < np.arange(self.rows)[None, :, None])


@dataclass(frozen=True)
class Swaps:
    """Two independent sets of even points, A and B: A with some columns from B.

    Each point of the sets has one row for each swap, in their order. No columns make A itself, all
    of them B; the points depend on labels and seed only, so two designs with other swaps share
    them.

    Parameters
    ----------
    labels : tuple of str
        Of all unknowns, in their order.
    seed : int
    swaps : tuple of tuple of int
        Columns that come from B.

    Source
    ------
    Saltelli and others, Comput. Phys. Commun. 181 (2010) 259, section 4.
    """

    labels: tuple[str, ...]
    seed: int
    swaps: tuple[tuple[int, ...], ...]

    @property
    def rows(self) -> int:
        """How many rows a point has."""
        return len(self.swaps)

    @property
    def mark(self) -> str:
        """Eight hex digits that tell swaps of one bank from others."""
        return hashlib.sha256(repr(self.swaps).encode()).hexdigest()[:8]

    def chances(self, first: int, end: int) -> Floats:
        """Return numbers in (0, 1) for draws `first` to `end`; (draws, unknowns)."""
        low, high = first // self.rows, -(-end // self.rows)
        again = tuple(f"{label} (B)" for label in self.labels)
        both = RandomDraws((*self.labels, *again), self.seed, Sampling.EVEN).chances(low, high)
        a, b = both[:, : len(self.labels)], both[:, len(self.labels) :]
        places = np.arange(first, end)
        point = places // self.rows - low
        return np.where(self._from_b()[places % self.rows], b[point], a[point])

    def _from_b(self) -> Flags:
        """Which columns come from B in which row; (rows, unknowns)."""
        flags = np.zeros((self.rows, len(self.labels)), dtype=bool)
        for row, columns in zip(flags, self.swaps, strict=True):
            row[list(columns)] = True
        return flags


def saltelli(labels: tuple[str, ...], seed: int, groups: tuple[tuple[int, ...], ...]) -> Swaps:
    """Return the design of first-order and total indices: A, B, and A with each group from B."""
    return Swaps(labels, seed, ((), tuple(range(len(labels))), *groups))

"""Unbroken stretches of rows in which something holds."""

from collections.abc import Sequence

import numpy as np

from bankSim.model.curve import Floats
from bankSim.model.load import Flags


def runs_of(flags: Flags | Sequence[bool]) -> list[tuple[int, int]]:
    """Return the first and last row of every stretch that is true, in order.

    Parameters
    ----------
    flags : array (rows,)
    """
    turns = np.flatnonzero(np.diff(np.concatenate([[False], flags, [False]]).astype(np.int8)))
    return [(int(first), int(end) - 1) for first, end in turns.reshape(-1, 2)]


def longest_run(time_s: Floats, flags: Flags) -> tuple[int, int]:
    """Return the first and last row of the stretch that lasts longest; (0, 0) where none is.

    Parameters
    ----------
    time_s : array (rows,)
        Rising. [s]
    flags : array (rows,)
    """
    return max(runs_of(flags), key=lambda ends: time_s[ends[1]] - time_s[ends[0]], default=(0, 0))

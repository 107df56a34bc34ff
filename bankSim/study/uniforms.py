"""Random numbers that depend on the seed, the unknown and the number of the draw, on nothing else.

So draws can be made in any order and in any portions, one unknown more changes no other one, and
two scenarios that share an unknown share its draws.
"""

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum

import numpy as np

from bankSim.kernels.arrays import Floats

WORDS_PER_TICK = 4  # of the generator's counter


class Sampling(Enum):
    """How draws are spread: independently, or evenly (Sobol' points, scrambled)."""

    RANDOM = "random"
    EVEN = "even"


@dataclass(frozen=True)
class RandomDraws:
    """Every unknown drawn at random, on and on.

    Parameters
    ----------
    labels : tuple of str
        Of the unknowns, in their order.
    seed : int
    sampling : Sampling
    beside : tuple of str
        Labels that only another scenario of the same study has; with EVEN all count.
    """

    labels: tuple[str, ...]
    seed: int
    sampling: Sampling = Sampling.RANDOM
    beside: tuple[str, ...] = ()

    def chances(self, first: int, end: int) -> Floats:
        """Return numbers in (0, 1) for draws `first` to `end`; (draws, unknowns)."""
        if self.sampling is Sampling.RANDOM:
            return uniforms(self.labels, self.seed, first, end)
        every = sorted({*self.labels, *self.beside})
        columns = [every.index(label) for label in self.labels]
        return _even(len(every), self.seed, first, end)[:, columns]


def uniforms(labels: Sequence[str], seed: int, first: int, end: int) -> Floats:
    """Return independent numbers in (0, 1) for draws `first` to `end`; (draws, labels). [1]

    Parameters
    ----------
    labels : sequence of str
        One of each unknown.
    seed : int
        0 or more, less than 2^63.
    first, end : int
        Numbers of draws.

    Source
    ------
    Philox 4x64 counter-based generator: Salmon and others, SC11 (2011).
    """
    columns = [_stream(label, seed, first, end) for label in labels]
    return np.column_stack(columns) if columns else np.empty((end - first, 0))


def _stream(label: str, seed: int, first: int, end: int) -> Floats:
    digest = hashlib.sha256(label.encode()).digest()
    key = np.array([seed, int.from_bytes(digest[:8], "little")], dtype=np.uint64)
    start = first // WORDS_PER_TICK
    counter = np.array([start, 0, 0, 0], dtype=np.uint64)
    source = np.random.Philox(key=key, counter=counter)
    skipped = first - WORDS_PER_TICK * start
    words = source.random_raw(skipped + end - first)[skipped:]
    numbers: Floats = ((words >> np.uint64(11)).astype(float) + 0.5) * 2.0**-53
    return numbers


def _even(count: int, seed: int, first: int, end: int) -> Floats:
    """Return Sobol' points, scrambled after Owen (1998), as in scipy.stats.qmc."""
    if count == 0 or first == end:
        return np.empty((end - first, count))
    from scipy.stats import qmc

    source = qmc.Sobol(count, scramble=True, rng=np.random.default_rng(seed))
    if first:
        source.fast_forward(first)
    portions = [end - first] if first else [1, end - 1]  # a first one that is no power of 2 warns
    points = np.vstack([source.random(portion) for portion in portions if portion])
    return np.clip(points, 2.0**-54, 1.0 - 2.0**-53)

"""What fully settles the draws of a study, and the march of one block of them anywhere."""

import hashlib
import threading
from collections import OrderedDict
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from bankSim.kernels.arrays import Floats
from bankSim.scenario.record import Scenario
from bankSim.scenario.variant import Variants
from bankSim.sim.summary import program_version
from bankSim.study.draws import drawn_values
from bankSim.study.ensemble import STUDY_TOLERANCE, Ensemble
from bankSim.study.find_unknowns import find_unknowns
from bankSim.study.sources import program_digest
from bankSim.study.uniforms import RandomDraws, Sampling
from bankSim.study.unknown import Unknown

DEFAULT_SEED = 1
STEPS_A_BLOCK = 200_000  # of the solver: some half a second
LEAST_BLOCK, MOST_BLOCK = 10, 1000
KEPT_READY = 4


class Design(Protocol):
    """Which chances every draw has; a frozen dataclass whose `repr` tells all of it."""

    def chances(self, first: int, end: int) -> Floats:
        """Return numbers in (0, 1) for draws `first` to `end`; (draws, unknowns)."""


@dataclass(frozen=True)
class Plan:
    """A scenario, what is not known of it, and how draws are made.

    Parameters
    ----------
    scenario : Scenario
    unknowns : tuple of Unknown
    design : Design
    tolerance : float
    block : int
        Draws of one block.
    content : str
        Digest of what the scenario was read from.
    variants : Variants or None
        Makes the bank anew, with all tables read, where some unknown needs that.
    """

    scenario: Scenario
    unknowns: tuple[Unknown, ...]
    design: Design
    tolerance: float
    block: int
    content: str
    variants: Variants | None = None

    @cached_property
    def key(self) -> str:
        """Changes with everything that changes a draw."""
        return hashlib.sha256(repr(self.description).encode()).hexdigest()

    @cached_property
    def bank_key(self) -> str:
        """Changes with everything that changes a draw of given chances."""
        parts = {**self.description, "seed": 0, "kind of draws": "", "size of blocks": 0}
        return hashlib.sha256(repr(parts).encode()).hexdigest()

    @cached_property
    def description(self) -> dict[str, object]:
        """What a store is compared with before it is gone on with."""
        return {
            "version of the program": f"{program_version()} {program_digest()}",
            "scenario": self.content,
            "list of unknowns": hashlib.sha256(repr(self.unknowns).encode()).hexdigest(),
            "seed": getattr(self.design, "seed", None),
            "kind of draws": repr(self.design),
            "tolerance": self.tolerance,
            "size of blocks": self.block,
        }

    @property
    def middle(self) -> Floats:
        """The value of every unknown in the middle of its spread; (1, unknowns). [its own unit]"""
        return np.array([[unknown.spread.value for unknown in self.unknowns]])

    def values(self, first: int, end: int) -> Floats:
        """Return the values of all unknowns in draws `first` to `end`; (draws, unknowns).

        In the unit of each unknown.
        """
        return drawn_values(self.unknowns, self.design.chances(first, end))


def make_plan(
    scenario: Scenario,
    *,
    seed: int = DEFAULT_SEED,
    sampling: Sampling = Sampling.RANDOM,
    tolerance: float = STUDY_TOLERANCE,
    beside: tuple[str, ...] = (),
) -> Plan:
    """Return the plan of draws at random; the size of its blocks follows from the work of a run.

    Parameters
    ----------
    scenario : Scenario
    seed : int
    sampling : Sampling
    tolerance : float
    beside : tuple of str
        Labels of unknowns that only another scenario of the same study has.
    """
    unknowns = find_unknowns(scenario)
    labels = tuple(unknown.label for unknown in unknowns)
    rewritten = any(not unknown.effects for unknown in unknowns)
    variants = Variants(scenario).read() if rewritten else None
    packed = Ensemble(scenario, unknowns, tolerance, variants)
    block = _round_down(max(LEAST_BLOCK, min(MOST_BLOCK, STEPS_A_BLOCK // packed.steps)))
    design = RandomDraws(labels, seed, sampling, beside)
    content = _content(scenario, packed.digest)
    plan = Plan(scenario, unknowns, design, tolerance, block, content, variants)
    with _LOCK:
        _keep(plan, packed)
    return plan


def march_block(
    plan: Plan, number: int, stop: threading.Event | None = None
) -> dict[str, NDArray[np.generic]]:
    """March one block of draws; the table is shorter than the block when it was stopped."""
    first = number * plan.block
    values = plan.values(first, first + plan.block)
    return ready(plan).evaluate(values, first, stop)


def ready(plan: Plan) -> Ensemble:
    """Return the ensemble of a plan, packed once in each process."""
    with _LOCK:
        packed = _READY.get(plan.bank_key)
        if packed is None:
            packed = Ensemble(plan.scenario, plan.unknowns, plan.tolerance, plan.variants)
        _keep(plan, packed)
        return packed


def _keep(plan: Plan, packed: Ensemble) -> None:
    """Keep the ensemble of a plan, and those of few others that were wanted last."""
    _READY[plan.bank_key] = packed
    _READY.move_to_end(plan.bank_key)
    while len(_READY) > KEPT_READY:
        _READY.popitem(last=False)


_READY: OrderedDict[str, Ensemble] = OrderedDict()
_LOCK = threading.Lock()


def _content(scenario: Scenario, packed: str) -> str:
    """Digest of the text of a scenario, of what was changed, its tables, and its packed bank."""
    start = f"{scenario.text}{scenario.changes!r}{packed}"
    digest = hashlib.sha256(start.encode())
    for name in scenario.tables:
        digest.update(name.encode() + b"\0" + (Path(scenario.folder) / name).read_bytes())
    return digest.hexdigest()


def _round_down(count: int) -> int:
    """Return 1, 2 or 5 times a power of ten."""
    ten: int = 10 ** (len(str(count)) - 1)
    return max(ten * step for step in (1, 2, 5) if ten * step <= count)

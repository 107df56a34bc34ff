"""Predicts what a mixed parallel bank of batteries will really do.

Example
-------
>>> from bankSim import read_scenario, simulate          # doctest: +SKIP
>>> result = simulate(read_scenario("my-bank.toml"))     # doctest: +SKIP
>>> result.summary()["bank"]["delivered_Ah"]             # doctest: +SKIP

>>> from bankSim import make_plan, study_spread, threads  # doctest: +SKIP
>>> plan = make_plan(read_scenario("my-bank.toml"))       # doctest: +SKIP
>>> with threads() as workers:                            # doctest: +SKIP
...     spread = study_spread(plan, workers)
"""

import os
from typing import TYPE_CHECKING, Any

from bankSim.version import __version__ as __version__

# Matrices here are small: several threads on one of them wait for each other, and where other work
# runs beside (a screen, a second job) they wait long. Draws and jobs have threads of their own.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

if TYPE_CHECKING:
    from bankSim.errors import ParameterError, ScenarioError, SimulationError
    from bankSim.measured.calibrate import calibrate
    from bankSim.measured.capacity_test import evaluate_tests
    from bankSim.measured.compare import compare
    from bankSim.measured.label import label_of
    from bankSim.measured.log import LogError
    from bankSim.measured.read import read_log
    from bankSim.measured.snapshot import take_snapshot
    from bankSim.scenario.read import parse_scenario, read_scenario
    from bankSim.scenario.record import Scenario
    from bankSim.sim.result import Result
    from bankSim.sim.run import simulate
    from bankSim.study.blocks import threads
    from bankSim.study.matters import study_matters
    from bankSim.study.plan import make_plan
    from bankSim.study.spread import study_spread
    from bankSim.study.sums import study_sums
    from bankSim.study.sweep import study_sweep
    from bankSim.study.swept_keys import read_swept
    from bankSim.study.versus import study_versus

_HOME_OF = {
    "LogError": "bankSim.measured.log",
    "ParameterError": "bankSim.errors",
    "Result": "bankSim.sim.result",
    "Scenario": "bankSim.scenario.record",
    "ScenarioError": "bankSim.errors",
    "SimulationError": "bankSim.errors",
    "calibrate": "bankSim.measured.calibrate",
    "compare": "bankSim.measured.compare",
    "evaluate_tests": "bankSim.measured.capacity_test",
    "label_of": "bankSim.measured.label",
    "make_plan": "bankSim.study.plan",
    "parse_scenario": "bankSim.scenario.read",
    "read_log": "bankSim.measured.read",
    "read_scenario": "bankSim.scenario.read",
    "read_swept": "bankSim.study.swept_keys",
    "simulate": "bankSim.sim.run",
    "study_matters": "bankSim.study.matters",
    "study_spread": "bankSim.study.spread",
    "study_sums": "bankSim.study.sums",
    "study_sweep": "bankSim.study.sweep",
    "study_versus": "bankSim.study.versus",
    "take_snapshot": "bankSim.measured.snapshot",
    "threads": "bankSim.study.blocks",
}

__all__ = [
    "LogError",
    "ParameterError",
    "Result",
    "Scenario",
    "ScenarioError",
    "SimulationError",
    "calibrate",
    "compare",
    "evaluate_tests",
    "label_of",
    "make_plan",
    "parse_scenario",
    "read_log",
    "read_scenario",
    "read_swept",
    "simulate",
    "study_matters",
    "study_spread",
    "study_sums",
    "study_sweep",
    "study_versus",
    "take_snapshot",
    "threads",
]


def __getattr__(name: str) -> Any:
    """Import a public name when it is first used, so that ``import bankSim`` costs nothing."""
    if name not in _HOME_OF:
        raise AttributeError(f"module 'bankSim' has no attribute {name!r}")
    from importlib import import_module

    return getattr(import_module(_HOME_OF[name]), name)

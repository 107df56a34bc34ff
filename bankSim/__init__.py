"""Predicts what a mixed parallel bank of batteries will really do.

Example
-------
>>> from bankSim import read_scenario, simulate          # doctest: +SKIP
>>> result = simulate(read_scenario("my-bank.toml"))     # doctest: +SKIP
>>> result.summary()["bank"]["delivered_Ah"]             # doctest: +SKIP
"""

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from bankSim.errors import ParameterError, ScenarioError, SimulationError
    from bankSim.scenario.read import parse_scenario, read_scenario
    from bankSim.scenario.record import Scenario
    from bankSim.sim.result import Result
    from bankSim.sim.run import simulate

_HOME_OF = {
    "ParameterError": "bankSim.errors",
    "Result": "bankSim.sim.result",
    "Scenario": "bankSim.scenario.record",
    "ScenarioError": "bankSim.errors",
    "SimulationError": "bankSim.errors",
    "parse_scenario": "bankSim.scenario.read",
    "read_scenario": "bankSim.scenario.read",
    "simulate": "bankSim.sim.run",
}

__all__ = [
    "ParameterError",
    "Result",
    "Scenario",
    "ScenarioError",
    "SimulationError",
    "parse_scenario",
    "read_scenario",
    "simulate",
]


def __getattr__(name: str) -> Any:
    """Import a public name when it is first used, so that ``import bankSim`` costs nothing."""
    if name not in _HOME_OF:
        raise AttributeError(f"module 'bankSim' has no attribute {name!r}")
    from importlib import import_module

    return getattr(import_module(_HOME_OF[name]), name)

"""Predictions against ngspice through PySpice, on shipped scenarios and on random banks.

Limits: Ah 0.1 %, bus voltage 2 mV rms up to the first cut-out and again after it, same order.
"""

from dataclasses import replace
from pathlib import Path

import pytest
from random_banks import random_bank

from bankSim import Scenario, read_scenario, simulate
from bankSim.crosscheck.compare import crosscheck

SCENARIOS = Path(__file__).parents[2] / "scenarios"
NAMES = [
    "bench-cells",
    "cascade",
    "coffee-cart",
    "hut-opposite-ends",
    "weak-cell",
]
LONG = {  # up to these hours only
    "boat": 3.0,
    "holds-back": 2.5,
    "lfp-beside-agm": 9.0,
    "three-days-of-sun": 7.0,
}


def assert_agrees(scenario):
    comparison = crosscheck(scenario, simulate(scenario))
    assert len(comparison.lines) >= 4
    beyond = [line for line in comparison.lines if not line.agrees]
    assert not beyond


@pytest.mark.ngspice
@pytest.mark.usefixtures("spice")
@pytest.mark.parametrize("name", NAMES)
def test_shipped_scenario(name):
    assert_agrees(read_scenario(SCENARIOS / f"{name}.toml"))


@pytest.mark.ngspice
@pytest.mark.usefixtures("spice")
@pytest.mark.parametrize("name", LONG)
def test_beginning_of_a_long_scenario(name):
    scenario = read_scenario(SCENARIOS / f"{name}.toml")
    bank = replace(scenario.bank, duration_s=LONG[name] * 3600.0)
    assert_agrees(replace(scenario, bank=bank))


@pytest.mark.ngspice
@pytest.mark.usefixtures("spice")
@pytest.mark.parametrize("seed", [26, 33])
def test_random_bank(seed):
    # the hut above has opposite ends; four batteries that all cut out
    assert_agrees(Scenario(f"random {seed}", random_bank(seed)))

"""Loads that no full battery can feed: no rule ends such a test, since it never begins."""

import numpy as np

from bankSim.model.battery import Battery
from bankSim.model.cell import REFERENCE_K
from bankSim.scenario.record import Scenario
from bankSim.sim.at_rest import FULL, instant_ohm, rest_voltage
from bankSim.sim.numbers import quoted, rough
from bankSim.study.bench_scenario import TEST_LOAD

TEST_H = 5.0  # a load that empties the battery in that time makes a capacity test
LEAST_OHM = 1e-9


def too_large(scenario: Scenario) -> str | None:
    """Say which load is more than a full battery can feed, and what is allowed; None: none is.

    A source E behind R gives no current beyond E / R, and no power beyond E^2 / (4 R).

    Parameters
    ----------
    scenario : Scenario
        One battery and its loads.

    Source
    ------
    Maximum power transfer; full, at 25 degC, at once.
    """
    battery = scenario.bank.batteries[0]
    most_A, most_W = _most(battery)
    for load in scenario.bank.loads:
        asked = float(np.max(load.profile_amount))
        most, unit = (most_A, "A") if load.exponent == 1.0 else (most_W, "W")
        if load.exponent not in (0.0, 1.0) or asked < most:
            continue
        who = f"--load-{unit}" if load.name == TEST_LOAD else f"load {quoted(load.name)}"
        steady_A = min(cell.charge_C for cell in battery.cells) / 3600.0 / TEST_H
        return (
            f"{who} = {asked:,.6g} {unit}: the full battery gives no more than about "
            f"{rough(most, unit)} at once; expected less, such as {steady_A:.3g} A, which "
            f"empties it in {TEST_H:g} h"
        )
    return None


def _most(battery: Battery) -> tuple[float, float]:
    """Return the most current and the most power of a full battery behind its lead. [A], [W]"""
    volts = rest_voltage(battery, FULL)
    ohms = max(instant_ohm(battery, REFERENCE_K, FULL), LEAST_OHM)
    return volts / ohms, volts**2 / (4.0 * ohms)

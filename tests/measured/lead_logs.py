"""Logs of lead batteries, made by the project's own solver from a known truth."""

from dataclasses import dataclass

import numpy as np

from bankSim.measured.log import Log
from bankSim.measured.replay import Course, replay
from bankSim.model.cell import Cell

CUT_V = 1.75  # of a cell: 10.5 V per 12 V


@dataclass(frozen=True)
class LeadTest:
    """One discharge of a full 12 V battery: half an hour of rest, then a current to 10.5 V."""

    current_A: float
    rest_h: float = 0.0  # how long the log runs on
    air_C: float = 25.0
    seed: int = 1
    every_s: float = 60.0


def lead_log(cell: Cell, test: LeadTest) -> Log:
    """Return the log of a battery of six such cells; meter noise 4 mV and 20 mA."""
    most_s = 1800.0 + 1.3 * cell.charge_C / test.current_A
    time = np.arange(0.0, most_s, test.every_s)
    flows = np.where(time >= 1800.0, test.current_A, 0.0)
    cut = int(np.argmax((shown(cell, time, flows, test.air_C) <= CUT_V) & (flows > 0.0)))
    time = np.arange(0.0, time[cut] + 3600.0 * test.rest_h + 1.0, test.every_s)
    flows = np.where((time >= 1800.0) & (np.arange(time.size) < cut), test.current_A, 0.0)
    rng = np.random.default_rng(test.seed)
    volts = 6.0 * shown(cell, time, flows, test.air_C) + rng.normal(0.0, 0.004, time.size)
    amps = flows + rng.normal(0.0, 0.02, time.size)
    warmth = np.full(time.size, test.air_C)
    return Log(f"{test.current_A:g} A", time, volts, amps, temperature_C=warmth)


def shown(cell: Cell, time_s, current_A, air_C):
    """Return the voltage of one cell under a current. [V]"""
    flow = Log("flow", time_s, np.full(time_s.size, 2.0), current_A)
    return replay((cell,), Course.of(flow, air_C), time_s)[:, 0]

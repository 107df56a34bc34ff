"""Chargers that are there: what their schedules, the sun and their limits let them give."""

import numpy as np

from bankSim.model.bank import Bank
from bankSim.model.charger import Charger
from bankSim.model.curve import Floats
from bankSim.model.load import DAY_S


def most_hold_V(bank: Bank, time_s: Floats, least_A: float) -> Floats:  # noqa: N802 - the unit
    """Return the highest voltage that any charger would hold at some times. [V]

    Of those that could give so much there, in any of their stages, taken or not; 0 without one.

    Parameters
    ----------
    bank : Bank
    time_s : array
        Since the start. [s]
    least_A : float
        [A]
    """
    most_V = np.zeros(time_s.shape)
    for charger in bank.chargers:
        hold_V = max(stage.hold_V for stage in charger.stages)
        there = could_give_A(charger, time_s, bank.starts_at_s) >= least_A
        most_V = np.maximum(most_V, np.where(there, hold_V, 0.0))
    return most_V


def could_give_A(charger: Charger, time_s: Floats, starts_at_s: float) -> Floats:  # noqa: N802
    """Return what a charger could give at its highest hold while its schedule has it on. [A]

    Parameters
    ----------
    charger : Charger
    time_s : array
        Since the start. [s]
    starts_at_s : float
        Wall clock at the start. [s after midnight]
    """
    hold_V = max(stage.hold_V for stage in charger.stages)
    amps = np.full(time_s.shape, charger.limit_A or (charger.limit_W or 0.0) / hold_V)
    if charger.sun is not None:
        sun, clock_s = charger.sun, np.mod(time_s + starts_at_s, DAY_S)
        day = (clock_s - sun.rise_s) / (sun.set_s - sun.rise_s)
        up = np.sin(np.pi * np.clip(day, 0.0, 1.0))
        amps = sun.peak_W * up / hold_V
    return np.where(charger.schedule.is_on(time_s, starts_at_s), amps, 0.0)

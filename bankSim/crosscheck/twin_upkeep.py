"""Balancers and chargers of the twin: what they do at one instant."""

import math

import numpy as np

from bankSim.crosscheck.twin_network import Supply
from bankSim.crosscheck.twin_state import OFF
from bankSim.model.bank import Bank
from bankSim.model.charger import Charger
from bankSim.model.curve import Floats
from bankSim.model.load import DAY_S
from bankSim.model.upkeep import Balancer, Balancing

RAMP_V = 2e-3  # a balancer goes from nothing to all of its current over this much


def balancing_A(balancer: Balancer, cell_V: Floats) -> Floats:  # noqa: N802 - the unit as printed
    """Return the balancing current out of every cell of one battery; shape of `cell_V`. [A]"""
    low, high = cell_V.min(), cell_V.max()
    if balancer.kind is Balancing.BLEED:
        uneven = _ramp(cell_V - low - balancer.within_V)
        return np.asarray(balancer.current_A * uneven * _ramp(cell_V - balancer.starts_above_V))
    total = balancer.current_A * _ramp(high - low - balancer.within_V)
    total = total * _ramp(high - balancer.starts_above_V)
    takes = np.clip(1.0 - (high - cell_V) / RAMP_V, 0.0, 1.0)
    gives = np.clip(1.0 - (cell_V - low) / RAMP_V, 0.0, 1.0)
    return np.asarray(total * (takes / takes.sum() - gives / gives.sum()))


def _ramp(volt: Floats) -> Floats:
    return np.clip(volt / RAMP_V, 0.0, 1.0)


def supply_at(bank: Bank, stages: tuple[int, ...], time_s: float) -> Supply:
    """Return what every charger may give."""
    hold_V, amps, watts = (np.zeros(len(stages)) for _ in range(3))
    for c, (charger, stage) in enumerate(zip(bank.chargers, stages, strict=True)):
        if stage != OFF:
            hold_V[c] = charger.stages[stage - 1].hold_V
            amps[c] = charger.limit_A or 0.0
            watts[c] = _watts(charger, time_s + bank.starts_at_s)
    return Supply(hold_V, amps, watts)


def _watts(charger: Charger, clock_s: float) -> float:
    """Return the limit in watts; of the sun, half a sine between rise and set."""
    if charger.sun is None:
        return charger.limit_W or 0.0
    sun = charger.sun
    part = (math.fmod(clock_s, DAY_S) - sun.rise_s) / (sun.set_s - sun.rise_s)
    return max(sun.peak_W * math.sin(math.pi * part), 0.0) if 0.0 <= part <= 1.0 else 0.0

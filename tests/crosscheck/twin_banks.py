"""Banks of one or two straight batteries, and short words for what they are tested with."""

from dataclasses import replace

import numpy as np
from crosscheck_banks import affine_battery

from bankSim.crosscheck.twin import solve_twin
from bankSim.model.bank import Bank, Wiring
from bankSim.model.charger import Charger, Stage
from bankSim.model.load import Load, Schedule
from bankSim.model.rule import Release, Rule, Watch

WIDE = {"offset_V": 12.0, "slope_V": 1.6}  # E = 12 + 1.6 z


def wide(name="a", ohm=5e-3, Ah=100.0, z=0.5, *, rules=(), cell=None, **battery):
    """One straight cell with E = 12 + 1.6 z behind rules."""
    plain = affine_battery(name, ohm, Ah, z, **(WIDE | (cell or {})))
    return replace(plain, rules=tuple(rules), **battery)


def solved(*batteries, loads=(), hours=1.0, **bank):
    """Solve a bank on equal leads that runs to the end of its duration."""
    bank = {"stop_when_empty": False, "wiring": Wiring()} | bank
    return solve_twin(Bank(batteries, loads=tuple(loads), duration_s=hours * 3600.0, **bank))


def between(name, amount, start_s, end_s, exponent=1.0, **more):
    """A load that is on once."""
    amounts = np.array([float(amount)])
    window = Schedule(active_s=((start_s, end_s),))
    return Load(name, exponent, np.zeros(1), amounts, window, **more)


def amperes(limit_A, *stages, **more):
    """A charger with constant current; a bare number is a stage that never ends."""
    listed = tuple(s if isinstance(s, Stage) else Stage(s) for s in stages)
    return Charger("charger", listed, limit_A=limit_A, **more)


def battery_below(limit_V, blocks, delay_s=0.0, release=None):
    """A rule on the battery's voltage."""
    return Rule(Watch.BATTERY_VOLTAGE, True, limit_V, delay_s, blocks, release)


def battery_above(limit_V, blocks, delay_s=0.0, release=None):
    """A rule on the battery's voltage."""
    return Rule(Watch.BATTERY_VOLTAGE, False, limit_V, delay_s, blocks, release)


def lets_go(threshold, delay_s=0.0, **more):
    """A release."""
    return Release(threshold, delay_s, **more)


def happened(found, *words):
    """Return (time, what) of all events, or of those named."""
    return [(e.time_s, e.what) for e in found.events if not words or e.what in words]

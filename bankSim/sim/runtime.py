"""How long the loads are fed, read from a bank that was marched."""

import numpy as np

from bankSim.kernels import arrays as k
from bankSim.kernels.arrays import Floats, Ints
from bankSim.model.bank import Bank
from bankSim.sim.engine import Engine
from bankSim.sim.numbers import AT_ONCE_S
from bankSim.sim.result import LOAD_OFF, Result


def runtime_s(engine: Engine) -> float:
    """Return how long the loads of a finished run were fed, see `fed_s`. [s]"""
    clock, own = engine.run.clock[0], engine.packed.rule["act"] == k.SHED
    alarm, rule = engine.run.alarm[own], engine.packed.rule[own]
    return float(
        fed_s(
            engine.bank,
            np.array(min(clock["fed_until"], clock["time"])),
            alarm["phase"],
            alarm["since"] + rule["delay"],
        )
    )


def fed_s(bank: Bank, could_s: Floats, phase: Ints, off_s: Floats) -> Floats:
    """Return how long loads are fed: while they can be, and until all are off without a way back.

    A load off while another one is left, or one that may start again, counts as fed.

    Parameters
    ----------
    bank : Bank
    could_s : array (...)
        Until the loads could no longer be fed, or the end. [s]
    phase : array (..., u)
        Of the loads' own cut-offs at the end, as in `bankSim.kernels.arrays`.
    off_s : array (..., u)
        When their delays were over. [s]
    """
    if not all_may_go(bank):
        return could_s
    gone = (phase == k.TRIPPED).all(axis=-1)
    return np.where(gone, np.minimum(could_s, off_s.max(axis=-1)), could_s)


def all_may_go(bank: Bank) -> bool:
    """Tell whether there are loads, and each cuts itself off without a way back."""
    cut_offs = [load.cut_off for load in bank.loads]
    return bool(cut_offs) and all(one is not None and one.restart_V is None for one in cut_offs)


def all_gone(result: Result) -> bool:
    """Tell whether it is their own cut-offs that ended the feeding: all loads are off for good."""
    off_s = {event.source: event.time_s for event in result.events if event.what == LOAD_OFF}
    loads = result.scenario.bank.loads
    if not all_may_go(result.scenario.bank) or any(load.name not in off_s for load in loads):
        return False
    return max(off_s.values()) <= result.bank.runtime_s + AT_ONCE_S

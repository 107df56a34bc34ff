"""Chargers that are there: what their schedules, the sun and their limits let them give."""

from collections.abc import Sequence

import numpy as np

from bankSim.model.charger import Charger
from bankSim.model.curve import Floats
from bankSim.model.load import DAY_S, Flags
from bankSim.sim.result import Result

# So near to what a charger holds is at it: where next to nothing flows any more, the current of a
# row may read as none. Own choice. [V]
AT_HOLD_V = 5e-4


def off_after(on: Flags, time_s: Floats, ends_s: Sequence[float]) -> Flags:
    """Tell where a charger is off because its last stage had ended since it was switched on.

    Parameters
    ----------
    on : array of bool
        Where its schedule and the sun have it on.
    time_s : array
        Rising. [s]
    ends_s : sequence of float
        When its last stage ended. [s]
    """
    off, begins_s = np.zeros(time_s.size, dtype=bool), time_s[1:][on[1:] & ~on[:-1]]
    for end_s in ends_s:
        again = int(np.searchsorted(begins_s, end_s, side="right"))
        until_s = begins_s[again] if again < begins_s.size else np.inf
        off |= (time_s > end_s) & (time_s < until_s)
    return off


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
    hold_V = charger.highest_hold_V
    amps = np.full(time_s.shape, charger.limit_A or (charger.limit_W or 0.0) / hold_V)
    if charger.sun is not None:
        sun, clock_s = charger.sun, np.mod(time_s + starts_at_s, DAY_S)
        day = (clock_s - sun.rise_s) / (sun.set_s - sun.rise_s)
        up = np.where((day > 0.0) & (day < 1.0), np.sin(np.pi * day), 0.0)
        amps = sun.peak_W * up / hold_V
    return np.where(charger.schedule.is_on(time_s, starts_at_s), amps, 0.0)


def held_up(result: Result) -> Flags:
    """Tell in which rows of the trace the loads' voltage is one that a charger that is on holds.

    Parameters
    ----------
    result : Result
    """
    bank, time_s, volts = result.scenario.bank, result.trace[:, 0], result.trace[:, 4]
    held = np.zeros(time_s.size, dtype=bool)
    for charger in bank.chargers:
        on = could_give_A(charger, time_s, bank.starts_at_s) > 0.0
        for stage in charger.stages:
            held |= on & (np.abs(volts - stage.hold_V) < AT_HOLD_V)
    return held

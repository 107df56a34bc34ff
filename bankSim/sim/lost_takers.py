"""Chargers that lose all their takers as the last battery blocks its charge, or never had any."""

import math
from dataclasses import dataclass

import numpy as np

from bankSim.kernels.arrays import CHARGE_BLOCKED
from bankSim.model.bank import Bank
from bankSim.model.battery import Battery
from bankSim.model.curve import Floats
from bankSim.model.load import Flags
from bankSim.model.rule import Blocks, Watch
from bankSim.sim.numbers import AT_ONCE_S
from bankSim.sim.returns import chargers_A, column

BLOCKED = 4  # place among a battery's columns of a trace, see `column`


@dataclass(frozen=True, eq=False, slots=True)
class Lost:
    """A moment in which chargers lose their last taker, or may lose the loads they feed alone.

    Parameters
    ----------
    time_s : float
        [s]
    fallen_A : array (chargers,)
        By how much the current of each falls at that moment, or would fall. [A]
    """

    time_s: float
    fallen_A: Floats

    @property
    def dumped_A(self) -> float:  # noqa: N802 - the unit as printed
        """What all of them lose together. [A]"""
        return float(self.fallen_A.sum())


def charge_blocked(trace: Floats, batteries: int) -> Flags:
    """Tell in every row which batteries block their charge, (rows, batteries).

    Parameters
    ----------
    trace : array (rows, ...)
        As in a result, with the rows around every switching. In the units of `Result`.
    batteries : int
    """
    modes = [column(trace, place, BLOCKED).astype(int) for place in range(batteries)]
    return np.asarray((np.column_stack(modes) & CHARGE_BLOCKED) > 0)


def worst_loss(trace: Floats, bank: Bank) -> Lost | None:
    """Return the moment in which chargers lose most as the last battery blocks; None without any.

    What they go on giving to loads then is no loss. Chargers that their own schedule switches off
    lose nobody. Nor do those of batteries that are too cold (or hot) as the run begins: it is only
    the delay of that rule that lets them be charged at all.

    Parameters
    ----------
    trace : array (rows, ...)
        As for `charge_blocked`. In the units of `Result`.
    bank : Bank
    """
    batteries, chargers = len(bank.batteries), len(bank.chargers)
    if not chargers:
        return None
    since_s = [_stopped_s(one, trace, place) for place, one in enumerate(bank.batteries)]
    blocked = charge_blocked(trace, batteries)
    nobody = np.asarray(blocked.all(axis=1))
    time_s, given_A = trace[:, 0], chargers_A(trace, chargers)
    found = []
    for moment_s in np.unique(time_s[1:][nobody[1:] & ~nobody[:-1]]):
        first = int(np.searchsorted(time_s, moment_s, side="left"))
        last = int(np.searchsorted(time_s, moment_s, side="right")) - 1
        if np.all(moment_s <= np.array(since_s)[~blocked[first]]):
            continue
        fallen_A = np.maximum(given_A[first] - given_A[last], 0.0)
        found.append(Lost(float(moment_s), fallen_A))
    return max(found, key=lambda one: one.dumped_A, default=None)


def worst_alone(trace: Floats, bank: Bank) -> Lost | None:
    """Return when chargers give loads most while every battery blocks its charge; None if never.

    As much is lost at once when those loads are switched off.

    Parameters
    ----------
    trace : array (rows, ...)
        As for `charge_blocked`. In the units of `Result`.
    bank : Bank
    """
    chargers = len(bank.chargers)
    nobody = np.asarray(charge_blocked(trace, len(bank.batteries)).all(axis=1))
    if not chargers or not nobody.any():
        return None
    given_A = np.maximum(chargers_A(trace, chargers), 0.0)[nobody]
    most = int(np.argmax(given_A.sum(axis=1)))
    return Lost(float(trace[nobody, 0][most]), given_A[most]) if given_A[most].any() else None


def _stopped_s(battery: Battery, trace: Floats, place: int) -> float:
    """Until when a temperature beyond its limit from the start on lets charge in, or -inf. [s]"""
    kelvin = float(column(trace, place, 3)[0])
    delays_s = [
        rule.delay_s + AT_ONCE_S
        for rule in battery.rules
        if rule.watches is Watch.TEMPERATURE and rule.blocks is not Blocks.DISCHARGE
        if (kelvin < rule.threshold if rule.below else kelvin > rule.threshold)
    ]
    return min(delays_s, default=-math.inf)

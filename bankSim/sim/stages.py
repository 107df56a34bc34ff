"""Stages of chargers that end by their time limit before their voltage was reached."""

from dataclasses import dataclass

import numpy as np

from bankSim.sim.result import STAGE, Event, Result

REACHED_V = 0.01  # below the hold: closer is reached; own choice


@dataclass(frozen=True, slots=True)
class CutShort:
    """A stage that ended by its time limit below its voltage.

    Parameters
    ----------
    time_s : float
        When it ended. [s]
    stage : int
        From 1.
    reached_V, hold_V : float
        The highest voltage during the stage, and that which it would hold. [V]
    after_s : float
        Its time limit. [s]
    """

    time_s: float
    stage: int
    reached_V: float
    hold_V: float
    after_s: float


def cut_short(result: Result, number_of: int) -> list[CutShort]:
    """Return the stages of a charger that ended so, in the order of time.

    A stage whose limit ended it began just so long before. Other stages end at their voltage.

    Parameters
    ----------
    result : Result
    number_of : int
        Place of the charger, from 0.
    """
    charger = result.scenario.bank.chargers[number_of]
    own = [e for e in result.events if e.what == STAGE and e.source == charger.name]
    found = [_cut_short(result, number_of, event) for event in own]
    return [one for one in found if one is not None]


def _cut_short(result: Result, number_of: int, event: Event) -> CutShort | None:
    stages = result.scenario.bank.chargers[number_of].stages
    ended = int(event.value or 0) - 1 if event.value else len(stages)
    stage, trace = stages[ended - 1], result.trace
    if stage.most_s is None:
        return None
    ends_s = [event.time_s - stage.most_s, event.time_s]
    during = slice(*np.searchsorted(trace[:, 0], ends_s, side="right"))
    reached_V = float(trace[during, 4].max(initial=0.0))
    if reached_V >= stage.hold_V - REACHED_V:
        return None
    return CutShort(event.time_s, ended, reached_V, stage.hold_V, stage.most_s)

"""Which stage a charger is in, what it holds then, and when another one leaves it idle."""

import numpy as np

from bankSim.model.charger import Charger
from bankSim.model.curve import Floats
from bankSim.model.load import Flags
from bankSim.show.course import BIT, BRIEF_S, Course
from bankSim.show.words import volts
from bankSim.sim.cautions.chargers_there import AT_HOLD_V, could_give_A
from bankSim.sim.numbers import listing, named, span
from bankSim.sim.result import STAGE, Result
from bankSim.sim.returns import chargers_A

GIVES_A = 1e-3
HELD_V = 1e-4  # at both ends of a span: a voltage that passes by is not held
ABOVE_V = 2e-3
LEAST_IDLE_S = 600.0  # less is not worth a word; own choice


def stage_holds_V(result: Result, course: Course, charger: Charger) -> Floats:  # noqa: N802 - unit
    """Return what the stage that a charger is in would hold, span by span; NaN while it is off. [V]

    Parameters
    ----------
    result : Result
    course : Course
        Of that result.
    charger : Charger
        One of that bank.
    """
    middle_s = course.start_s + 0.5 * course.length_s
    on = could_give_A(charger, middle_s, result.scenario.bank.starts_at_s) > 0.0
    before = np.concatenate([[False], on[:-1]])
    since_s = np.maximum.accumulate(np.where(on & ~before, course.start_s, 0.0))
    own = [e for e in result.events if e.what == STAGE and e.source == charger.name]
    times_s = np.array([-np.inf, *(event.time_s for event in own)])
    begun = np.array([1, *(int(event.value or 0) for event in own)])
    last = np.searchsorted(times_s, middle_s, side="right") - 1
    stage = np.where(times_s[last] >= since_s - BRIEF_S, begun[last], 1)
    holds_V = np.array([np.nan, *(one.hold_V for one in charger.stages)])
    return np.asarray(np.where(on, holds_V[stage], np.nan))


def holds_words(result: Result, course: Course, number_of: int) -> str:
    """Say how long a charger holds the voltages of its stages, and how long others hold more.

    Parameters
    ----------
    result : Result
    course : Course
        Of that result.
    number_of : int
        Place of the charger, from 0.
    """
    charger, gives = result.scenario.bank.chargers[number_of], course.charger_A > GIVES_A
    holds_V, texts = stage_holds_V(result, course, charger), []
    at_hold = spans_at_hold(result, course, holds_V, number_of)
    for hold_V in dict.fromkeys(stage.hold_V for stage in charger.stages):
        time_s = float(course.length_s[at_hold & (holds_V == hold_V)].sum())
        texts += [f"{volts(hold_V)} for {span(time_s)}"] if time_s > 0.0 else []
    idle = _idle(result, course, number_of, holds_V)
    if texts:
        told = f"it holds {listing(texts)}"
    elif not gives[number_of].any():
        return idle
    else:
        told = "it never holds the bus itself" if idle else "it never reaches its hold"
    return f"{told}; {idle}" if idle else told


def spans_at_hold(result: Result, course: Course, holds_V: Floats, number_of: int) -> Flags:
    """Tell in which spans a charger is at its hold from end to end, and gives or nobody does.

    Where nobody gives, some battery must take charge if offered: else the bus is at the hold alone.

    Parameters
    ----------
    result : Result
    course : Course
        Of that result.
    holds_V : array
        From `stage_holds_V`. [V]
    number_of : int
        Place of the charger, from 0.
    """
    trace = result.trace
    amps = chargers_A(trace, len(result.chargers))
    gives, nobody = amps[:, number_of] > GIVES_A, amps.max(axis=1) <= GIVES_A
    begin = np.flatnonzero(np.diff(trace[:, 0]) > BRIEF_S)
    takers = ((course.blocked.astype(int) & BIT["charge"]) == 0).any(axis=0)
    held = []
    for row in (begin, begin + 1):
        off_V = np.abs(trace[row, 4] - holds_V)
        held.append((gives[row] & (off_V < HELD_V)) | (nobody[row] & takers & (off_V < AT_HOLD_V)))
    return np.asarray(held[0] & held[1])


def idle_words(result: Result, course: Course, number_of: int) -> str:
    """Say how long a charger gives nothing because others hold the bus higher; "" if hardly.

    Parameters
    ----------
    result : Result
    course : Course
    number_of : int
        As for `holds_words`.
    """
    charger = result.scenario.bank.chargers[number_of]
    return _idle(result, course, number_of, stage_holds_V(result, course, charger))


def _idle(result: Result, course: Course, number_of: int, holds_V: Floats) -> str:
    """Say the same, where the holds of its stages are known. [V]"""
    chargers, gives = result.scenario.bank.chargers, course.charger_A > GIVES_A
    others = gives.copy()
    others[number_of] = False
    idle: Flags = ~gives[number_of] & others.any(axis=0) & (course.at_loads_V > holds_V + ABOVE_V)
    idle_s = float(course.length_s[idle].sum())
    if idle_s < LEAST_IDLE_S:
        return ""
    names = [one.name for place, one in enumerate(chargers) if (others[place] & idle).any()]
    own_V = [volts(float(one)) for one in np.unique(holds_V[idle])]
    bus_V = volts(float(course.at_loads_V[idle].max()))
    keep = "keeps" if len(names) == 1 else "keep"
    return (
        f"it idles for {span(idle_s)} in its stage of {listing(own_V)}, while {named(names)} "
        f"{keep} the voltage above that, at up to {bus_V}"
    )

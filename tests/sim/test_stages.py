"""Stages of a charger that ran out of time, read off a few rows."""

import pytest
from made_results import Course, event, made
from simple_banks import affine, bank_of

from bankSim.kernels.arrays import GRID
from bankSim.model.charger import Charger, Stage
from bankSim.sim.result import LOAD_OFF, STAGE
from bankSim.sim.stages import CutShort, cut_short

# 100 s of at most, up to 14.4 V, then 13.6 V for at most 300 s, then 13.2 V without end
MAINS = Charger("mains", (Stage(14.4, 2.0, 100.0), Stage(13.6, None, 300.0), Stage(13.2)), 10.0)
OTHER = Charger("other", (Stage(14.0, most_s=50.0),), 10.0)
TIMES_S = [0.0, 50.0, 100.0, 250.0, 400.0]


def found(volts, *events, charger=0, times_s=TIMES_S):
    bank = bank_of(affine("a"), chargers=(MAINS, OTHER))
    result = made(bank, times_s, Course(), bus_V=99.0, loads_V=volts, kinds=GRID, events=events)
    return cut_short(result, charger)


def stage(time_s, number_of, source="mains"):
    return event(time_s, STAGE, value=float(number_of), source=source)


@pytest.mark.parametrize(
    ("highest_V", "short"), [(14.3, True), (14.389, True), (14.391, False), (14.4, False)]
)
def test_a_stage_that_ends_below_its_voltage(highest_V, short):
    told = found([13.0, 13.5, highest_V, 14.6, 14.6], stage(100.0, 2))
    assert told == ([CutShort(100.0, 1, highest_V, 14.4, 100.0)] if short else [])


def test_only_the_time_of_the_stage_counts():
    # what went before its begin, and comes after its end, is not its own: 100 to 400 s
    told = found([14.6, 14.6, 14.6, 13.0, 13.5], stage(100.0, 2), stage(400.0, 3))
    assert told == [CutShort(400.0, 2, 13.5, 13.6, 300.0)]
    told = found([13.0] * 4 + [14.6], stage(250.0, 2))
    assert told == [CutShort(250.0, 1, 13.0, 14.4, 100.0)]
    # it began at 50 s: the row at its begin is the last of what went before
    told = found([13.0, 14.5, 13.1, 13.1, 13.1], stage(150.0, 2), times_s=[0, 50, 60, 100, 150])
    assert told == [CutShort(150.0, 1, 13.1, 14.4, 100.0)]


def test_a_stage_without_a_limit_of_time_ends_at_its_voltage():
    last = Charger("mains", (Stage(14.4, 2.0),), 10.0)
    bank = bank_of(affine("a"), chargers=(last,))
    events = (stage(100.0, 0),)
    assert cut_short(made(bank, TIMES_S, Course(), bus_V=13.0, events=events), 0) == []


def test_the_end_of_the_last_stage():
    told = found([13.0] * 5, stage(50.0, 0, "other"), charger=1)
    assert told == [CutShort(50.0, 1, 13.0, 14.0, 50.0)]


def test_what_others_do_is_not_its_own():
    events = stage(50.0, 2, "other"), event(60.0, LOAD_OFF, source="mains", value=2.0)
    assert found([13.0] * 5, *events) == []
    assert len(found([13.0] * 5, *events, stage(100.0, 2))) == 1

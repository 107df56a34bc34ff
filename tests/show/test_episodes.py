"""Episodes of blocked directions, on modes written by hand: 1 charge, 2 discharge, 3 both."""

from dataclasses import replace

import numpy as np
from made_results import Course, event, made
from simple_banks import affine, bank_of

from bankSim.show.block_chapters import block_chapters
from bankSim.show.episodes import Episode, clusters, episodes, given_up
from bankSim.show.lane_marks import marks
from bankSim.sim.result import MAY_RETURN, RELEASE, STAYS_OUT, TRIP

HOURS = np.array([0.0, 2.0, 2.0, 4.0, 4.0, 10.0])


def run_of(*modes, events=()):
    bank = bank_of(*(affine(name) for name in "ab"[: len(modes)]), duration_s=36_000.0)
    courses = [Course(mode=np.array(mode)) for mode in modes]
    return made(bank, 3600.0 * HOURS, *courses, events=tuple(events))


def shapes(*modes):
    return [
        (one.battery, one.direction, one.start_s / 3600.0, one.end_s and one.end_s / 3600.0)
        for one in episodes(run_of(*modes))
    ]


def test_both_directions_at_once_are_one_episode():
    assert shapes((0, 0, 2, 2, 0, 0)) == [(0, "discharge", 2.0, 4.0)]
    assert shapes((0, 0, 3, 3, 0, 0)) == [(0, "both", 2.0, 4.0)]
    # charge stays blocked for longer: two episodes
    assert shapes((0, 0, 3, 3, 1, 1)) == [(0, "charge", 2.0, None), (0, "discharge", 2.0, 4.0)]
    assert shapes((0, 0, 0, 0, 0, 0), (1, 1, 1, 1, 0, 0)) == [(1, "charge", 0.0, 4.0)]


def test_how_long_an_episode_lasts():
    one, still = episodes(run_of((0, 0, 2, 2, 0, 0), (0, 0, 0, 0, 2, 2)))
    assert one.length_s(36_000.0) == 7200.0
    assert still.length_s(36_000.0) == 6.0 * 3600.0  # until the end of the run


def switch(hour, what, blocks, battery="a", **more):
    return event(hour * 3600.0, what, battery, blocks=blocks, **more)


def test_each_episode_knows_what_shut_and_what_opened_it():
    own = [
        switch(2.0, TRIP, "charge"), switch(2.0, TRIP, "discharge", "b"),
        switch(2.0, TRIP, "discharge"), switch(4.0, RELEASE, "charge"),
        switch(4.0, RELEASE, "both"),
    ]  # fmt: skip
    (one,) = episodes(run_of((0, 0, 2, 2, 0, 0), (0,) * 6, events=own))
    assert one.shut is own[2]
    assert one.opened is own[4]  # what lets both ways go lets this one go
    given_up = [switch(2.0, STAYS_OUT, "discharge"), switch(4.0, MAY_RETURN, "discharge")]
    (other,) = episodes(run_of((0, 0, 2, 2, 0, 0), events=given_up))
    assert (other.shut, other.opened) == tuple(given_up)


def test_an_event_counts_within_a_millisecond():
    for off_s, known in ((0.0009, True), (-0.0009, True), (0.0011, False), (-0.0011, False)):
        near = [switch(2.0 + off_s / 3600.0, TRIP, "discharge")]
        (one,) = episodes(run_of((0, 0, 2, 2, 0, 0), events=near))
        assert (one.shut is not None) == known
        assert one.opened is None


def test_currents_before_and_after_a_come_back():
    opened = switch(4.0, RELEASE, "discharge", "b", currents_A=(7.0, -3.0),
                    currents_after_A=(1.0, 20.0))  # fmt: skip
    one = Episode(1, "discharge", 7200.0, 14_400.0, None, opened)
    assert (one.before_A(), one.surge_A(), one.jump_A()) == (-3.0, 20.0, 23.0)
    still = Episode(1, "discharge", 7200.0, None, None, None)
    assert (still.before_A(), still.surge_A(), still.jump_A()) == (0.0, 0.0, 0.0)


def starting(*hours, battery=0, way="charge"):
    return [Episode(battery, way, 3600.0 * hour, None, None, None) for hour in hours]


def sizes(*found):
    return [len(row) for row in clusters([one for own in found for one in own])]


def test_more_than_three_in_a_row_are_told_together():
    assert sizes(starting(1, 2, 3)) == [1, 1, 1]
    assert sizes(starting(1, 2, 3, 4)) == [4]
    # others of the same time are not of this row
    assert sizes(starting(1, 2, 3, 4), starting(1.5, 2.5, battery=1)) == [4, 1, 1]
    assert sizes(starting(1, 2), starting(3, 4, way="discharge")) == [1, 1, 1, 1]


def test_a_row_ends_where_the_next_begins_far_later_than_usual():
    # usual is an hour; six times that still belongs to it
    assert sizes(starting(1, 2, 3, 4, 10)) == [5]
    assert sizes(starting(1, 2, 3, 4, 10.1)) == [4, 1]
    assert sizes(starting(1, 2, 3, 4, 20, 21, 22, 23)) == [4, 4]
    assert sizes(starting(1, 2, 3, 4, 5, 30, 31, 32)) == [5, 1, 1, 1]


def test_rows_come_in_the_order_of_their_first():
    rows = clusters([*starting(5, 6, 7, 8), *starting(1, battery=1)])
    assert [row[0].battery for row in rows] == [1, 0]


def test_an_episode_goes_on_because_its_own_direction_was_given_up():
    def told(way, blocks, end_s=None, battery="a"):
        lost = [switch(3.0, STAYS_OUT, blocks, battery)]
        result = run_of((0,) * 6, (0,) * 6, events=lost)
        return given_up(result, Episode(0, way, 7200.0, end_s, None, None))

    ways = ("charge", "discharge", "both")
    assert [told("charge", one) for one in ways] == [True, False, True]
    assert [told("discharge", one) for one in ways] == [False, True, True]
    assert [told("both", one) for one in ways] == [True, True, True]
    assert not told("charge", "charge", end_s=9e3)  # it came back after that
    assert not told("charge", "charge", battery="b")


def test_many_blocks_of_charge_end_in_no_more_charge():
    # 5 blocks of charge, the last of them for good; returns of the discharge were never in vain
    hours = np.repeat(np.arange(0.0, 11.0), 2)[1:-1]
    modes = np.tile([0, 0, 1, 1], 5)
    bank = bank_of(affine("a"), duration_s=36_000.0)
    lost = [switch(9.0, STAYS_OUT, "charge"), switch(9.0, TRIP, "charge")]
    result = made(bank, 3600.0 * hours, Course(mode=modes), events=tuple(lost))
    (many,) = [mark for mark in marks(result) if " x " in mark.text]
    assert many.text.endswith("x 5, then takes no more")
    other = replace(result, events=(replace(lost[0], blocks="discharge"), lost[1]))
    assert [one.text for one in marks(other) if " x " in one.text] == [
        many.text.removesuffix(", then takes no more")
    ]
    text = " ".join(one.text for one in block_chapters(result))
    assert "then it takes no more charge" in text

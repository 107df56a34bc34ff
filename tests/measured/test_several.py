"""Several batteries in one log: each threshold on both sides, by hand."""

import numpy as np
import pytest

from bankSim.measured.column import Choice
from bankSim.measured.columns import columns_of
from bankSim.measured.layout import Layout
from bankSim.measured.log import LogError
from bankSim.measured.numerals import Marks
from bankSim.measured.several import refuse_several

HEADS = ("time", "voltage", "current")
CHOICE = Choice(time=1, voltage=2, current=3)


def refused(names, head="battery", choice=CHOICE):
    """What is told of a log with one more column of words, "" for nothing."""
    rows = [[str(n), "12.5", "5.0", name] for n, name in enumerate(names)]
    heads = (*HEADS, head)
    layout = Layout(",", Marks(), heads, ("",) * 4, 2, 1)
    try:
        refuse_several("a.csv", columns_of(layout, rows), rows, choice)
    except LogError as error:
        return str(error)
    return ""


TURNS = ["A", "B"] * 50


def test_devices_in_turn():
    assert refused(TURNS) == (
        'a.csv: column "battery" holds "A" and "B" in turn, so the file seems to hold several '
        "batteries; expected one file per battery: sort by that column and save each part by itself"
    )


@pytest.mark.parametrize(("head", "told"), [
    ("Device ID", True), ("Batterie Nr", True), ("Akku", True), ("unit", True), ("sensor_2", True),
    ("step", False), ("battery state", False), ("Zustand Batterie", False), ("note", False),
    ("battery (V)", False),
])  # fmt: skip
def test_the_name_of_the_column_tells(head, told):
    assert bool(refused(TURNS, head)) is told


def test_a_column_in_use_is_none_of_names():
    assert refused(TURNS, choice=Choice(time=1, voltage=2, current=3, words=4)) == ""
    assert refused(TURNS, choice=Choice(time=1, voltage=2, current=3, cells=(4,))) == ""


@pytest.mark.parametrize(("count", "told"), [(1, False), (2, True), (16, True), (17, False)])
def test_from_two_to_sixteen_devices(count, told):
    names = [f"pack{n}" for n in range(count)]
    assert bool(refused(names * 20)) is told


@pytest.mark.parametrize(("rows", "told"), [(2, False), (3, True)])
def test_each_of_them_has_three_rows(rows, told):
    # C comes at the begin, at the end and maybe once between
    names = list(TURNS)
    names[1] = names[-2] = "C"
    if rows == 3:
        names[50] = "C"
    assert bool(refused(names)) is told


@pytest.mark.parametrize(("gaps", "told"), [(9, True), (11, False)])
def test_nine_tenths_of_the_rows_name_one(gaps, told):
    names = list(TURNS)
    for place in range(gaps):
        names[40 + place] = ""
    assert bool(refused(names)) is told


@pytest.mark.parametrize(("run", "told"), [(4, True), (6, False)])
def test_turns_are_more_than_a_fifth_of_the_rows(run, told):
    # runs of four turn at every fourth row, of six at every sixth
    names = ["A"] * run + ["B"] * run
    assert bool(refused((names * 30)[:120])) is told


def test_who_joins_later_is_a_state():
    # each is there in the first and in the last fifth
    late = ["A", "B"] * 25 + ["A", "C"] * 25
    assert refused(late) == ""
    assert refused(["A", "B"] * 25 + ["A", "A"] * 25) == ""


def test_words_of_direction_are_states():
    assert refused(["charge", "discharge"] * 50) == ""
    assert refused(["C", "D"] * 50) != ""  # a single letter may be a name


def test_whole_numbers_that_come_round_are_names():
    assert refused(["1", "2", "3"] * 40) != ""
    rng = np.random.default_rng(1)
    assert refused([str(n) for n in rng.integers(1, 4, 120)]) == ""  # a reading
    assert refused(["1.5", "2.5"] * 50) == ""
    # one of ten may be lost
    lost = ["1", "2", "3"] * 40
    del lost[60]
    assert refused(lost) != ""

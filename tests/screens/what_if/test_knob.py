"""One thing that can be moved, and the numbers that follow it."""

import math

import pytest

from bankSim.screens.what_if.bank_knobs import nice_step
from bankSim.screens.what_if.knob import (
    BELOW,
    DIVIDE,
    SCALE,
    SHIFT,
    Move,
    copper_knob,
    edits,
    knob,
    moved,
    with_spread,
)

KEY = ("load", 0, "power_W")
OTHER = ("load", 1, "power_W")
FREE = (-math.inf, math.inf)


def slider(start=50.0, reach=(0.0, 100.0, 5.0), moves=(Move(KEY, 50.0),), **more):
    return knob("a", "Size of {}", "W", start, reach, help="", moves=moves, **more)


@pytest.mark.parametrize(
    ("start", "reach", "ends"),
    [
        (50.0, (0.0, 100.0, 5.0), (50.0 - 50.0, 100.0)),
        (52.0, (0.0, 100.0, 5.0), (2.0, 97.0)),  # the grid passes through the start
        (120.0, (0.0, 100.0, 5.0), (0.0, 120.0)),  # beyond its reach: that gives way
        (-3.0, (0.0, 100.0, 5.0), (-3.0, 97.0)),
        (0.3, (0.0, 0.9, 0.1), (0.0, 0.9)),  # in spite of rounding
        (4.0, (4.0, 4.0, 1.0), (4.0, 5.0)),  # a slider has at least one step
        (0.15, (0.05, 1.0, 0.1), (0.05, 0.95)),
    ],
)
def test_ends_lie_on_the_grid_of_the_start(start, reach, ends):
    one = slider(start, reach)
    assert (one.low, one.high) == pytest.approx(ends, abs=1e-9)
    assert math.copysign(1.0, one.low) == (-1.0 if one.low < 0 else 1.0)  # no -0.0


@pytest.mark.parametrize(
    ("start", "step", "decimals"),
    [(50.0, 5.0, 0), (50.0, 0.5, 1), (52.25, 5.0, 2), (1 / 3, 0.5, 3), (2.0, 1e-7, 0)],
)
def test_values_are_shown_with_the_places_of_step_and_start(start, step, decimals):
    assert slider(start, (0.0, 100.0, step)).decimals == decimals


def test_a_value_with_its_unit():
    assert slider(50.0, (0.0, 100.0, 0.5)).text(42.0) == "42.0 W"
    bare = knob("a", "A", "", 1.0, (0.0, 2.0, 1.0), help="", moves=())
    assert bare.text(2.0) == "2"


def test_names_stand_in_quotes_where_the_label_has_room():
    assert slider(subject="{lamp}").words == 'Size of "{lamp}"'


def test_a_thousandth_of_a_step_is_no_move():
    one = slider()
    assert not one.is_moved(50.0)
    assert not one.is_moved(50.004)
    assert one.is_moved(50.006)
    assert one.is_moved(45.0)


def numbers(settings, *knobs, always=()):
    return moved({one.key: one for one in knobs}, settings, always)


def test_a_value_is_set_in_the_unit_of_the_key():
    one = slider(moves=(Move(KEY, 0.5, per_unit=100.0),))
    assert numbers({"a": 75.0}, one) == {KEY: 0.75}
    assert numbers({"a": 50.0}, one) == {}
    assert numbers({"a": 50.0}, one, always=("a",)) == {KEY: 0.5}
    assert numbers({"unknown": 75.0}, one) == {}


@pytest.mark.parametrize(
    ("form", "base", "found"),
    [(SCALE, 8.0, 12.0), (DIVIDE, 6.0, 4.0), (SHIFT, 8.0, 33.0)],
)
def test_numbers_go_along_in_proportion_or_by_as_much(form, base, found):
    assert numbers({"a": 75.0}, slider(moves=(Move(KEY, base, form),))) == {KEY: found}


def test_a_shift_is_in_the_unit_of_the_key():
    one = slider(moves=(Move(KEY, 0.8, SHIFT, 100.0),))
    assert numbers({"a": 40.0}, one) == {KEY: 0.7}


@pytest.mark.parametrize(("value", "found"), [(5.0, 6.0), (95.0, 19.0 * 0.5)])
def test_numbers_stop_at_what_the_key_allows(value, found):
    one = slider(moves=(Move(KEY, 10.0, SCALE, lowest=6.0, highest=9.5),))
    assert numbers({"a": value}, one) == {KEY: found}


def test_one_below_the_highest_of_the_others():
    third = ("load", 2, "power_W")
    one = slider(moves=(Move(KEY, 0.9, BELOW, 100.0, 0.0, 1.0, ((OTHER, 0.8), (third, 0.95))),))
    assert numbers({"a": 10.0}, one) == {KEY: 0.85}
    assert numbers({"a": 100.0}, one) == {KEY: 0.0}


def test_lower_ranks_move_first_and_the_next_goes_on_from_there():
    whole = knob("z", "All", "%", 100.0, (20.0, 300.0, 5.0), help="", rank=1,
                 moves=(Move(KEY, 50.0, SCALE), Move(OTHER, 10.0, SCALE)))  # fmt: skip
    own = slider()
    assert numbers({"z": 200.0, "a": 75.0}, whole, own) == {KEY: 150.0, OTHER: 20.0}


def test_what_only_follows_is_counted_with_and_not_written():
    whole = slider(moves=(Move(OTHER, 10.0, SCALE, silent=True),))
    below = knob("b", "Below", "%", 0.0, (0.0, 20.0, 1.0), help="", rank=1,
                 moves=(Move(KEY, 9.0, BELOW, 1.0, others=((OTHER, 10.0),)),))  # fmt: skip
    assert numbers({"a": 100.0}, whole) == {}
    assert numbers({"a": 100.0, "b": 3.0}, whole, below) == {KEY: 17.0}


def test_numbers_are_written_without_the_dust_of_computing():
    one = slider(3.0, (0.0, 10.0, 1.0), moves=(Move(KEY, 0.1, SCALE),))
    assert repr(numbers({"a": 9.0}, one)[KEY]) == "0.3"


def test_what_has_to_stand_there_first_is_written_first():
    here = ("battery", 0, "protection")
    rules = [{"watches": "lowest cell voltage"}]
    path = (*here, 0, "trips_below")
    one = slider(2.5, (2.0, 3.0, 0.1), (Move(path, 2.5),), first=((here, rules),))
    found = edits({"a": one}, {"a": 2.8}, lambda _: None)
    assert list(found.items()) == [(here, rules), (path, 2.8)]
    found[here][0]["trips_below"] = 2.8
    assert rules == [{"watches": "lowest cell voltage"}]  # a copy of its own
    assert edits({"a": one}, {"a": 2.5}, lambda _: None) == {}


def test_a_spread_goes_along():
    one = slider(moves=(Move(KEY, 50.0, lowest=0.0, highest=90.0),))
    table = {"low": 40.0, "high": 60.0}
    assert edits({"a": one}, {"a": 75.0}, lambda _: table) == {
        KEY: {"value": 75.0, "low": 60.0, "high": 90.0}
    }


@pytest.mark.parametrize(
    ("written", "value", "limits", "found"),
    [
        (50.0, 75.0, FREE, 75.0),
        (None, 75.0, FREE, 75.0),
        ({"value": 50.0, "sd": 2.0}, 75.0, FREE, {"value": 75.0, "sd": 2.0}),
        (
            {"low": 40.0, "high": 60.0, "value": 40.0}, 80.0, FREE,
            {"value": 80.0, "low": 80.0, "high": 120.0},
        ),
        ({"low": 0.9, "high": 1.0}, 0.95, (0.0, 1.0), {"value": 0.95, "low": 0.9, "high": 1.0}),
        ({"low": 0.8, "high": 1.0}, 0.99, (0.0, 1.0), {"value": 0.99, "low": 0.88, "high": 1.0}),
        ({"low": 0.8, "high": 1.0}, 1.0, (0.0, 1.0), 1.0),  # no room at the end
        ({"low": 0.8, "high": 1.0}, 0.0, (0.0, 1.0), 0.0),
        ({"low": -1.0, "high": 1.0}, 5.0, FREE, 5.0),  # around nothing there is no proportion
    ],
)  # fmt: skip
def test_the_spread_of_the_file_around_a_new_value(written, value, limits, found):
    assert with_spread(written, value, limits) == found


@pytest.mark.parametrize(("area", "high"), [(35.0, 95.0), (70.0, 140.0)])
def test_copper_reaches_the_usual_areas_and_twice_its_own(area, high):
    one = copper_knob("copper/0", "Copper", area, ("battery", 0, "lead"))
    assert (one.low, one.high, one.unit) == (1.0, high, "mm²")
    (move,) = one.moves
    assert move.path == ("battery", 0, "lead", "area_mm2")
    assert (move.lowest, move.highest) == (0.75, 300.0)


@pytest.mark.parametrize(
    ("value", "step"),
    [(40.0, 1.0), (79.9, 1.0), (80.0, 2.0), (199.0, 2.0), (200.0, 5.0), (399.0, 5.0),
     (400.0, 10.0), (0.8, 0.02), (0.0, 2e-5), (-400.0, 10.0)],
)  # fmt: skip
def test_steps_are_round_and_about_a_fortieth(value, step):
    assert nice_step(value) == pytest.approx(step, rel=1e-9)

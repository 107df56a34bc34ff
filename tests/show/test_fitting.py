"""Texts that fit into a figure."""

import pytest
from matplotlib.figure import Figure

from bankSim.show.fitting import (
    GAP_IN,
    MARGINS_IN,
    NAME_PT,
    NAMES_IN,
    NOTE_PT,
    TITLE_PT,
    fitted,
    fold,
    heading,
    leave_room,
    name_of,
    room_beside,
    text_in,
)
from bankSim.show.looks import WIDTH_IN


def test_texts_are_measured_by_their_letters():
    assert text_in("WWWW", 10.0) > 3.0 * text_in("iiii", 10.0)
    assert text_in("a" * 8, 10.0) == pytest.approx(2.0 * text_in("aaaa", 10.0), rel=0.05)


def test_lines_are_broken_where_they_are_full():
    lines = fold("one two " + "W" * 40, 1.5, 10.0)
    assert all(text_in(line, 10.0) <= 1.5 for line in lines)
    assert "".join(lines).replace(" ", "") == "onetwo" + "W" * 40


def test_a_text_that_does_not_fit_loses_its_middle():
    short = fitted("first " + "W" * 60 + " last", 1.0, lines=2)
    assert len(short.split("\n")) <= 2
    assert short.startswith("first")
    assert short.endswith("last")
    assert "..." in short
    assert fitted("short", 1.0) == "short"


def test_a_word_too_wide_is_broken_and_an_empty_text_is_one_line():
    parts = fold("W" * 9, text_in("WWWW", 10.0), 10.0)
    assert parts == ["WWWW", "WWWW", "W"]
    assert fold("", 1.0, 10.0) == [""]
    assert heading("one two", text_in("one tw", TITLE_PT)) == "one\ntwo"
    assert heading("one two", text_in("one two", TITLE_PT)) == "one two"


def test_a_name_is_kept_where_it_has_room():
    assert name_of("a" * 24) == "a" * 24
    assert len(name_of("i" * 25)) == 24  # by its letters
    short = name_of("W" * 24)
    assert text_in(short, NAME_PT) <= NAMES_IN < text_in("W" * 24, NAME_PT)  # by its width
    assert "..." in short


def test_a_panel_has_the_room_that_its_widest_line_leaves():
    widest = text_in("wide line", NAME_PT)
    assert room_beside([]) == pytest.approx(WIDTH_IN - MARGINS_IN)
    assert room_beside(["i", "i\nwide line"]) == pytest.approx(WIDTH_IN - MARGINS_IN - widest)


def limits(marks, notes=(), inches=5.0):
    axes = Figure().subplots()
    leave_room(axes, marks, notes, inches)
    return axes.get_xlim()


def test_an_axis_begins_at_nothing_where_marks_come_near_to_it():
    assert limits([30.0, 100.0])[0] == 0.0
    assert limits([31.0, 100.0])[0] == pytest.approx(31.0 - 0.06 * 69.0)
    assert limits([-10.0, 90.0])[0] == pytest.approx(-10.0 - 0.06 * 100.0)
    low, high = limits([0.0, 100.0])
    assert (low, high) == (0.0, 100.0)


def test_an_axis_is_not_stretched_over_next_to_nothing():
    low, high = limits([100.0, 100.1])
    reach = 10.01  # a tenth of the largest
    assert (low, high) == pytest.approx((100.0 - 0.06 * reach, 100.0 + 0.94 * reach))
    assert limits([]) == (0.0, 1.0)
    assert limits([0.0]) == (0.0, 1.0)


def test_words_behind_a_mark_end_inside_the_axes():
    inches, words = 5.0, "words behind"
    low, high = limits([0.0, 100.0], [(100.0, words)], inches)
    room_in = (high - 100.0) / (high - low) * inches
    assert room_in == pytest.approx(text_in(words, NOTE_PT) + GAP_IN)
    assert limits([0.0, 100.0], [(10.0, words)], inches) == (0.0, 100.0)  # room enough there


def test_no_words_take_more_than_three_quarters():
    low, high = limits([0.0, 100.0], [(100.0, "W" * 200)])
    assert (high - 100.0) / (high - low) == pytest.approx(0.75)

"""Numbers in sentences: what stands there, at the limits on both sides."""

import math

import pytest

from bankSim.sim.numbers import after, clean, listing, named, number, quoted, rough, sentence, span


@pytest.mark.parametrize(
    ("value", "digits", "text"),
    [
        (None, 3, "-"), (math.nan, 3, "-"), (math.inf, 3, "-"), (-math.inf, 3, "-"),
        (0.0, 3, "0"), (-0.0, 3, "0"), (0.00049, 3, "0"), (-0.00049, 3, "0"),
        (0.0005, 3, "0.000500"), (-0.0005, 3, "-0.000500"), (0.00123456, 3, "0.00123"),
        (0.00123456, 6, "0.001235"), (9.994, 3, "9.99"), (9.996, 3, "10.0"), (-9.996, 3, "-10.0"),
        (99.94, 3, "99.9"), (99.96, 3, "100"), (1234.5678, 3, "1235"), (1234.5678, 6, "1234.57"),
        (5e7, 3, "50000000"), (13.2, 4, "13.20"),
    ],
)  # fmt: skip
def test_digits(value, digits, text):
    assert number(value, digits) == text


@pytest.mark.parametrize(
    ("seconds", "text"),
    [(0.0, "0 s"), (59.4, "59.4 s"), (60.0, "1.00 min"), (3599.0, "60.0 min"), (3600.0, "1.00 h"),
     (1e6, "278 h")],
)  # fmt: skip
def test_units_of_time(seconds, text):
    assert span(seconds) == text


def test_at_once():
    assert [after(s) for s in (0.0, 0.00049, 0.0005, 90.0)] == [
        "at once", "at once", "after 0.000500 s", "after 1.50 min",
    ]  # fmt: skip
    assert span(0.5, 1) == "0.5 s"


@pytest.mark.parametrize(
    ("value", "unit", "text"),
    [(1.26, "W", "1.3 W"), (126.0, "W", "126 W"), (999.0, "W", "999 W"), (1000.0, "W", "1.0 kW"),
     (1260.0, "W", "1.3 kW"), (3e4, "A", "30 kA")],
)  # fmt: skip
def test_two_digits_in_thousands(value, unit, text):
    assert rough(value, unit) == text


def test_lists():
    assert listing([]) == ""
    assert listing(["a"]) == "a"
    assert listing(["a", "b"]) == "a and b"
    assert listing(["a", "b", "c"]) == "a, b and c"
    # one more than the most is named rather than counted as "1 others"
    assert listing(list("abcd"), 3) == "a, b, c and d"
    assert listing(list("abcde"), 3) == "a, b, c and 2 others"
    assert named(list("abcdefg")) == '"a", "b", "c", "d", "e", "f" and "g"'
    assert named(list("abcdefgh")) == '"a", "b", "c", "d", "e", "f" and 2 others'


def test_names_are_one_short_printable_line():
    assert quoted("a\x1b[2J\nb") == '"a?[2J?b"'
    assert quoted("x" * 40) == f'"{"x" * 40}"'
    assert quoted("x" * 41) == f'"{"x" * 37}..."'
    assert clean("abc def", 7) == "abc def"
    assert clean("abc defg", 7) == "abc..."  # no blank before the dots
    assert clean("\u202ereversed") == "?reversed"


def test_a_sentence_begins_large():
    assert [sentence(text) for text in ("", "a", "the loads", '"a" has')] == [
        "", "A", "The loads", '"a" has',
    ]  # fmt: skip

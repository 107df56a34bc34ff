import math

import pytest

from bankSim.show.words import (
    beside,
    clock,
    counted,
    left_over,
    percent,
    shortened,
    volts,
    whole_or,
)
from bankSim.sim.numbers import after, clean, listing, number, span


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (231.44, "231"), (54.249, "54.2"), (2.5, "2.50"), (6080.4, "6080"), (-3.14159, "-3.14"),
        (0.04561, "0.0456"), (9.9996, "10.0"), (999.6, "1000"),
        (0.0004, "0"), (-0.0, "0"), (math.nan, "-"), (None, "-"),
    ],
)  # fmt: skip
def test_number_keeps_three_digits_without_powers_of_ten(value, text):
    assert number(value) == text


def test_whole_numbers_lose_only_idle_zeros():
    assert [whole_or(value) for value in (100.0, 2.5, 0.0, 1200.0)] == ["100", "2.5", "0", "1200"]


def test_beside_rounds_a_column_alike():
    assert [beside(value, 140.0) for value in (146.84, 0.4, -0.001)] == ["146.8", "0.4", "0.0"]
    assert beside(1.23456, 2.0) == "1.235"


def test_span_takes_the_unit_that_suits():
    assert [span(s) for s in (12.0, 90.0, 3600.0, 195_120.0)] == [
        "12.0 s", "1.50 min", "1.00 h", "54.2 h"
    ]  # fmt: skip


def test_after_says_at_once_for_the_first_instant():
    assert after(0.0) == "at once"
    assert after(147_600.0) == "after 41.0 h"


def test_listing_counts_what_it_does_not_name():
    assert listing(["a"]) == "a"
    assert listing(["a", "b", "c"]) == "a, b and c"
    assert listing(["a", "b", "c", "d"], 3) == "a, b, c and d"
    assert listing(list("abcde"), 3) == "a, b, c and 2 others"


def test_clean_leaves_no_way_to_steer_a_terminal():
    assert clean("a\x1b[31mb\nc\u202ed") == "a?[31mb?c?d"
    assert clean("x" * 50, 10) == "xxxxxxx..."


def test_small_forms():
    assert volts(11.456) == "11.46 V"
    assert volts(None) == "-"
    assert percent(0.314) == "31 %"
    assert percent(-0.003) == "0 %"
    assert counted(1, "note") == "1 note"
    assert counted(0, "battery", "batteries") == "0 batteries"


def test_one_that_is_left_over_is_told_in_the_singular():
    assert left_over(1, "load", "does so", "do so") == "1 more load does so"
    assert left_over(2, "load", "does so", "do so") == "2 more loads do so"
    assert left_over(1, "battery", "is", "are", "batteries") == "1 more battery is"
    assert left_over(3, "battery", "is", "are", "batteries") == "3 more batteries are"


def test_clock_counts_days_from_the_second_on():
    assert clock(21.0 * 3600.0 + 31.0 * 60.0) == "21:31"
    assert clock(86_399.0) == "day 2, 00:00"
    assert clock(5.5 * 86_400.0) == "day 6, 12:00"


def test_shortened_keeps_both_ends():
    assert shortened("short", 10) == "short"
    line = shortened("a name that is rather long delivered", 20)
    assert line.startswith("a name")
    assert line.endswith("elivered")
    assert len(line) <= 20


def test_the_clock_can_tell_seconds():
    assert clock(52_565.2, to_seconds=True) == "14:36:05"
    assert clock(86_399.6, to_seconds=True) == "day 2, 00:00:00"

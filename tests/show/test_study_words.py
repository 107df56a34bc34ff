"""Chances and ranges in words."""

import pytest
import told_studies as made

from bankSim.show.study_words import (
    HIGH,
    LOW,
    MIDDLE,
    bare,
    bare_of_100,
    error_of,
    hours_of,
    middle_of,
    of_100,
    range_of,
)
from bankSim.study.statistics import Estimate, chance


@pytest.mark.parametrize(
    ("count", "draws", "words"),
    # Wilson (1927) by hand: (p + z2/2n -+ z sqrt(p (1-p) / n + z2/4n2)) / (1 + z2/n), z = 1.96
    [
        (0, 100, "no case (at most 4 of 100)"),
        (0, 10_000, "no case (at most 0.04 of 100)"),
        (1, 100, "1 of 100 cases (0.2 to 5)"),
        (50, 100, "50 of 100 cases (40 to 60)"),
        (99, 100, "99 of 100 cases (95 to 99.8)"),
        (100, 100, "all cases (at least 96 of 100)"),
        (10_000, 10_000, "all cases"),
        (1, 10, "10 of 100 cases (2 to 40)"),
        (1, 1, "all cases (at least 21 of 100)"),
        (5, 1000, "0.5 of 100 cases (0.2 to 1.2)"),
        (995, 1000, "99.5 of 100 cases (98.8 to 99.8)"),
    ],
)
def test_a_chance_is_told_in_cases_of_100(count, draws, words):
    assert of_100(chance(count, draws)) == words


@pytest.mark.parametrize(
    ("part", "word"),
    [
        (0.0, "0"),
        (1.0, "100"),
        (1e-5, "<0.01"),
        (0.001, "0.1"),
        (0.0049, "0.5"),
        (0.05, "5"),
        (0.505, "50"),
        (0.99, "99"),
        (0.9949, "99.5"),
        (0.9995, "99.95"),
    ],
)
def test_a_bare_chance_is_never_0_or_100_by_rounding(part, word):
    assert bare_of_100(made.sure(part)) == word


def test_next_to_all_cases_is_not_all_cases():
    # own count: 9,995 of 10,000
    words = of_100(chance(9995, 10_000))
    assert words == "99.95 of 100 cases (99.88 to 99.98)"
    assert "100)" not in words


@pytest.mark.parametrize(
    ("count", "draws"),
    [
        (1, 10_000),
        (30, 10_000),
    ],
)
def test_an_interval_says_more_than_the_chance_itself(count, draws):
    chance_, _, interval = of_100(chance(count, draws)).partition(" of 100 cases (")
    low, _, high = interval.rstrip(")").partition(" to ")
    assert len({chance_, low, high}) > 1


@pytest.mark.parametrize(
    ("points", "unit", "words"),
    [
        ((164.2, 170.0, 176.4), "Ah", "164 to 176 Ah"),
        ((9.04, 9.5, 9.96), "h", "9.04 to 9.96 h"),
        ((100.0, 100.0, 100.0), "Ah", "100 Ah"),
        ((0.0, 0.0, 0.0), "Ah", "0 Ah"),
        ((99.8, 100.0, 100.3), "Ah", "99.8 to 100.3 Ah"),
        ((10.40, 10.41, 10.42), "V", "10.400 to 10.420 V"),
        ((-5.3, -4.0, -3.1), "Ah", "-5.30 to -3.10 Ah"),
        ((-3.0, 0.0, 4.0), "Ah", "-3.00 to 4.00 Ah"),
        ((-0.001, 0.0, 0.001), "Ah", "-0.00100 to 0.00100 Ah"),
        ((0.5, 0.6, 0.7), "", "0.500 to 0.700"),
        ((1234.0, 2000.0, 2345.0), "Ah", "1234 to 2345 Ah"),
        ((1e-9, 2e-9, 3e-9), "Ah", "0.0000 Ah"),
    ],
)
def test_a_range_has_alike_digits_at_both_ends(points, unit, words):
    assert range_of(made.band(*points, unit)) == words


def test_no_draws_have_no_range():
    nothing = made.NOTHING
    assert range_of(nothing) == middle_of(nothing) == error_of(nothing) == hours_of(nothing) == "-"
    assert bare(nothing, LOW) == bare(None, HIGH) == "-"


def test_never_minus_nothing():
    band = made.band(-1e-7, -1e-7, 100.0)
    assert [bare(band, place) for place in (LOW, MIDDLE, HIGH)] == ["0", "0", "100"]


@pytest.mark.parametrize(
    ("points", "words"),
    [
        ((14.0, 15.0, 16.0), "14.0 to 16.0 h"),
        ((0.5, 1.0, 1.5), "0.50 to 1.50 h"),
        ((0.5, 0.6, 0.75), "30.0 to 45.0 min"),
        ((0.001, 0.002, 0.005), "3.6 to 18.0 s"),
        ((0.0, 0.0, 0.0), "0 s"),
    ],
)
def test_hours_come_in_the_unit_that_suits_them(points, words):
    assert hours_of(made.band(*points, "h")) == words


def test_the_middle_has_the_digits_of_its_range():
    assert middle_of(made.band(164.2, 170.04, 176.4)) == "170 Ah"
    assert middle_of(made.band(0.5, 0.612, 0.7, "")) == "0.612"


def test_the_error_is_that_of_the_worse_end():
    points = list(made.band(1.0, 2.0, 3.0).percentiles)
    points[LOW] = Estimate(1.0, 0.6, 1.1)
    points[HIGH] = Estimate(3.0, 2.9, 3.25)
    points[MIDDLE] = Estimate(2.0, -9.0, 9.0)
    band = made.band(1.0, 2.0, 3.0)
    assert error_of(type(band)("", "Ah", None, tuple(points), 9)) == "0.40 Ah"


def test_a_range_narrower_than_the_solver_knows_is_one_number():
    # draws are marched to 0.03 % of Ah; a width of 0.01 % is the solver's, not the bank's
    assert range_of(made.band(28.497, 28.499, 28.500)) == "28.5 Ah"

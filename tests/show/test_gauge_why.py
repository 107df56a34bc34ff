"""Why a gauge is off, on instants written by hand."""

from dataclasses import replace

import numpy as np
import pytest

from bankSim.measured.gauge import Course, Judged, Place
from bankSim.measured.voltage_table import straight_line
from bankSim.show.gauge_why import verdict, why

PLACE = Place(
    time_s=0.0, counted_Ah=0.0, voltage_V=13.1, current_A=10.0, reading_percent=40.0,
    true_percent=60.0, error_points=-20.0, low_percent=40.0, high_percent=40.0,
    points_per_10mV=2.0, points_per_C10=8.0, points_by_current=None,
)  # fmt: skip


def judged(*, ohm=0.005, chemistry="NMC", within=0.5, mean=7.25, inside_Ah=0.0, **place):
    """A gauge of 0 to 100 % over 1 V on a battery of 80 Ah, off most at such an instant."""
    worst = replace(PLACE, **place)
    zero = np.zeros(2)
    course = Course("a", zero, zero, zero, zero, zero, 80.0, ohm, (), chemistry, inside_Ah)
    table = straight_line(12.5, 13.5, "test")
    best = replace(PLACE, error_points=0.0)
    return Judged(course, table, zero, zero, zero, zero, best, worst, within, mean, False)


def told(**changes):
    return why(judged(**changes))


def test_how_little_voltage_half_of_the_charge_is():
    # 50 of 100 % are 500 mV of 1 V; C/10 of 80 Ah is 8 A, through 5 mohm 40 mV
    first = told()[0]
    assert first == (
        "The table goes from 30 to 80 % within 500 mV, 10 mV a point, and a load of C/10 alone "
        "takes 40 mV off."
    )
    assert told(ohm=None)[0] == "The table goes from 30 to 80 % within 500 mV, 10 mV a point."


@pytest.mark.parametrize(
    ("points", "error", "words"),
    [
        (-8.0, -20.0, "the load pulls the reading down by 8 points through the resistance; without "
         "it -12 points would be left, from what the table says otherwise"),
        (9.0, 22.0, "the charge lifts the reading up by 9 points through the resistance; without "
         "it +13 points would be left, from what"),
        (-18.0, -20.0, "without it -2 points would be left."),
        (-24.9, -20.0, "without it +5 points would be left."),  # 4.9: less than 5 needs no reason
        (-25.0, -20.0, "without it +5 points would be left, from what"),
        (-15.0, -20.0, "without it -5 points would be left, from what"),
    ],
)  # fmt: skip
def test_how_much_of_the_error_the_current_makes(points, error, words):
    line = told(points_by_current=points, error_points=error)[1]
    assert line.startswith("Where the error is largest, the ")
    assert words in line


@pytest.mark.parametrize(("points", "said"), [(0.99, 0), (-0.99, 0), (1.0, 1), (-1.0, 1)])
def test_less_than_a_point_by_current_is_not_told(points, said):
    lines = told(points_by_current=points)
    assert sum("through the resistance" in one for one in lines) == said


def test_what_a_meter_error_is_worth():
    slope = "At 13.10 V 10 mV of meter error move the reading by 2.0 points: one point is worth 5.0"
    assert told()[1].startswith(slope)
    flat = told(points_per_10mV=0.0)[1]
    assert flat == (
        "At 13.10 V the reading stands at the end of its table: it cannot say more there."
    )


def test_a_load_of_a_tenth_of_the_capacity_more():
    # 8 A of 80 Ah
    assert told()[2].startswith("A load of C/10 (8.00 A) more pulls the voltage down")
    assert "by 8.0 points, although nothing is gone" in told()[2]
    assert not any("C/10 (" in one for one in told(points_per_C10=None))


@pytest.mark.parametrize(("high", "said"), [(40.9, False), (41.0, True)])
def test_tables_that_differ_by_a_point_are_told(high, said):
    lines = told(high_percent=high)
    expected = "Published tables differ: at this voltage they read 40 to 41 %."
    assert (expected in lines) == said


def test_what_the_voltage_remembers():
    counts = {None: 2, "LFP": 2, "NMC": 1, "AGM": 1}
    memory = {word: told(chemistry=word)[3:] for word in counts}
    assert {word: len(lines) for word, lines in memory.items()} == counts
    assert all("Rest after a load lets the voltage climb" in one[0] for one in memory.values())
    assert "the acid evens out for many hours" in memory["AGM"][0]


@pytest.mark.parametrize(
    ("inside_Ah", "left"), [(0.0, "the counted remainder"), (8.0, "what is left")]
)
def test_how_much_of_the_time_it_is_usable(inside_Ah, left):
    assert verdict(judged(inside_Ah=inside_Ah)) == (
        f"It is within 10 points of {left} in 50 % of the time; its mean error is 7.2 points."
    )

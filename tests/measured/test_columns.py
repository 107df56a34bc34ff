"""Which column is taken for what, from headers and from what was asked: by hand."""

import pytest

from bankSim.measured.columns import choose, columns_of
from bankSim.measured.layout import Layout
from bankSim.measured.log import WARNING, Asked, LogError
from bankSim.measured.numerals import Marks


def chosen(heads, *values, asked=Asked(), rows=20):
    """The choice among columns with these headers; a value stands in all rows, or is a function."""
    table = [[str(one(n) if callable(one) else one) for one in values] for n in range(rows)]
    layout = Layout(",", Marks(), tuple(heads), ("",) * len(heads), 2, 1)
    return choose("a.csv", columns_of(layout, table), asked, named=any(heads))


def minutes(n):
    return 60 * n


PLAIN = ["Time [s]", "Voltage [V]", "Current [A]", "Temperature [degC]"]
VALUES = (minutes, 12.8, 5, 25)


def numbers(choice):
    return choice.time, choice.voltage, choice.current, choice.temperature


def test_plain_headers():
    choice = chosen(PLAIN, *VALUES)
    assert numbers(choice) == (1, 2, 3, 4)
    assert (choice.findings, choice.asked, choice.cells) == ([], set(), ())


@pytest.mark.parametrize("word", ["Load current [A]", " load CURRENT [a]", "load", "5"])
def test_a_column_is_asked_for_by_header_by_its_start_or_by_number(word):
    choice = chosen([*PLAIN, "Load current [A]"], *VALUES, 6, asked=Asked(current=word))
    assert (choice.current, choice.asked) == (5, {5})


def test_a_header_that_is_a_number_goes_before_the_number():
    choice = chosen([*PLAIN, "2"], *VALUES, 12.5, asked=Asked(voltage="2"))
    assert choice.voltage == 5


@pytest.mark.parametrize(
    ("asked", "told"),
    [
        (
            Asked(current="Amps"),
            "a.csv: --current = 'Amps': no such column; expected one of: 1 Time",
        ),
        (Asked(current="6"), "--current = '6': no such column"),
        (Asked(current="0"), "--current = '0': no such column"),
        (
            Asked(current="Cur"),
            "--current = 'Cur': several columns fit; expected one of: 1 Time [s]",
        ),
        (Asked(current="Current 2", voltage="Current 2"), 'column "Current 2" is asked for twice'),
        (Asked(cells=("2", "2")), "--cells names a column twice; expected different ones"),
    ],
)
def test_what_cannot_be_asked(asked, told):
    with pytest.raises(LogError) as error:
        chosen([*PLAIN, "Current 2"], *VALUES, 6, asked=asked)
    assert told in str(error.value)


def test_a_tie_is_told():
    choice = chosen([*PLAIN, "Current pack B [A]"], *VALUES, 6)
    assert choice.current == 3  # that of one battery among others is none of the bank
    assert choice.findings == []
    tie = chosen([*PLAIN, "Strom [A]"], *VALUES, 6)
    (found,) = tie.findings
    assert (tie.current, found.severity, found.count) == (3, WARNING, 2)
    assert found.text == (
        'The current may be "Current [A]" and "Strom [A]"; "Current [A]" was taken: --current '
        "chooses another."
    )
    # of temperatures the first serves
    assert chosen([*PLAIN, "Temp [degC]"], *VALUES, 26).findings == []


@pytest.mark.parametrize(
    ("extra", "value"),
    [
        ("Max current [A]", 9), ("Current limit [A]", 50), ("Load current [A]", 6),
        ("AC current [A]", 1), ("Current capacity [Ah]", 3),
    ],
)  # fmt: skip
def test_other_currents_do_not_come_near(extra, value):
    for place in (2, 4):
        heads, values = [*PLAIN], [*VALUES]
        heads.insert(place, extra)
        values.insert(place, value)
        choice = chosen(heads, *values)
        assert heads[choice.current - 1] == "Current [A]"
        assert choice.findings == []


CELLS = [f"Cell {n} [V]" for n in (2, 1, 4, 3)]


def test_cells_stand_in_the_order_of_their_numbers():
    choice = chosen([*PLAIN, *CELLS], *VALUES, 3.2, 3.2, 3.2, 3.2)
    assert choice.cells == (6, 5, 8, 7)
    assert choice.voltage == 2


def test_the_sum_of_the_cells_tells_the_voltage():
    # of two voltages the one that fits; 4 x 3.2 V
    heads = ["Time [s]", "Voltage [V]", "U [V]", "Current [A]", *CELLS]
    choice = chosen(heads, minutes, 25.6, 12.8, 5, 3.2, 3.2, 3.2, 3.2)
    assert (choice.voltage, choice.findings) == (3, [])
    # also one that says nothing of itself
    silent = chosen(["Time [s]", "x", "Current [A]", *CELLS], minutes, 12.8, 5, *(3.2,) * 4)
    assert silent.voltage == 2


@pytest.mark.parametrize(("volts", "cells"), [(0.31, 4), (0.29, 0), (5.1, 4), (5.3, 0)])
def test_cells_have_a_third_of_a_volt_to_five(volts, cells):
    heads = ["Time [s]", "Voltage [V]", "Current [A]", "U1", "U2", "U3", "U4"]
    assert len(chosen(heads, minutes, 12.8, 5, *(volts,) * 4).cells) == cells


def test_a_family_of_currents_or_a_lone_number_is_none_of_cells():
    heads = ["Time [s]", "Voltage [V]", "Current [A]"]
    assert chosen([*heads, "Current 1", "Current 2"], minutes, 12.8, 5, 3, 3).cells == ()
    assert chosen([*heads, "U1"], minutes, 12.8, 5, 3.2).cells == ()
    assert chosen([*heads, "Cell 1 [V]"], minutes, 12.8, 5, 3.2).cells == (4,)


@pytest.mark.parametrize(
    ("heads", "time"),
    [
        (["Step time [s]", "Total time [s]"], 2),
        (["Total time [s]", "Step time [s]"], 1),
        (["Time remaining [s]", "Time [s]"], 2),
    ],
)
def test_the_time_that_goes_on(heads, time):
    def other(n):
        return 1000 - n if "remaining" in heads[0] else n % 10

    values = (other, minutes) if time == 2 else (minutes, other)
    choice = chosen([*heads, "Voltage [V]", "Current [A]"], *values, 12.8, 5)
    assert choice.time == time


@pytest.mark.parametrize(
    ("heads", "values", "told"),
    [
        (["Time [s]", "Voltage [V]", "Current [A]"], (minutes, 12.8, ""),
         "no column of current found among: 1 Time [s], 2 Voltage [V], 3 Current [A] "
         '("Current [A]" is empty); say which with --current COLUMN'),
        (["Time [s]", "Voltage [V]", "Current [A]"], (minutes, 12.8, "off"),
         '("Current [A]" holds too few numbers)'),
        (["Time [s]", "Voltage [V]", "Current [A]"], (7, 12.8, 5), '("Time [s]" stands still)'),
        (["Time [s]", "Power [W]", "Current [A]"], (minutes, 64, 5), "no column of voltage found"),
    ],
)  # fmt: skip
def test_what_is_missing_is_told(heads, values, told):
    with pytest.raises(LogError) as error:
        chosen(heads, *values)
    assert told in str(error.value)


def test_many_columns_are_named_as_far_as_they_fit():
    heads = [*PLAIN[:2], *(f"{'x' * 38}{n:02d}" for n in range(40))]
    with pytest.raises(LogError) as error:
        chosen(heads, minutes, 12.8, *("word",) * 40)
    # 12 and 15 of 800 letters for the first two, 44 for each up to 9, 45 for those behind: 19 of 42
    assert f"{'x' * 38}16, 23 more; say which" in str(error.value)

"""What one column of a log holds: by hand."""

import numpy as np
import pytest
from pytest import approx

from bankSim.measured.column import Column, rises, volts_in
from bankSim.measured.header_words import read_header

NAN = float("nan")


def column(*values, text="", clock=False, filled=None):
    values = np.array(values, float)
    return Column(3, read_header(text), values, clock, len(values) if filled is None else filled)


def test_a_column_without_a_header_has_its_number():
    assert column(1.0, text=" Voltage [V] ").name == "Voltage [V]"
    assert column(1.0).name == "3"


@pytest.mark.parametrize(
    ("values", "filled", "numeric"),
    [
        ((1.0, 2.0), 2, True),
        ((1.0, NAN), 2, False),
        ((1.0, 2.0, NAN), 3, True),
        ((NAN, NAN), 0, False),
    ],
)
def test_most_texts_of_a_column_of_numbers_are_numbers(values, filled, numeric):
    assert column(*values, filled=filled).numeric is numeric
    assert not column(*values, filled=filled, clock=True).numeric


def test_its_middle_leaves_gaps_out():
    assert column(1.0, NAN, 9.0, 3.0).middle == 3.0
    assert column(1.0, NAN, 9.0, 3.0).good == 3
    assert np.isnan(column(NAN).middle)


def test_what_its_header_may_mean():
    one = column(1.0, text="Voltage [V]")
    assert one.score("voltage") > 0.0
    assert one.score("current") == 0.0
    assert column(text="Voltage [V]", filled=0).score("voltage") == -1.0


@pytest.mark.parametrize(
    ("text", "middle", "volts"),
    [
        ("Voltage [V]", 12_800.0, 1.0), ("Voltage [mV]", 12.8, 1e-3), ("Voltage [kV]", 0.4, 1e3),
        ("Voltage [uV]", 5.0, 1e-6), ("Voltage", 12.8, 1.0), ("Voltage", 1001.0, 1e-3),
        ("Voltage", 1000.0, 1.0),  # more than a thousand volts can only be mV
    ],
)  # fmt: skip
def test_volts_in_a_number(text, middle, volts):
    assert volts_in(column(middle, text=text)) == approx(volts, rel=1e-12)


@pytest.mark.parametrize(("falls", "told"), [(0, True), (4, True), (5, False)])
def test_a_column_rises_but_for_a_few_steps(falls, told):
    # less than a twentieth of 100
    steps = np.ones(100)
    steps[10 : 10 + falls] = -1.0
    assert rises(column(0.0, *np.cumsum(steps))) is told


def test_what_stands_still_or_is_no_number_does_not_rise():
    assert not rises(column(5.0, 5.0, 5.0))
    assert not rises(column(5.0))
    assert rises(column(5.0, 5.0, 6.0))
    assert not rises(column(5.0, 6.0, clock=True))
    assert rises(column(1.0, NAN, 2.0, 3.0))

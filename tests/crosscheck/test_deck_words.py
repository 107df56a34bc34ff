"""Numbers, comments and tables of the netlist."""

import re

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from bankSim.crosscheck.deck_words import TABLE_ERROR_V, comment, folded, nested, number, pwl
from bankSim.model.curve import Curve


@given(st.text(max_size=200))
def test_comment_is_one_harmless_line(text):
    assert re.fullmatch(r"\* [A-Za-z0-9 _-]{0,60}", comment(text))


@given(st.floats(-1e300, 1e300))
def test_number_keeps_15_digits(value):
    assert float(number(value)) == pytest.approx(value, rel=1e-14)


def test_folding_loses_nothing():
    line = " ".join(str(n) for n in range(200))
    lines = folded(line).split("\n")
    assert max(len(part) for part in lines) <= 100
    assert all(part.startswith("+ ") for part in lines[1:])
    assert " ".join(part.removeprefix("+ ") for part in lines) == line


def test_nested_takes_two_at_a_time():
    assert nested("min", ["a", "b", "c"]) == "min(min(a, b), c)"
    assert nested("min", ["a"]) == "a"


def test_constant_becomes_a_number():
    assert pwl(Curve.constant(0.02), "V(x)", 1.5) == "0.03"


def test_a_table_is_read_as_if_emptier():
    # R0 in the cold: the curve at 1 - (1 - z) / part, without a node for that number
    curve = Curve.linear([0.0, 0.4, 1.0], [3.0, 1.0, 0.5])
    z, ohm = _points(pwl(curve, "V(z)", 2.0, part=0.6))
    at = np.linspace(-0.1, 1.5, 401)
    assert np.interp(at, z, ohm) == pytest.approx(2.0 * curve(1.0 - (1.0 - at) / 0.6), abs=1e-12)


def _points(text):
    values = np.array([float(word) for word in re.findall(r"[-+.\de]+(?=[,)])", text)])
    return values[0::2], values[1::2]


def test_table_follows_a_smooth_curve_and_its_straight_ends():
    curve = Curve.smooth(lambda z: 3.2 + 0.1 * z + 0.4 * np.exp(-30 * z), np.linspace(0.0, 1.0, 12))
    z, volts = _points(pwl(curve, "V(x)"))
    at = np.linspace(-0.9, 1.9, 20_001)
    assert np.abs(np.interp(at, z, volts) - curve(at)).max() < 1.3 * TABLE_ERROR_V


def test_held_ends_stay_held():
    z, volts = _points(pwl(Curve.linear([0.2, 0.8], [1.0, 2.0], hold_ends=True), "V(x)"))
    assert volts.tolist() == [1.0, 1.0, 2.0, 2.0]
    assert z[0] < 0.2
    assert z[-1] > 0.8

"""Units and numbers as people and instruments write them: factors of the SI, and by hand."""

import math

import pytest
from pytest import approx

from bankSim.measured.numerals import (
    COMMA,
    POINT,
    SCALES,
    Marks,
    decimals_of,
    glued_unit,
    is_missing,
    read_number,
    tidy,
    unit_of,
)

# SI prefixes, and the units accepted beside the SI (minute, hour, day)
FACTORS = {
    "V": 1.0, "mV": 1e-3, "uV": 1e-6, "kV": 1e3, "A": 1.0, "mA": 1e-3, "uA": 1e-6, "kA": 1e3,
    "s": 1.0, "ms": 1e-3, "us": 1e-6, "min": 60.0, "h": 60.0 * 60.0, "d": 24.0 * 60.0 * 60.0,
}  # fmt: skip


def test_scales():
    assert SCALES == FACTORS


@pytest.mark.parametrize(
    ("text", "unit", "value"),
    [
        ("980 mA", "A", 0.98), ("0.98 A", "mA", 980.0), ("980 mA", "mA", 980.0),
        ("3300mV", "V", 3.3), ("3.3 V", "mV", 3300.0), ("0.4 kV", "V", 400.0),
        ("2 kA", "mA", 2e6), ("5 µA", "mA", 5e-3), ("980 mA", "", 0.98), ("12.8 V", "", 12.8),
        ("25 °C", "degC", 25.0), ("1.5 min", "min", 1.5), ("90 s", "", 90.0), ("1.5 h", "", 5400.0),
        ("(5.5 A)", "A", -5.5), ("5.5 A-", "A", -5.5), ("-5", "A", -5.0), ("2 Volts", "V", 2.0),
        ("1.5e3 mA", "A", 1.5), ("1,5E-3", "A", 1.5e-3),
    ],
)  # fmt: skip
def test_numbers_with_their_unit(text, unit, value):
    assert read_number(text, Marks(), unit) == approx(value, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "unit"),
    [("12.8 V", "A"), ("5 A", "V"), ("5 Ah", "A"), ("77 °F", "degC"), ("5 W", ""), ("5 min", "s")],
)
def test_units_that_do_not_fit(text, unit):
    value = read_number(text, Marks(), unit)
    assert math.isnan(value) or (unit == "" and value == 5.0)


@pytest.mark.parametrize(
    ("text", "marks", "value"),
    [
        ("1.234", Marks(COMMA, groups=True), 1234.0), ("1.234", Marks(COMMA), 1.234),
        ("1,234", Marks(POINT, groups=True), 1234.0), ("1,234", Marks(POINT), 1.234),
        ("1.23", Marks(COMMA, groups=True), 1.23), ("12.345.678", Marks(COMMA), 12345678.0),
        ("1.234,5", Marks(COMMA, groups=True), 1234.5), ("-1.234,5", Marks(COMMA), -1234.5),
        ("1 234", Marks(), 1234.0), ("1'234'567", Marks(), 1234567.0), (",5", Marks(COMMA), 0.5),
        ("-.5", Marks(), -0.5), ("5,", Marks(COMMA), 5.0),
    ],
)  # fmt: skip
def test_marks_between_digits(text, marks, value):
    assert read_number(text, marks) == value


@pytest.mark.parametrize(
    "text",
    ["12 34", "1.23.456", "1,234.567.8", "1'23", "5--", "(5", "+-5", "1e9999", "~5", ">5"],
)
def test_no_numbers(text):
    assert not math.isfinite(read_number(text, Marks()))


@pytest.mark.parametrize(
    ("word", "unit"),
    [
        ("mW", "mW"), ("MW", ""), ("MV", ""), ("mS", ""), ("S", "s"), ("[mA]", "mA"), ("(V).", "V"),
        ("µA", "uA"), ("°C", "degC"), ("K", "K"), ("Stunden", "h"), ("amp-hours", "Ah"), ("x", ""),
    ],
)  # fmt: skip
def test_units_by_their_spelling(word, unit):
    assert unit_of(word) == unit


def test_a_unit_glued_to_a_number():
    assert [glued_unit(text) for text in ("980 mA", "12.8V", "12.8", "abc", "5 x")] == (
        ["mA", "V", "", "", ""]
    )


@pytest.mark.parametrize(
    "text", ["", " ", "NaN", "--", "n/a", "#N/A", "OL", " null ", "\ufeff", '"-"']
)
def test_missing(text):
    assert is_missing(text)


@pytest.mark.parametrize("text", ["0", "-1", "1.5", "Rest", "-5", "--5"])
def test_not_missing(text):
    assert not is_missing(text)


def test_fields_are_tidied():
    assert tidy(' "\u22125\u00a0A" ') == "-5 A"


@pytest.mark.parametrize(
    ("texts", "decimals"),
    [
        ("1.25 -3.50 0", 2), ("1 2 30", 0), ("1.5 1.25", None), ("1.5e3 2.5e3", None),
        ("1.5A 2.5A", None), ("0 0", None), ("x 1.5", 1), ("(1.5) 2.5-", 1), ("1.5 x 2.25 3", None),
    ],
)  # fmt: skip
def test_decimals_all_are_written_with(texts, decimals):
    assert decimals_of(texts.split(), Marks()) == decimals

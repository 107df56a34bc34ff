"""Voltages as people type them."""

from contextlib import suppress

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pytest import approx

from bankSim.measured.log import LogError
from bankSim.measured.typed_voltages import typed_groups, typed_numbers

FOUR = (2.31, 2.52, 2.47, 2.38)


@pytest.mark.parametrize(
    "typed",
    [
        "2.31 2.52 2.47 2.38",
        "2,31 2,52 2,47 2,38",
        "2.31,2.52,2.47,2.38",
        "2.31, 2.52, 2.47, 2.38",
        "2,31, 2,52, 2,47, 2,38",
        "2,31;2,52;2,47;2,38",
        "2,31,2,52,2,47,2,38",
        "2310 2520 2470 2380",
        "2310,2520,2470,2380",
        "2310mV 2520mV 2.47V 2.38",
        "2.31V 2.52v 2.47volt 2.38",
    ],
)
def test_all_ways_of_typing_give_the_same(typed):
    (group,), _ = typed_groups(typed.split())
    assert group.voltages_V == approx(FOUR)


def test_what_was_guessed_is_told():
    assert typed_groups(["2.31"])[1] == []
    assert typed_groups(["2,31"])[1] == ["Read with decimal commas: 2,31."]
    assert "millivolts" in typed_groups(["2310"])[1][0]


def test_the_last_digit_counts():
    assert typed_groups(["2.31", "2.52"])[0][0].step_V == approx(0.01)
    assert typed_groups(["2.315", "2.521"])[0][0].step_V == approx(0.001)
    assert typed_groups(["2315"])[0][0].step_V == approx(0.001)
    assert typed_groups(["2.3", "2.521"])[0][0].step_V == approx(0.1)


def test_slashes_part_repeats():
    groups, _ = typed_groups(["2.31", "2.52", "/", "2.3,2.5/2,29", "2,49"])
    assert [len(one.voltages_V) for one in groups] == [2, 2, 2]
    assert groups[2].voltages_V == approx((2.29, 2.49))


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        ("abc", "'abc' is no number; expected volts like 2.31"),
        ("2.3.1", "is no number"),
        ("nan", "is no number"),
        ("1e0", "is no number"),
        ("231", "231 may be 2.31 V or 231 mV; expected .*231mV with its unit"),
        ("70", "70 is no cell voltage; expected 0.200 to 5.00 V"),
        ("12.1", "whole battery"),
        ("0", "is no cell voltage"),
        ("2.3 /", "0 in ''; expected 1 to 16"),
        ("2.3 " * 17, "17 in .*; expected 1 to 16"),
        ("2.3 /" * 60, "60|61 groups"),
    ],
)
def test_what_is_wrong_is_told_on_one_line(typed, told):
    with pytest.raises(LogError, match=told) as error:
        typed_groups([typed])
    assert "\n" not in str(error.value)


@given(
    st.lists(st.integers(2000, 3650), min_size=1, max_size=16), st.sampled_from([" ", ",", "; "])
)
@settings(max_examples=60, deadline=None)
def test_volts_and_millivolts_agree(values, gap):
    volts = gap.join(f"{value / 1000:.3f}" for value in values)
    milli = gap.join(str(value) for value in values)
    (first,), (second,) = typed_groups([volts])[0], typed_groups([milli])[0]
    assert first.voltages_V == approx(second.voltages_V)


@given(st.text(alphabet="0123456789.,/;-+ mVe\x00\n", max_size=30))
@settings(max_examples=200, deadline=None)
def test_garbage_is_read_or_refused(text):
    groups = []
    with suppress(LogError):
        groups, _ = typed_groups([text])
    assert all(0.2 <= volt <= 5.0 for one in groups for volt in one.voltages_V)


def test_numbers_with_slashes():
    assert typed_numbers("148 / 149,5", "--Ah", 0.1, 1e3) == approx([148.0, 149.5])
    assert typed_numbers(None, "--Ah", 0.1, 1e3) == []
    for wrong in ("", "x", "-3", "1e9", "nan"):
        with pytest.raises(LogError, match="--Ah"):
            typed_numbers(wrong, "--Ah", 0.1, 1e3)

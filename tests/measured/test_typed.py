"""What people type beside cell voltages: starts of logs, two batteries, units; each by hand."""

import pytest
from pytest import approx

from bankSim.measured.log import LogError
from bankSim.measured.typed_sides import TypedSides, sides_of
from bankSim.measured.typed_snapshot import TypedSnapshot, given_of
from bankSim.measured.typed_starts import typed_starts
from bankSim.measured.typed_voltages import typed_groups, typed_numbers


@pytest.mark.parametrize(
    ("text", "count", "starts"),
    [
        (None, 3, ()),
        ("100", 1, (1.0,)),
        ("80", 3, (0.8, 0.8, 0.8)),
        ("80, ?,50.5", 3, (0.8, None, 0.505)),
        ("?", 2, (None, None)),
    ],
)
def test_starts_of_logs(text, count, starts):
    found = typed_starts(text, count)
    assert len(found) == len(starts)
    assert [one is None for one in found] == [one is None for one in starts]
    assert [one for one in found if one is not None] == approx(
        [one for one in starts if one is not None]
    )


@pytest.mark.parametrize(
    ("text", "count"),
    [
        ("0", 1),
        ("-5", 1),
        ("100.1", 1),
        ("nan", 1),
        ("full", 1),
        ("", 1),
        ("50,60", 3),
        ("50,60", 1),
    ],
)
def test_starts_that_cannot_be(text, count):
    with pytest.raises(LogError) as error:
        typed_starts(text, count)
    allowed = "expected one value above 0 and up to 100, or ?"
    more = "; or 3 of them with commas between" if count == 3 else ""
    assert str(error.value) == f"--start-percent = {text!r}; {allowed}{more}"


def test_a_snapshot_as_typed():
    given = given_of(
        TypedSnapshot(
            "agm", 150.0, 7.5, 1.75, 12.0, after_rest_min=10.0, meter_mV=4.0,
            delivered_Ah="148 / 149,5", battery_V="10,4", full="2,31 2,35", seed=7,
        )
    )  # fmt: skip
    assert (given.chemistry, given.rated_Ah, given.current_A) == ("AGM", 150.0, 7.5)
    assert (given.limit_V, given.temperature_C, given.rest_s) == (1.75, 12.0, 600.0)
    assert given.meter_V == approx(0.004)
    assert (given.delivered_Ah, given.battery_V) == ([148.0, 149.5], [10.4])
    assert (given.full_V, given.seed) == ((2.31, 2.35), 7)
    bare = given_of(TypedSnapshot())
    assert (bare.chemistry, bare.rest_s, bare.full_V, bare.meter_V) == ("LFP", None, (), 0.010)
    with pytest.raises(LogError, match="--full: 2 groups; expected one"):
        given_of(TypedSnapshot(full="3.4 3.5 / 3.4 3.5"))


def two(**more):
    """Two batteries of which only the Ah were typed, and more."""
    usual = {
        "cells": None, "given_Ah": "148 / 160", "mass_kg": None, "given_Wh": None,
        "current_A": None, "names": None, "chemistry": None, "meter_V": 0.01, "temperature_C": None,
    }  # fmt: skip
    return sides_of(TypedSides(**usual | more))


@pytest.mark.parametrize(
    ("kind", "cells"), [("LFP", 4), ("NMC", 3), ("AGM", 6), ("gel", 6), ("flooded", 6)]
)
def test_without_cells_it_is_a_battery_of_12_V(kind, cells):
    # 4 x 3.2, 3 x 3.7 and 6 x 2 V
    sides, told = two(chemistry=kind)
    assert [side.cells for side in sides] == [cells, cells]
    assert told == (f"No cell voltages for {kind}: taken as a 12 V battery of {cells} cells.",)


def test_two_sides():
    sides, told = two(
        cells="2.50 2.55 / -", mass_kg="16 / ?", given_Wh="1900 / 2000", current_A="10",
        names="old / new", chemistry="LFP / AGM", temperature_C=20.0,
    )  # fmt: skip
    one, other = sides
    assert (one.name, one.given_Ah, one.mass_kg, one.given_Wh) == ("old", 148.0, 16.0, 1900.0)
    assert (one.voltages_V, one.step_V, one.cells) == ((2.5, 2.55), approx(0.01), 2)
    assert (other.name, other.given_Ah, other.mass_kg, other.given_Wh) == (
        "new",
        160.0,
        None,
        2000.0,
    )
    assert (other.voltages_V, other.step_V, other.cells) == ((), 0.0, 6)
    for side, kind in ((one, "LFP"), (other, "AGM")):
        around = side.around
        assert (around.chemistry, around.current_A, around.temperature_C) == (kind, 10.0, 20.0)
        assert (around.rated_Ah, around.meter_V) == (side.given_Ah, 0.01)
    assert len(told) == 1


@pytest.mark.parametrize(
    ("more", "told"),
    [
        ({"given_Ah": "148"}, "--Ah: expected two numbers"),
        ({"mass_kg": "16"}, "--kg = '16'; expected two numbers like 16 / 16.5"),
        ({"current_A": "1 / 2 / 3"}, "--at-A = '1 / 2 / 3'; expected two numbers"),
        ({"cells": "2.5 2.6"}, "--cells: 1 groups; expected those of two batteries"),
        ({"names": "old / old"}, "--names = 'old / old'; expected two different names"),
        ({"names": "old"}, "expected two different names"),
        ({"chemistry": "LFP AGM gel"}, "--chemistry = 'LFP AGM gel'; expected one word or two"),
        ({"mass_kg": "0 / 16"}, "--kg = 0; expected a number from 0.01 to 100000"),
    ],
)
def test_sides_that_cannot_be(more, told):
    with pytest.raises(LogError) as error:
        two(**more)
    assert told in str(error.value)


@pytest.mark.parametrize(
    "text",
    ["2.31 V 2.52 V", "2.31 v, 2.52 Volt", "2310 mV 2520 mV", "2310mV 2.52", "2,31 V 2,52 V"],
)
def test_units_with_a_space_before_them(text):
    groups, _ = typed_groups([text])
    assert groups[0].voltages_V == approx((2.31, 2.52))


@pytest.mark.parametrize(
    ("text", "volts", "step_V"),
    [
        ("500", 0.5, 1e-3), ("5000", 5.0, 1e-3), ("499mV", 0.499, 1e-3), ("0.2", 0.2, 0.1),
        ("5.0", 5.0, 0.1), ("2", 2.0, 1.0), ("2.315", 2.315, 1e-3), (".9", 0.9, 0.1),
    ],
)  # fmt: skip
def test_one_voltage_and_its_last_digit(text, volts, step_V):
    groups, _ = typed_groups([text])
    assert groups[0].voltages_V == approx((volts,))
    assert groups[0].step_V == approx(step_V)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("-0.3", "-0.3 is no cell voltage but below 0;"),
        ("\N{MINUS SIGN}0.3", "is no cell voltage but below 0;"),
        ("0", "0 is no cell voltage but next to nothing;"),
        ("0.19", "Swapped leads, a slip, or a ruined cell: do not charge such a cell"),
        ("5.01", "5.01 is no cell voltage; expected 0.2"),
        ("5001", "5001 is no cell voltage; expected 0.2"),
        ("7.9", "7.9 is no cell voltage; expected"),
        ("8", "8 looks like the voltage of a whole battery"),
        ("60", "60 looks like the voltage of a whole battery"),
        ("231", "231 may be 2.31 V or 231 mV; expected"),
        ("2.3.1", "'2.3.1' is no number; expected volts like 2.31"),
        ("V", "'V' is no number"),
        ("", "cell voltages: 0 in ''; expected 1 to 16"),
        (" ".join(["3.2"] * 17), "cell voltages: 17 in "),
        (" / ".join(["3.2"] * 51), "cell voltages: 51 groups; expected at most 50"),
    ],
)
def test_voltages_that_cannot_be(text, told):
    with pytest.raises(LogError) as error:
        typed_groups([text])
    assert told in str(error.value)


@pytest.mark.parametrize(
    ("text", "numbers"),
    [
        (None, []), ("148", [148.0]), ("148/149,5", [148.0, 149.5]),
        ("148; 149.5,", [148.0, 149.5]), ("0.01 100000", [0.01, 1e5]),
    ],
)  # fmt: skip
def test_numbers_with_slashes(text, numbers):
    assert typed_numbers(text, "--Ah", 0.01, 1e5) == numbers


@pytest.mark.parametrize(
    "text", ["", "a", "1,234.5", "1,2,3", "0.009", "100001", "-5", "nan", "1e3"]
)
def test_numbers_that_cannot_be(text):
    with pytest.raises(LogError, match="--Ah = "):
        typed_numbers(text, "--Ah", 0.01, 1e5)

"""Larger cells, or taken deeper: against the solver, sums of parts, common practice."""

from dataclasses import replace

import pytest
from cut_out_banks import RATED_AH, discharged
from pytest import approx

from bankSim.measured.deeper import Side, Verdict, compare_depth
from bankSim.measured.energy_per_mass import RANGES, Place, per_mass
from bankSim.measured.log import LogError
from bankSim.measured.snapshot import Circumstances
from bankSim.measured.typed_sides import TypedSides, sides_of


def side(name, given_Ah, *volts, kg=None, kind="LFP", cells=4, **more):
    around = Circumstances(given_Ah, chemistry=kind, current_A=15.0, temperature_C=25.0, **more)
    return Side(name, given_Ah, around, volts, 0.01, kg, None, cells)


def typed(**more):
    bare = TypedSides(None, "148 / 160", None, None, None, None, None, 0.010, None)
    return replace(bare, **more)


def test_a_few_hundred_millivolts_on_the_knee_do_not_explain_eight_percent():
    found = compare_depth(side("a", 148.0, 2.50, 2.60, 2.55, 2.52), side("b", 160.0, 2.2, 2.35))
    assert found.verdict is Verdict.LARGER
    assert found.parts is not None
    assert 0.0 < found.parts.depth.value < 0.01 * 160.0
    assert found.parts.cells.low > 5.0
    assert found.sure is not None
    assert found.sure > 0.99


def test_parts_add_up_to_the_difference():
    found = compare_depth(side("a", 148.0, 2.9, 3.0), side("b", 155.0, 2.2, 2.35))
    parts = found.parts
    assert parts is not None
    assert parts.total.value == approx(7.0)
    assert parts.depth.value + parts.balance.value + parts.cells.value == approx(7.0)


def test_the_solvers_same_cells_taken_deeper_are_told():
    # one battery of the solver, stopped by hand at 3.05 V and gone on to 2.5 V: the same cells
    given, volts, frame = discharged((1.0, 1.0), 15.0)
    early = frame[frame["b.cell1_voltage_V"] < 3.05].iloc[0]
    early_Ah = float(early["time_s"]) * 15.0 / 3600.0
    known = {"stretch": 1.0, "stretch_sd": 0.0}
    one = side("early", early_Ah, float(early["b.cell1_voltage_V"]), 3.05, **known)
    found = compare_depth(one, side("late", given, *volts, **known))
    assert found.parts is not None
    assert given - early_Ah > 0.04 * RATED_AH
    # capacities are taken from what was given, which is a little less than that of the cells
    assert found.parts.depth.value == approx(given - early_Ah, rel=0.06)
    assert found.verdict is Verdict.DEEPER


def test_swapping_the_sides_turns_the_signs():
    a, b = side("a", 148.0, 2.5, 2.6), side("b", 160.0, 2.2, 2.35)
    there, back = compare_depth(a, b), compare_depth(b, a)
    assert there.parts is not None
    assert back.parts is not None
    assert there.parts.depth.value == approx(-back.parts.depth.value)
    assert there.parts.cells.value == approx(-back.parts.cells.value)
    assert there.verdict is back.verdict


@pytest.mark.parametrize(
    ("one", "two", "verdict"),
    [
        (side("a", 150.0, 2.5), side("b", 152.0, 2.2), Verdict.SAME),
        (side("a", 148.0, 2.95, 3.0), side("b", 155.0, 2.2, 2.35), Verdict.DEEPER),
        (side("a", 140.0, 3.0, 3.0), side("b", 160.0, 2.2, 2.2), Verdict.MIXED),
        (side("a", 140.0, 2.3, 3.05, 3.05, 3.05), side("b", 147.0, 2.3, 2.3), Verdict.BALANCE),
        (side("a", 150.0, 2.3, 2.3), side("b", 153.2, 2.3, 2.3), Verdict.UNCLEAR),
        (side("a", 150.0), side("b", 160.0, 2.2), Verdict.UNKNOWN),
        (side("a", 160.0), side("b", 160.0, kind="AGM"), Verdict.KIND),
    ],
)
def test_verdicts(one, two, verdict):
    assert compare_depth(one, two).verdict is verdict


def test_mass_of_more_of_the_same_cells():
    # cells 80 % of 16 kg for 148 Ah, 12 Ah more: 1.04 kg
    found = compare_depth(side("a", 148.0, 2.5, kg=16.0), side("b", 160.0, 2.2, kg=16.4))
    assert found.mass_gap_kg == approx(0.4)
    assert found.mass_expected_kg == approx(0.8 * 16.0 / 148.0 * 12.0)


def test_weights_of_common_practice_are_plausible():
    # common practice, no source: about 16 kg for 160 Ah of 4-cell LFP; over 100 kg of AGM for the
    # same usable Ah
    lithium = per_mass("LFP", 160.0, 160.0 * 12.8, 16.0)
    lead = per_mass("AGM", 160.0, 160.0 * 12.0, 101.0)
    assert lithium.place is Place.INSIDE
    assert lithium.Ah_per_kg == approx(10.0)
    assert lithium.Wh_per_kg == approx(128.0)
    assert lead.place is Place.INSIDE
    assert lithium.Wh_per_kg > 5.0 * lead.Wh_per_kg


def test_weights_that_cannot_be():
    assert per_mass("LFP", 160.0, 160.0 * 12.8, 8.0).place is Place.ABOVE
    assert per_mass("LFP", 160.0, 160.0 * 12.8, 60.0).place is Place.BELOW
    assert per_mass("AGM", 160.0, 160.0 * 12.0, 16.0).place is Place.ABOVE
    assert all(span.source for span in RANGES.values())


def test_energy_is_the_measured_one_where_there_is_one():
    bare = side("a", 160.0, 2.2)
    assert bare.energy_Wh == approx(160.0 * 4 * 3.2)
    assert replace(bare, given_Wh=2000.0).energy_Wh == 2000.0


def test_typed_sides():
    (one, two), told = sides_of(
        typed(
            cells="2.50 2,60 / 2210 2350", mass_kg="16 16,5", current_A="20", names="old / new",
            given_Wh="- / 2050",
        )
    )  # fmt: skip
    assert (one.name, two.name) == ("old", "new")
    assert one.voltages_V == approx((2.5, 2.6))
    assert two.voltages_V == approx((2.21, 2.35))
    assert (one.mass_kg, two.mass_kg) == (16.0, 16.5)
    assert one.around.current_A == two.around.current_A == 20.0
    assert (one.given_Wh, two.given_Wh) == (None, 2050.0)
    assert (one.cells, two.cells) == (2, 2)
    assert len(told) == 2


def test_cells_of_one_side_may_be_missing():
    (one, two), told = sides_of(typed(cells="- / 2.2 2.3 2.3 2.3", chemistry="AGM LFP"))
    assert (one.voltages_V, one.cells) == ((), 6)
    assert len(two.voltages_V) == 4
    assert "12 V battery of 6 cells" in told[0]


@pytest.mark.parametrize(
    ("more", "told"),
    [
        ({"given_Ah": "148"}, "--Ah: expected two numbers"),
        ({"given_Ah": "a / b"}, "--Ah = a"),
        ({"mass_kg": "16"}, "--kg = '16'; expected two numbers"),
        ({"mass_kg": "16 / x"}, "--kg = x"),
        ({"cells": "2.5 2.6"}, "--cells: 1 groups"),
        ({"cells": "2.5 / 2.6 / 2.7"}, "--cells: 3 groups"),
        ({"cells": "2.5 / abc"}, "--cells: 'abc' is no number"),
        ({"chemistry": "foo"}, "--chemistry = 'foo'"),
        ({"chemistry": "LFP AGM gel"}, "expected one word or two"),
        ({"names": "a / a"}, "--names"),
        ({"names": "a"}, "--names"),
    ],
)
def test_wrong_sides_are_told_on_one_line(more, told):
    with pytest.raises(LogError, match=told) as error:
        sides_of(typed(**more))
    assert "\n" not in str(error.value)

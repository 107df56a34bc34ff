"""Cables in warm air, and cables that no fuse protects."""

from dataclasses import replace

import pytest
from pytest import approx
from simple_banks import affine, bank_of, run, steady

from bankSim.model.bank import Layout, Wiring
from bankSim.model.cell import ZERO_C_K

BARE = "cable that no fuse protects"


def found(bank):
    return {caution.topic: caution for caution in run(bank).cautions}


def three(fuse_A=125.0, **wiring):
    """Three batteries with fuses, 60 A."""
    batteries = [
        replace(affine(name, 2e-3, 200.0), lead_area_mm2=35.0, fuse_A=fuse_A) for name in "abc"
    ]
    return bank_of(*batteries, load=steady(60.0), wiring=Wiring(**wiring), duration_s=600.0)


# ISO 10133 (from memory): 16 mm2 carry 130 A with insulation for 105 degC, 150 mm2 475 A
@pytest.mark.parametrize(("area_mm2", "told"), [(16.0, True), (120.0, False), (95.0, False)])
def test_a_main_lead_wants_a_fuse_of_its_own_where_the_others_do_not_protect_it(area_mm2, told):
    caution = found(three(main_area_mm2=area_mm2)).get(BARE)
    assert (caution is not None) == told
    if caution:
        assert (caution.severity, caution.value, caution.limit) == ("warning", 375.0, approx(130.0))
        assert caution.text == (
            "No fuse protects the main lead: its 16 mm2 carry 130 A even with insulation for 105 "
            "degrees C (table in the style of ISO 10133, from memory), and the fuses of the "
            "batteries let 375 A through together."
        )
        assert caution.advice.endswith("main = { ..., fuse_A = ... }.")


def test_a_main_fuse_or_an_unknown_area_or_a_missing_fuse_ends_it():
    assert BARE not in found(three(main_area_mm2=16.0, main_fuse_A=100.0))
    assert BARE not in found(three())
    missing = found(three(None, main_area_mm2=16.0))
    assert BARE not in missing
    assert "no fuse at a battery" in missing


@pytest.mark.parametrize(
    ("area_mm2", "layout", "told"),
    [
        (35.0, Layout.SAME_END, True),  # 210 A against 2 x 125 A
        (50.0, Layout.SAME_END, False),  # 270 A
        (35.0, Layout.OPPOSITE_ENDS, True),
        (35.0, Layout.EQUAL_LEADS, False),  # there are none
    ],
)
def test_links_carry_what_the_fuses_of_one_side_let_through(area_mm2, layout, told):
    caution = found(three(link_area_mm2=area_mm2, layout=layout, link_ohm=1e-4)).get(BARE)
    assert (caution is not None) == told
    if caution:
        assert (caution.severity, caution.value, caution.limit) == ("note", 250.0, approx(210.0))
        assert 'the link between "a" and "b": its 35 mm2' in caution.text


# IEC 60364-5-52, table B.52.14 (from memory): 0.71 and 0.50 at 50 and 60 degC for 70 degC;
# 35 mm2 carry 160 A in air of 30 degC
@pytest.mark.parametrize(
    ("air_C", "swing_K", "limit_A"),
    [(60.0, 0.0, 80.0), (50.0, 10.0, 80.0), (50.0, 0.0, 113.1), (20.0, 0.0, None)],
)
def test_in_warm_air_a_cable_may_carry_less(air_C, swing_K, limit_A):
    one = replace(affine("a", 1e-3, 500.0), lead_area_mm2=35.0)
    bank = bank_of(one, load=steady(120.0), duration_s=1800.0)
    caution = found(replace(bank, temperature_K=air_C + ZERO_C_K, swing_K=swing_K)).get(
        "cable overloaded"
    )
    assert (caution is None) == (limit_A is None)
    if caution:
        assert caution.limit == approx(limit_A, rel=1e-3)
        # with insulation for 105 degC: 210 A sqrt(45 / 75) = 163 A at 60 degC
        assert caution.severity == "warning"
        assert f"in air of {air_C + swing_K:.1f} degrees C" in caution.text


def test_a_fuse_is_held_against_its_cable_in_warm_air():
    # 10 mm2 with 105 degC: 90 A, at 70 degC sqrt(35 / 75) of it, 61.5 A
    one = replace(affine("a", 1e-3, 500.0), lead_area_mm2=10.0, fuse_A=80.0)
    bank = bank_of(one, load=steady(5.0), duration_s=600.0)
    assert "fuse too large for its cable" not in found(bank)
    caution = found(replace(bank, temperature_K=70.0 + ZERO_C_K))["fuse too large for its cable"]
    assert (caution.severity, caution.limit) == ("warning", approx(61.5, abs=0.05))

"""Every answer of the lesson against Kirchhoff's laws and counted charge, worked out here.

Sources: Kirchhoff's two laws; Millman's theorem for sources in parallel; charge = capacity x state
of charge. Resistances by hand: four cells of 0.7 mohm, 1.2 mohm of straps, the lead. The rise of a
cell's resistance near empty still adds 0.06 % when it is full: tolerances are 1e-3 for that.
"""

import math

import pytest
from lesson_grid import BY_KEY, answer, at, places
from pytest import approx

from bankSim.screens.lesson import by_resistance, currents_add, surge
from bankSim.screens.lesson.banks import solve

INSIDE_OHM = 4 * 0.7e-3 + 1.2e-3


@pytest.mark.parametrize("count", [2, 3, 4, 5, 6])
def test_equal_batteries_share_equally_and_meet_millmans_voltage(count):
    facts = answer("currents-add", float(count)).facts
    assert facts["each_A"] == approx(60.0 / count, rel=1e-9)
    assert facts["total_A"] == approx(60.0, rel=1e-9)
    rest_V = facts["alone_V"] + 60.0 * (INSIDE_OHM + 2.0e-3)  # one alone: V = E - I R
    assert facts["bus_V"] == approx(
        rest_V - 60.0 * (INSIDE_OHM + 2.0e-3) / count, abs=1e-3 * 60.0 * INSIDE_OHM
    )


def test_voltages_do_not_add():
    facts = answer("currents-add", 6.0).facts
    single = solve(currents_add.text_of(1)).batteries[0]
    assert facts["bus_V"] < 4 * 3.7
    assert single.share_at_start == approx(1.0)


@pytest.mark.parametrize("far_m", places("by-resistance"))
def test_the_first_instant_is_the_current_divider(far_m):
    facts = answer("by-resistance", far_m).facts
    bank = solve(by_resistance.text_of(far_m)).scenario.bank
    near, far = (INSIDE_OHM + battery.lead_ohm for battery in bank.batteries)
    assert facts["near_first_A"] == approx(100.0 * far / (near + far), rel=1e-3)
    assert facts["near_A"] + facts["far_A"] == approx(100.0, rel=1e-6)  # KCL over the minute
    assert facts["near_mohm"] == approx(1e3 * near, rel=1e-3)


def test_the_long_cable_has_the_resistance_of_its_class():
    # IEC 60228, class 5, 25 mm2: 0.780 ohm/km at 20 degC (from memory); 25 degC is 2 % more
    longer, shorter = (answer("by-resistance", m).facts["far_mohm"] for m in (6.0, 0.5))
    assert (longer - shorter) / (2 * 5.5) == approx(0.780 * 1.02, rel=0.02)


@pytest.mark.parametrize("far_m", places("by-resistance"))
def test_cells_that_sag_even_the_first_minute_out(far_m):
    facts = answer("by-resistance", far_m).facts
    assert 50.0 - 1e-6 <= facts["near_A"] <= facts["near_first_A"] + 1e-6


@pytest.mark.parametrize("old_Ah", places("by-capacity"))
def test_both_give_what_they_hold(old_Ah):
    facts = answer("by-capacity", old_Ah).facts
    # empty at 2.5 V under load: at most 1.5 % is left; the label holds 0.2 % efficiency and more
    assert facts["old_Ah"] == approx(old_Ah, rel=0.015)
    assert facts["new_Ah"] == approx(100.0, rel=0.015)
    assert facts["whole"] == approx(100.0 * old_Ah / (old_Ah + 100.0), abs=0.5)


def test_at_first_the_divider_decides_there_too():
    # 0.8 mohm cells on a lead of 1 mohm against 0.7 mohm cells on 2 mohm
    old, new = 4 * 0.8 + 1.2 + 1.0, 4 * 0.7 + 1.2 + 2.0
    facts = answer("by-capacity", 60.0).facts
    assert facts["high"] == approx(100.0 * new / (old + new), rel=1e-3)


@pytest.mark.parametrize("low", places("weakest-cell"))
def test_the_weakest_cell_decides_the_charge(low):
    facts = answer("weakest-cell", low).facts
    assert facts["B_Ah"] == approx(100.0 - low, abs=0.6)  # cut out at 2.5 V under load, not at 0
    assert facts["B_Ah"] <= 100.0 - low
    assert facts["stranded_Ah"] == approx(3 * low / 4, abs=0.02)  # three cells hold low % more
    assert facts["gap_s"] >= -1.0


@pytest.mark.parametrize("load_A", places("carries-all"))
def test_the_other_one_carries_the_whole_load(load_A):
    facts = answer("carries-all", load_A).facts
    assert facts["after_A"] == approx(load_A, rel=1e-9)  # KCL: nobody else is left
    assert facts["before_A"] < load_A
    assert bool(facts["follows"]) == (load_A > 120.0)
    if facts["follows"]:
        assert facts["later_s"] == approx(1.0, abs=1e-6)  # the rule's own delay


@pytest.mark.parametrize("release_V", places("surge"))
def test_the_surge_is_the_diodes_volts_over_both_paths(release_V):
    facts = answer("surge", release_V).facts
    result = solve(surge.text_of(release_V))
    row = int((result.trace[:, 0] < facts["time_s"]).sum())
    after_A = (facts["other_A"], facts["after_A"])
    both_ohm = sum(surge.path_ohm(result, place, row, after_A[place]) for place in (0, 1))
    # the load is constant, so dI = 0.7 V / (R_A + R_B); R by mean state of charge, hence 5 %
    assert facts["after_A"] - facts["before_A"] == approx(0.7 / both_ohm, rel=0.05)
    assert facts["after_A"] + facts["other_A"] == approx(40.0, rel=1e-6)


def test_joining_is_the_difference_over_both_paths():
    result = solve(surge.joined_text(0.3))
    pair, battery = result.joining.pairs[0], result.scenario.bank.batteries[1]
    full = INSIDE_OHM + 2.0e-3
    other = 4 * float(battery.cells[0].ohmic_ohm(0.5)) + 1.2e-3 + 2.0e-3  # it is charged
    volts = [4 * float(battery.cells[0].ocv_V(level)) for level in (1.0, 0.3)]
    assert pair.difference_V == approx(volts[0] - volts[1], abs=1e-6)
    assert pair.first_A == approx((volts[0] - volts[1]) / (full + other), rel=1e-3)


def test_all_together_gives_the_usable_charge_while_limits_are_kept():
    usable_Ah = 100.0 + 0.8 * 100.0 * 0.94 + 60.0  # the old one as far as its low cell
    for load_A, found in at("what-comes-out"):
        facts = found.facts
        assert facts["sum_Ah"] == approx(facts["total_Ah"], rel=1e-4)
        assert facts["total_Ah"] == approx(load_A * facts["runtime_s"] / 3600.0, rel=1e-4)
        assert facts["total_Ah"] <= usable_Ah
        if load_A <= 160.0:
            assert facts["total_Ah"] == approx(usable_Ah, rel=0.04)


def test_the_small_one_is_out_first_where_the_divider_puts_it_above_its_limit():
    # R of new, old, small: cells of 0.7, 1.0, 0.7 mohm; leads of 2, 2, 1 mohm
    ohm = [4 * 0.7 + 3.2, 4 * 1.0 + 3.2, 4 * 0.7 + 2.2]
    part = (1 / ohm[2]) / math.fsum(1 / one for one in ohm)
    for load_A, found in at("what-comes-out"):
        start_A = part * load_A
        if start_A > 75.0:  # its limit is 70 A, and cells differ a little in their first second
            assert "Order: small after 1.00 s" in found.headline  # the rule's own delay
        elif start_A < 65.0:
            assert "small after 1.00 s" not in found.headline


def test_the_question_is_about_where_the_slider_starts():
    for key, told in {
        "by-resistance": "3 m each way",
        "by-capacity": "holds 60 Ah",
        "carries-all": "takes 150 A",
        "surge": "below 3.40 V",
        "what-comes-out": "takes 80 A",
    }.items():
        step = BY_KEY[key]
        assert told in step.text
        assert any(float(word) == step.slider.start for word in told.split() if word[0].isdigit())
    assert 100.0 - BY_KEY["weakest-cell"].slider.start == 92.0

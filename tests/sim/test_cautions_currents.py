"""Cautions about labels, fuses, cables and faults."""

from dataclasses import replace

import numpy as np
import pytest
from pytest import approx
from simple_banks import affine, affine_cell, bank_of, battery, run, steady, stepped

from bankSim.model.bank import Layout, Wiring
from bankSim.model.charger import Charger, Stage
from bankSim.model.rule import Blocks, Release, Rule, Watch
from bankSim.sim.cautions.currents import largest_rms
from bankSim.sim.cautions.faults import fault_A, short_at_terminal_A
from bankSim.sim.cautions.joined import DO_NOT
from bankSim.sim.cautions.sharing import excess_share


def topics(bank):
    return {caution.topic: caution for caution in run(bank).cautions}


def one(**label):
    return replace(affine("a", 5e-3), **label)


def test_above_the_label_for_how_long_and_what_to_do():
    bank = bank_of(one(continuous_discharge_A=40.0), load=stepped([0, 900], [50.0, 10.0]))
    found = topics(bank)["discharge above label"]
    assert (found.severity, found.value, found.limit) == ("danger", approx(50.0), 40.0)
    assert "15.0 min in all" in found.text
    assert found.advice


def test_seconds_above_the_label_are_a_warning_unless_far_above():
    for amperes, severity in ((60.0, "warning"), (90.0, "danger")):
        load = stepped([0, 900, 904], [10.0, amperes, 10.0])
        bank = bank_of(one(continuous_discharge_A=40.0), load=load)
        assert topics(bank)["discharge above label"].severity == severity


@pytest.mark.parametrize(("amperes", "severity"), [(44.0, "warning"), (50.0, "danger")])
def test_slightly_above_the_label_is_a_warning(amperes, severity):
    bank = bank_of(one(continuous_discharge_A=40.0), load=steady(amperes))
    assert topics(bank)["discharge above label"].severity == severity


def test_an_assumed_limit_is_a_warning():
    label = {"continuous_discharge_A": 40.0, "limits_assumed": ("continuous_discharge_A",)}
    found = topics(bank_of(one(**label), load=steady(50.0)))["discharge above label"]
    assert found.severity == "warning"
    assert "assumed" in found.text


# several times an assumed limit is too much for any label: own choice, 3 times
@pytest.mark.parametrize(
    ("seconds", "amperes", "severity"),
    [(900, 115.0, "warning"), (900, 125.0, "danger"), (5, 125.0, "warning"), (5, 250.0, "danger")],
)
def test_far_above_an_assumed_limit_is_a_danger(seconds, amperes, severity):
    label = {"continuous_discharge_A": 40.0, "limits_assumed": ("continuous_discharge_A",)}
    bank = bank_of(one(**label), load=stepped([0, 900, 900 + seconds], [10.0, amperes, 10.0]))
    assert topics(bank)["discharge above label"].severity == severity


def test_a_battery_that_others_push_above_its_label_is_not_told_to_use_less_power():
    # 0.6 V x 0.6 over 4 mohm: 90 A between the two, with a little from the load on top
    label = {"continuous_discharge_A": 40.0, "continuous_charge_A": 200.0}
    pair = [replace(affine(n, 2e-3, z=z), **label) for n, z in (("full", 0.9), ("low", 0.3))]
    found = topics(bank_of(*pair, load=stepped([0, 60], [50.0, 0.0])))["discharge above label"]
    assert "from battery to battery" in found.advice
    assert "less power" not in found.advice


def test_the_first_connection_is_not_told_twice():
    label = {"continuous_charge_A": 10.0, "continuous_discharge_A": 100.0}
    pair = [replace(affine(n, z=z), **label) for n, z in (("full", 0.9), ("low", 0.5))]
    found = topics(bank_of(*pair, duration_s=86_400))
    assert found["current when first connected"].severity == "danger"
    assert "charge above label" not in found
    # a charge that follows is told
    later = stepped([0, 50_000], [0.0, -60.0])
    assert "charge above label" in topics(bank_of(*pair, load=later, duration_s=86_400))


def test_fuse_that_carries_too_much_for_a_minute_or_a_second():
    bank = bank_of(one(fuse_A=45.0), load=steady(50.0))
    assert topics(bank)["fuse overloaded"].severity == "danger"
    short = replace(bank, loads=(stepped([0, 900, 905], [10.0, 50.0, 10.0]),))
    assert topics(short)["fuse overloaded"].severity == "warning"
    # 1.04 times the rating: ISO 8820-3 asks a fuse to bear 1.1 times for 100 h (from memory)
    a_little = topics(replace(bank, loads=(steady(47.0),)))["fuse overloaded"]
    assert a_little.severity == "warning"
    assert "gets hot" in a_little.text


# Common practice, from memory: 1.1 times its rating a fuse carries for hours, 1.35 times for
# minutes, twice for seconds up to a minute, six times for less than a second.
@pytest.mark.parametrize(
    ("load", "after_s"),
    [
        (steady(33.0), None),
        (steady(43.0), 600.0),
        (stepped([0, 900, 1200], [10.0, 43.0, 10.0]), None),  # 1.43 times for 5 minutes only
        (stepped([0, 900, 1000], [0.0, 66.0, 0.0]), 900.0 + 60.0 * (60.0 / 66.0) ** 2),
        (stepped([0, 900, 903], [0.0, 270.0, 0.0]), 900.0 + (180.0 / 270.0) ** 2),
    ],
)
def test_a_fuse_that_would_blow_is_told_before_all_others(load, after_s):
    bank = bank_of(one(fuse_A=30.0), affine("b", 5.0), load=load)
    first = run(bank).cautions[0]
    if after_s is None:
        assert "fuse would blow" not in topics(bank)
        return
    assert (first.topic, first.severity, first.limit) == ("fuse would blow", "danger", 30.0)
    # a window that begins before the step reaches the mean of its square as long after it; those
    # that begin or end at a row are looked at: late by a window at most
    told_s = time_of(first.text)
    assert after_s * 0.98 <= told_s <= after_s * 1.02 + 60.0
    assert '"b" would then carry all' in first.text
    assert "never blow in this prediction" in first.text
    assert "fuse overloaded" not in topics(bank)


def time_of(text):
    value, unit = text.split("would blow after about ")[1].split(":")[0].split()
    return float(value) * {"s": 1.0, "min": 60.0, "h": 3600.0}[unit]


# 70 A, of which each has half: 30 A does not bear 35 A for long, let alone 70 A
@pytest.mark.parametrize(("other_A", "told"), [(30.0, True), (60.0, False), (None, False)])
def test_fuses_that_follow_one_another(other_A, told):
    pair = [one(fuse_A=25.0), replace(affine("b", 5e-3), fuse_A=other_A)]
    text = topics(bank_of(*pair, load=steady(70.0)))["fuse would blow"].text
    assert ('"b" would then carry all, and its fuse would follow' in text) == told


def test_a_main_fuse_that_would_blow_leaves_nothing():
    bank = bank_of(affine(), load=steady(70.0), wiring=Wiring(main_fuse_A=40.0))
    text = topics(bank)["fuse would blow"].text
    assert "nothing would then come out of the bank" in text


def test_what_makes_a_current_smaller_fits_what_drives_it():
    def advice(*batteries, **more):
        bank = bank_of(*batteries, **more)
        return next(c.advice for c in run(bank).cautions if c.topic.startswith("fuse "))

    assert "less power" in advice(one(fuse_A=45.0), load=steady(50.0))
    low = replace(affine(z=0.1), fuse_A=45.0)
    mains = Charger("mains", (Stage(14.0),), limit_A=50.0)
    assert "smaller charger" in advice(low, chargers=(mains,))
    # a load that feeds back, without any charger
    assert advice(low, load=steady(-50.0)).startswith("Charge with less; a larger fuse")
    # 0.36 V over 3 mohm: 120 A from battery to battery beside a load of 10 A
    pair = [replace(affine("a", 1.5e-3), fuse_A=60.0), affine("b", 1.5e-3, z=0.3)]
    assert "only when their voltages match; a larger" in advice(*pair, load=steady(10.0))


def test_a_lone_battery_is_not_told_of_shares():
    load = steady(50.0)
    lone = topics(bank_of(one(continuous_discharge_A=40.0), load=load))
    assert "shares" not in lone["discharge above label"].advice
    two = [replace(affine(name), continuous_discharge_A=20.0) for name in ("a", "b")]
    found = run(bank_of(*two, load=load)).cautions
    assert any("even out the shares" in caution.advice for caution in found)


@pytest.mark.parametrize("charger", [True, False])
def test_a_surge_names_a_charger_only_where_there_is_one(charger):
    # 40 A into one that blocks above 15 A of charge and comes back when another is far below it
    rule = Rule(Watch.CHARGE_CURRENT, False, 15.0, 10.0, Blocks.CHARGE, Release(5.0, 600.0))
    back = replace(affine("back", 2e-3, z=0.5, rules=[rule]), continuous_charge_A=16.0)
    other = affine("stay", 2e-3, z=0.5)
    amperes = [0.0, -40.0, 0.0]
    load = stepped([0, 20, 700], [0.0, 0.0, 0.0] if charger else amperes)
    mains = (Charger("mains", (Stage(14.0),), limit_A=40.0),) if charger else ()
    bank = bank_of(back, other, load=load, chargers=mains, duration_s=3600)
    told = " ".join(c.advice for c in run(bank).cautions)
    assert ("smaller charger" in told) is charger
    assert ("Charge with less" in told) is not charger


def test_what_flows_after_one_has_come_back_is_not_cured_by_connecting_later():
    # 30 A at first, more after 10 min in which the other one alone feeds the load: 35 A or so
    rule = Rule(Watch.DISCHARGE_CURRENT, False, 20.0, 10.0, Blocks.DISCHARGE, Release(5.0, 600.0))
    back = replace(affine("back", 2e-3, rules=[rule]), fuse_A=25.0)
    load = stepped([0, 20, 700], [0.0, 10.0, 0.0])
    found = topics(bank_of(back, affine("stay", 2e-3, z=0.7), load=load, duration_s=700))
    advice = found["fuse overloaded"].advice
    assert 'from battery to battery after "back" has come back. Use less power' in advice
    assert "connect them only" not in advice
    alone = replace(back, fuse_A=None, continuous_discharge_A=25.0, rules=())
    first = topics(bank_of(alone, affine("stay", 2e-3, z=0.7), load=steady(10.0)))
    assert "connect them only" in first["discharge above label"].advice


def test_batteries_that_must_not_be_joined_are_told_no_more_than_that():
    # 26.8 V of two elements against 13.4 V of one: 1.3 kA through 10 mohm
    high = replace(battery("high", *[affine_cell()] * 2), fuse_A=150.0)
    found = topics(bank_of(high, affine("low"), load=steady(10.0), duration_s=60))
    assert found["fuse would blow"].advice == DO_NOT


def test_cable_against_the_table_of_its_area():
    # 10 mm2: 65 A with insulation for 70 degC, 90 A with 105 (ISO 10133, from memory)
    for amperes, severity in ((60.0, None), (75.0, "warning"), (95.0, "danger")):
        found = topics(bank_of(one(lead_area_mm2=10.0), load=steady(amperes)))
        caution = found.get("cable overloaded")
        assert (caution.severity if caution else None) == severity
    # half a minute of 150 A in 5 minutes: 150 sqrt(0.1) = 47 A
    burst = stepped([0, 900, 930], [0.0, 150.0, 0.0])
    assert "cable overloaded" not in topics(bank_of(one(lead_area_mm2=10.0), load=burst))


def test_links_carry_what_lies_beyond_them():
    def found(layout):
        wiring = Wiring(layout, link_ohm=1e-4, link_area_mm2=10.0)
        batteries = [affine(name) for name in "abc"]
        return topics(bank_of(*batteries, load=steady(105.0), wiring=wiring))

    # b and c lie beyond the first link: 70 A and a little less
    assert 'link between "a" and "b"' in found(Layout.SAME_END)["cable overloaded"].text
    assert found(Layout.SAME_END)["cable overloaded"].value == approx(70.0, rel=0.05)


def test_main_conductors_are_looked_at():
    wiring = Wiring(main_area_mm2=6.0, main_fuse_A=80.0)
    found = topics(bank_of(affine(), affine("b"), load=steady(70.0), wiring=wiring))
    assert found["cable overloaded"].text.startswith("The main lead carries 70.0 A")
    assert found["fuse too large for its cable"].limit == 60.0  # 6 mm2 at 105 degC
    assert "the main lead" in found["fuse too large for its cable"].text


# 60 A is what 6 mm2 carry at 105 degC; ABYC E-11: a fuse of up to 1.5 times that (from memory)
@pytest.mark.parametrize(("fuse_A", "severity"), [(85.0, "warning"), (95.0, "danger")])
def test_a_fuse_far_too_large_for_its_cable_is_a_danger(fuse_A, severity):
    bank = bank_of(one(fuse_A=fuse_A, lead_area_mm2=6.0), load=steady(10.0))
    assert topics(bank)["fuse too large for its cable"].severity == severity


def test_a_fuse_that_suits_its_cable_is_fine():
    found = topics(bank_of(one(fuse_A=150.0, lead_area_mm2=35.0), load=steady(100.0)))
    assert not {"fuse too large for its cable", "cable overloaded", "fuse overloaded"} & set(found)


def test_root_mean_square_over_a_window():
    time_s = np.array([0.0, 100.0, 100.0, 110.0, 110.0, 1000.0])
    current = np.array([10.0, 10.0, 50.0, 50.0, 0.0, 0.0])
    assert largest_rms(time_s, current, 10.0) == approx(50.0)
    assert largest_rms(time_s, current, 20.0) == approx(np.sqrt((2500 + 100) / 2))
    assert largest_rms(time_s, current, 1e5) == approx(np.sqrt(35_000 / 1000))
    ramp = largest_rms(np.array([0.0, 6.0]), np.array([0.0, 6.0]), 6.0)
    assert ramp == approx(np.sqrt(12.0))  # mean of t^2 over 0..6
    assert largest_rms(np.array([0.0]), np.array([1.0]), 10.0) == 0.0


# Ohm's law: 13.4 V full, whoever feeds more
def test_fault_current_of_the_others_through_the_lead():
    # two of 4 + 1 mohm in parallel, then the faulted lead of 2 mohm; "c" itself gives 268 A
    others = [affine(name, 4e-3, lead=1e-3) for name in "ab"]
    bank = bank_of(*others, affine("c", 50e-3, lead=2e-3))
    assert fault_A(bank, 2) == approx(13.4 / (2.5e-3 + 2e-3))


def test_fault_current_right_behind_a_fuse_sees_no_lead():
    # 4 mohm inside, a lead of 20 mohm, of which the 100 A fuse has 0.080 V / 100 A = 0.8 mohm
    long = replace(affine("a", 4e-3, lead=20e-3), fuse_A=100.0)
    bank = bank_of(long, affine("b", 4e-3, lead=20e-3))
    assert fault_A(bank, 0) == approx(13.4 / 4.8e-3)
    assert fault_A(bank, 1) == approx(13.4 / 4e-3)  # without a fuse: at its bare terminal
    found = topics(bank)["short circuit beyond a fuse"]
    assert (found.severity, found.value) == ("warning", approx(13.4 / 4.8e-3))
    # a lead of 0.5 mohm has no more than that in its fuse
    short = replace(long, lead_ohm=0.5e-3)
    assert fault_A(bank_of(short), 0) == approx(13.4 / 4.5e-3)


# superposition (Ohm's law and Kirchhoff's current law at a node held at 0 V)
def test_a_short_at_a_terminal_is_fed_from_both_sides():
    # by hand: 13.4 V / 4 mohm = 3.35 kA of its own, and 13.4 V / (4 + 1 + 1 mohm) = 2.23 kA
    pair = [affine(name, 4e-3, lead=1e-3) for name in "ab"]
    bank = bank_of(*pair)
    assert short_at_terminal_A(bank, 0) == approx(3350.0 + 2233.33, abs=0.01)
    found = topics(bank)["no fuse at a battery"]
    assert found.value == approx(5583.33, abs=0.01)
    assert "about 5.6 kA, from the battery itself and from the others" in found.text
    assert "break about 3.4 kA" in found.advice  # what a fuse sees: the larger side
    assert found.value > 2 * 13.4 / 5e-3  # a short of the main lead, 5.36 kA
    alone = topics(bank_of(pair[0]))["no fuse at a battery"]
    assert (alone.value, "others" in alone.text) == (approx(3350.0), False)


def test_a_short_against_the_nodes_of_the_whole_network():
    # nodal matrix of three unlike batteries: nodes are their terminals and the bar
    inside, leads = np.array([3e-3, 7e-3, 12e-3]), np.array([2e-3, 0.5e-3, 4e-3])
    levels = [affine(f"b{k}", ohm, lead=lead) for k, (ohm, lead) in
              enumerate(zip(inside, leads, strict=True))]  # fmt: skip
    for short in range(3):
        matrix, right = np.zeros((4, 4)), np.zeros(4)
        for k in range(3):
            matrix[k, k] = 1 / inside[k] + 1 / leads[k] + (1e9 if k == short else 0.0)
            matrix[k, 3] = matrix[3, k] = -1 / leads[k]
            matrix[3, 3] += 1 / leads[k]
            right[k] = 13.4 / inside[k]
        into_fault_A = 1e9 * np.linalg.solve(matrix, right)[short]
        assert short_at_terminal_A(bank_of(*levels), short) == approx(into_fault_A, rel=1e-5)


def test_where_many_meet_a_short_draws_more_than_at_a_terminal():
    # by hand, ten of 2 + 4 mohm: at a terminal 6.7 kA + 13.4 V / (6 / 9 + 4 mohm) = 9.57 kA;
    # where their leads meet 10 x 13.4 V / 6 mohm = 22.3 kA
    bank = bank_of(*(affine(f"b{k}", 2e-3, lead=4e-3) for k in range(10)))
    found = topics(bank)["no fuse at a battery"]
    assert "draw about 9.6 kA" in found.text
    assert "where their leads meet, about 22 kA" in found.text
    assert found.value == approx(22_333.3, rel=1e-4)


def test_missing_fuses_are_told_once_for_all():
    bank = bank_of(affine("a"), replace(affine("b"), fuse_A=100.0), affine("c"))
    found = topics(bank)["no fuse at a battery"]
    assert '"a" and "c"' in found.text
    assert found.severity == "warning"
    assert found.value == approx(3 * 13.4 / 5e-3)  # by hand: 8.04 kA, all at one node
    small = bank_of(affine("a", 0.2), affine("b", 0.2))
    assert topics(small)["no fuse at a battery"].severity == "note"


def test_one_battery_behind_a_main_fuse_is_fused():
    assert "no fuse at a battery" not in topics(bank_of(affine(), wiring=Wiring(main_fuse_A=50.0)))
    assert "no fuse at a battery" in topics(bank_of(affine()))


@pytest.mark.parametrize(
    ("ohm", "severity"),
    # 13.4 V: 670 A, 1.3 kA, 2.7 kA, 27 kA
    [(20e-3, None), (10e-3, "note"), (5e-3, "warning"), (0.5e-3, "danger")],
)
def test_fault_current_against_what_fuses_break(ohm, severity):
    pair = [replace(affine(name, ohm), fuse_A=100.0) for name in "ab"]
    found = topics(bank_of(*pair)).get("short circuit beyond a fuse")
    assert (found.severity if found else None) == severity


@pytest.mark.parametrize(
    ("count", "same", "opposite"),
    # nodal solutions, 5 mohm and 0.5 mohm links, of 100 A
    [(2, 54.545, 50.0), (3, 42.708, 34.375), (4, 38.540, 27.273), (6, 36.275, 21.354)],
)
def test_excess_share_of_a_row(count, same, opposite):
    bank = bank_of(*(affine(f"b{k}", 5e-3) for k in range(count)), wiring=Wiring(link_ohm=0.5e-3))
    assert excess_share(bank, Layout.SAME_END) == approx(same * count / 100 - 1, abs=2e-5 * count)
    expected = approx(opposite * count / 100 - 1, abs=2e-5 * count)
    assert excess_share(bank, Layout.OPPOSITE_ENDS) == expected
    assert excess_share(bank, Layout.EQUAL_LEADS) == 0.0


def test_uneven_sharing_names_the_better_layout():
    four = [affine(name, 5e-3) for name in "abcd"]
    bank = bank_of(*four, wiring=Wiring(Layout.SAME_END, link_ohm=0.5e-3))
    found = topics(bank)["uneven sharing by wiring"]
    assert found.value == approx(54.2, abs=0.1)
    assert "opposite ends the largest would be 9.1 % above" in found.text
    assert "uneven sharing by wiring" not in topics(
        replace(bank, wiring=Wiring(Layout.OPPOSITE_ENDS, link_ohm=0.5e-3))
    )
    long = replace(bank, wiring=Wiring(Layout.OPPOSITE_ENDS, link_ohm=2e-3))
    assert "equal leads to common bars" in topics(long)["uneven sharing by wiring"].advice
    assert "uneven sharing by wiring" not in topics(bank_of(*four))

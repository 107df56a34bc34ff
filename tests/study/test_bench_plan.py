import math
import tomllib
from dataclasses import replace

import numpy as np
import pytest
from pytest import approx

from bankSim.scenario.read import read_scenario
from bankSim.study.bench_plan import last_fall_s, plan_test, repeats
from bankSim.study.bench_scenario import (
    PlanError,
    Wanted,
    changed,
    charged,
    check_wanted,
    hold_back_s,
    of_file,
    of_label,
    toml_text,
)
from bankSim.study.blocks import threads

AFFINE = """
title = "straight"
[[battery]]
name = "a"
cells_in_series = 1
lead_mohm = 0.0
internal_mohm = 0.0
protection = [{ watches = "battery voltage", trips_below = 10.4, blocks = "discharge" }]
[battery.cell]
ocv_table = "line.csv"
capacity_Ah = { value = 10.0, sd = 0.5 }
ohmic_mohm = 0.0
[[battery]]
name = "b"
chemistry = "LFP"
cells_in_series = 4
rated_capacity_Ah = 20.0
[[load]]
name = "lamp"
current_A = 5.0
[[charger]]
name = "mains"
limit_A = 5.0
hold_V = 14.0
"""


@pytest.fixture
def file(tmp_path):
    (tmp_path / "line.csv").write_text("state_of_charge,voltage_V\n0,10\n1,14\n")
    place = tmp_path / "straight.toml"
    place.write_text(AFFINE)
    return place


@pytest.fixture(scope="module")
def workers():
    with threads(1) as some:
        yield some


def test_constant_current_out_of_a_straight_battery(file, workers):
    # closed form: V = 10 + 4 z falls to 10.4 V at z = 0.1, after 9 Ah: 1.8 h at 5 A; it falls by
    # 4 V x 5 A / 10 Ah = 2 V/h, 33.3 mV a minute, 10 mV in 18 s
    plan = plan_test(of_file(file, Wanted(battery="a")), workers, draws=400)
    assert plan.middle_h == approx(1.8, rel=1e-4)
    assert plan.middle_Ah == approx(9.0, rel=1e-4)
    assert plan.knee.slope_mV_per_min == approx(100.0 / 3.0, rel=1e-3)
    assert plan.knee.battery_s == approx(18.0, rel=1e-3)
    assert plan.knee.cell_s == approx(18.0, rel=1e-3)
    assert plan.knee.voltage_V == approx(10.4, abs=1e-4)
    assert (plan.mean_A, plan.end_A) == approx((5.0, 5.0))
    assert (plan.capacity_Ah, plan.ended_by) == (approx(10.0), "battery voltage")
    assert (plan.course_h[0], plan.course_h[-1]) == approx((0.0, 1.8), rel=1e-4)
    assert (plan.course_V[0], plan.course_V[-1]) == approx((14.0, 10.4), abs=1e-3)
    assert plan.shortest_on_s is None
    assert plan.interval_s is not None
    # capacity 10 +- 0.5 Ah, normal: 5 and 95 % points 1.645 standard deviations away. The start
    # state of charge may be less than full (98 to 100 %), which takes up to 2 of 90 points more
    low, middle, high = plan.at(5.0), plan.at(50.0), plan.at(95.0)
    assert (high - low) / 2.0 == approx(1.645 * 0.05 * 1.8, rel=0.15)
    assert 1.8 * (1.0 - 2.0 / 90.0) <= middle <= 1.8 * 1.005
    assert plan.cut_out_part == 1.0


def test_the_same_seed_gives_the_same_plan(file, workers):
    scenario = of_file(file, Wanted(battery="a", load_A=10.0))
    one, same, other = (plan_test(scenario, workers, draws=40, seed=s) for s in (3, 3, 4))
    assert one.duration_h == same.duration_h
    assert one.duration_h != other.duration_h


def test_lead_acid_gives_its_label_in_20_hours_and_peukert_at_more(workers):
    # the label of lead-acid is that of the 20 h discharge to 1.75 V a cell
    label = Wanted(rated_Ah=100.0, chemistry="AGM", cells=6, load_A=5.0)
    slow = plan_test(of_label(label), workers, draws=20)
    assert slow.middle_h == approx(20.0, rel=0.03)
    assert slow.knee.voltage_V == approx(10.5, abs=0.01)
    # Peukert, t = 20 h (100 Ah / (20 h x 25 A))^k: 3.08 to 2.84 h for 1.16 to 1.21, the exponents
    # that such a battery has on average between 1 and 20 h
    fast = plan_test(of_label(replace(label, load_A=25.0)), workers, draws=20)
    assert 20.0 * 0.2**1.23 < fast.middle_h < 20.0 * 0.2**1.14
    # usual correction for lead-acid: 0.6 % for each kelvin at the 10 to 20 h current
    assert slow.per_degree_percent == approx(0.6, abs=0.15)
    # two tests differ by what counts as full and by a room 2 K warmer or colder
    assert slow.repeat_sd_percent == approx(math.hypot(0.4714, 2.0 * slow.per_degree_percent), 1e-4)
    assert slow.rest_s == approx(5.0 * 3600.0 / 0.67696, rel=1e-3)


def test_a_duty_load_is_on_for_its_on_time(file, workers):
    text = AFFINE.replace("current_A = 5.0", "current_A = 5.0\nduty = { on_min = 3, off_min = 2 }")
    text = text.replace("10.4,", "10.42,")
    file.write_text(text)
    plan = plan_test(of_file(file, Wanted(battery="a")), workers, draws=20)
    assert plan.shortest_on_s == approx(180.0, abs=1.0)
    assert plan.safe_interval_s == approx(0.9, abs=0.01)
    # 8.95 Ah are 107.4 min of on-time: 35 whole cycles of 5 min, and 2.4 min
    assert plan.middle_h == approx((35 * 5.0 + 2.4) / 60.0, rel=1e-4)


def test_the_largest_current_is_told_wherever_it_flows(file, workers):
    # 25 A for the first 12 min, 5 A after that: neither mean nor end tells what a shunt must bear
    heavy = '\n[[load]]\nname = "motor"\ncurrent_A = 20.0\nactive_h = [[0.0, 0.2]]\n[[charger]]'
    file.write_text(AFFINE.replace("\n[[charger]]", heavy))
    plan = plan_test(of_file(file, Wanted(battery="a")), workers, draws=10)
    assert (plan.peak_A, plan.end_A) == approx((25.0, 5.0))
    # of its 10 Ah 9 come out above 10.4 V: 5 Ah in 12 min, 4 Ah in 48 min
    assert (plan.middle_h, plan.mean_A) == approx((1.0, 9.0), rel=1e-3)


def test_no_cut_out_is_told(file, workers):
    with pytest.raises(PlanError, match="does not cut out within 240 h"):
        plan_test(of_file(file, Wanted(battery="a", load_A=0.01)), workers, draws=20)
    unguarded = AFFINE.replace('trips_below = 10.4, blocks = "discharge"',
                               'trips_above = 14.5, blocks = "charge"')  # fmt: skip
    file.write_text(unguarded)
    with pytest.raises(PlanError, match="blocks discharge"):
        plan_test(of_file(file, Wanted(battery="a")), workers, draws=20)


@pytest.mark.parametrize(
    ("wanted", "told"),
    # 14 V behind 10 mohm: no more than 14 / 0.01 = 1,400 A, and 14^2 / 0.04 = 4,900 W
    [
        (Wanted(battery="a", load_A=100_000.0), r"--load-A = 100,000 A: .* 1\.4 kA at once"),
        (Wanted(battery="a", load_W=5000.0), r"--load-W = 5,000 W: .* 4\.9 kW at once"),
        (Wanted(battery="a"), 'load "lamp" = 1,500 A: .* such as 2 A, which empties it in 5 h'),
    ],
)
def test_a_load_that_no_full_battery_feeds_is_named(file, workers, wanted, told):
    text = AFFINE.replace("lead_mohm = 0.0", "lead_mohm = 10.0", 1)
    file.write_text(text.replace("current_A = 5.0", "current_A = 1500.0"))
    with pytest.raises(PlanError, match=told):
        plan_test(of_file(file, wanted), workers, draws=20)


def test_one_battery_is_taken_out_of_its_bank(file):
    scenario = of_file(file, Wanted(battery="b", load_W=60.0, starts_at="08:15"))
    assert [one.name for one in scenario.bank.batteries] == ["b"]
    assert not scenario.bank.chargers
    assert scenario.bank.starts_at_s == 8.25 * 3600.0
    assert scenario.bank.stop_when_empty
    assert [one.exponent for one in scenario.bank.loads] == [0.0]
    mine, whole = scenario.bank.batteries[0], read_scenario(file).bank.batteries[1]
    assert [cell.charge_C for cell in mine.cells] == [cell.charge_C for cell in whole.cells]
    assert mine.rules == whole.rules


def test_a_test_begins_with_a_full_battery_whatever_the_file_says():
    even = {"name": "a", "state_of_charge": 0.6, "cell": {"state_of_charge": 0.6, "ohmic_mohm": 1}}
    assert charged(even) == {"name": "a", "cell": {"ohmic_mohm": 1}}
    # the fullest cell is full, the others as far below it as before
    uneven = {"state_of_charge": 0.8, "cells": [{}, {"state_of_charge": 0.85}, {"ohmic_mohm": 2}]}
    levels = [cell["state_of_charge"] for cell in charged(uneven)["cells"]]
    assert levels == approx([0.95, 1.0, 0.95])
    spread = {"state_of_charge": {"low": 0.5, "high": 0.7}, "cells": [{}, {}]}
    assert charged(spread) == spread


def test_lead_acid_without_rules_gets_the_usual_end():
    label = Wanted(rated_Ah=60.0, chemistry="flooded", cells=12, load_A=3.0)
    rules = of_label(label).bank.batteries[0].rules
    assert [rule.threshold for rule in rules] == [21.0]  # 1.75 V a cell
    assert hold_back_s(of_label(label)) == approx(3600.0)  # wells at 1/h


def test_a_document_goes_through_toml_unchanged():
    document = {
        "title": 'a "b"\n\\ \x7f é',
        "simulation": {"duration_h": 1e-3, "stop": "end"},
        "battery": [{"a b": [1, 2.5, True], "cell": {"x": {}}}],
    }
    assert tomllib.loads(toml_text(document)) == document


def test_a_change_keeps_everything_else():
    scenario = of_label(Wanted(rated_Ah=60.0, chemistry="LFP", cells=4, load_A=3.0))
    colder = changed(scenario, "surroundings", {"temperature_C": 5.0})
    assert colder.bank.temperature_K == approx(278.15)
    assert colder.bank.batteries[0].rules == scenario.bank.batteries[0].rules
    assert colder.bank.loads[0].profile_amount.tolist() == [3.0]


def test_the_last_10_mV():
    # straight fall of 5 mV a second: 2 s; the crossing lies between rows
    time = np.array([0.0, 3.0, 6.0, 9.0])
    assert last_fall_s(time, 13.0 - 0.005 * time) == approx(2.0)
    assert last_fall_s(time, np.full(4, 12.0)) == approx(9.0)


def test_repeats_follow_the_square():
    # (1.96 s / p)^2: 3.84 for s = p, 0.96 for s = p / 2, 384.2 for s = 10 p
    assert [repeats(1.0, 1.0), repeats(0.5, 1.0), repeats(10.0, 1.0)] == [4, 1, 385]


def test_repeat_spread_has_both_parts(file, workers):
    # triangle from 98 to 100 % with its peak at 100 %: sd 2 / sqrt(18) = 0.471 points
    plan = plan_test(of_file(file, Wanted(battery="a")), workers, draws=20)
    assert plan.per_degree_percent == approx(0.0, abs=1e-6)
    assert plan.repeat_sd_percent == approx(2.0 / math.sqrt(18.0))


@pytest.mark.parametrize(
    ("wanted", "told"),
    [
        (Wanted(load_A=0.0), "--load-A = 0; expected 0.001 to 100,000"),
        (Wanted(load_W=math.nan), "--load-W = nan"),
        (Wanted(rated_Ah=-1.0), "--rated-Ah = -1"),
        (Wanted(cells=0), "--cells-in-series = 0; expected 1 to 100"),
        (Wanted(temperature_C=99.0), "--temperature-C = 99"),
        (Wanted(starts_at="8"), "--starts-at = '8'; expected 00:00 to 23:59"),
        (Wanted(starts_at="24:00"), "--starts-at = '24:00'"),
    ],
)
def test_wrong_wishes_are_refused(wanted, told):
    with pytest.raises(PlanError, match=told.replace("(", r"\(")):
        check_wanted(wanted)

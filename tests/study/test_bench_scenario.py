"""The scenario of a capacity test: limits of wishes, how full cells begin, what is refused."""

import datetime
import tomllib
from dataclasses import replace
from types import SimpleNamespace

import pytest
from pytest import approx
from simple_banks import affine_cell
from study_texts import AGM, LFP, LOAD, read

from bankSim.model.cell import RelaxationPair
from bankSim.model.rule import Watch
from bankSim.study.bench_scenario import (
    PlanError,
    Wanted,
    charged,
    check_wanted,
    hold_back_s,
    of_label,
    of_scenario,
    toml_text,
)

LABEL = Wanted(rated_Ah=100.0, chemistry="LFP", cells=4, load_A=10.0)


@pytest.mark.parametrize(
    ("name", "low", "high", "said"),
    [
        ("rated_Ah", 0.01, 10_000.0, "--rated-Ah = {:g}; expected 0.01 to 10,000"),
        ("cells", 1, 100, "--cells-in-series = {:g}; expected 1 to 100"),
        ("load_A", 0.001, 100_000.0, "--load-A = {:g}; expected 0.001 to 100,000"),
        ("load_W", 0.01, 1_000_000.0, "--load-W = {:g}; expected 0.01 to 1,000,000"),
        ("temperature_C", -35.0, 60.0, "--temperature-C = {:g}; expected -35 to 60"),
    ],
)
def test_wishes_on_both_sides_of_their_limits(name, low, high, said):
    check_wanted(Wanted(**{name: low}))
    check_wanted(Wanted(**{name: high}))
    for wrong in (low - abs(low) / 10.0, high * 1.01):
        with pytest.raises(PlanError) as told:
            check_wanted(Wanted(**{name: wrong}))
        assert str(told.value) == said.format(wrong)


@pytest.mark.parametrize("clock", ["00:00", "09:59", "19:00", "23:59"])
def test_clock_times_of_a_day(clock):
    check_wanted(Wanted(starts_at=clock))
    with pytest.raises(PlanError, match="expected 00:00 to 23:59"):
        check_wanted(Wanted(starts_at=clock.replace(":", ":6")))


@pytest.mark.parametrize(
    ("battery", "levels"),
    [
        ({"cells": [{"state_of_charge": 0.7}, {"state_of_charge": 0.7}]}, [None, None]),  # as full
        ({"cells": [{"state_of_charge": 0.7}, {}]}, [0.7, 1.0]),  # none given: full
        ({"cell": {"state_of_charge": 0.6}, "state_of_charge": 0.2,
          "cells": [{}, {"state_of_charge": 0.5}]}, [1.0, 0.9]),  # that of its cells goes first
    ],
)  # fmt: skip
def test_cells_keep_their_distance_below_the_fullest(battery, levels):
    found = charged(battery)
    assert [cell.get("state_of_charge") for cell in found["cells"]] == levels
    assert "state_of_charge" not in found
    assert "state_of_charge" not in found.get("cell", {})


def test_other_keys_of_cells_stay():
    even = {"cells": [{"ohmic_mohm": 2, "state_of_charge": 0.5}, {"state_of_charge": 0.5}]}
    assert charged(even) == {"cells": [{"ohmic_mohm": 2}, {}]}
    assert charged({"name": "a"}) == {"name": "a"}


def held_back(*cells):
    battery = SimpleNamespace(cells=cells)
    return hold_back_s(SimpleNamespace(bank=SimpleNamespace(batteries=(battery,))))


def test_what_holds_back_longest():
    # wells at 1e-4 per second: 10,000 s; without a second well, or a rate, there are none
    wells = affine_cell(available_fraction=0.6, well_rate_per_s=1e-4)
    one = affine_cell(relaxation=(RelaxationPair(0.001, 60.0), RelaxationPair(0.001, 900.0)))
    slow = affine_cell(relaxation=(RelaxationPair(0.001, 2e4),))
    assert held_back(affine_cell()) == 0.0
    assert held_back(affine_cell(), one) == 900.0
    assert held_back(wells, one) == approx(1e4)
    assert held_back(one, wells, slow) == 2e4
    assert held_back(replace(wells, available_fraction=1.0)) == 0.0
    assert held_back(replace(wells, well_rate_per_s=0.0)) == 0.0


def test_a_test_of_a_label_runs_until_the_battery_is_empty():
    bank = of_label(replace(LABEL, temperature_C=5.0, starts_at="06:30")).bank
    assert (bank.duration_s, bank.output_every_s) == (240.0 * 3600.0, 60.0)
    assert bank.stop_when_empty
    assert (bank.temperature_K, bank.starts_at_s) == (approx(278.15), 6.5 * 3600.0)
    (battery,) = bank.batteries
    assert battery.lead_ohm == approx(0.003)
    assert (len(battery.cells), battery.rated_C) == (4, 360e3)
    assert bank.loads[0].profile_amount.tolist() == [10.0]


def test_only_lead_acid_without_rules_gets_an_end():
    # 1.75 V for each of six cells, for a second; a rule of its own stays the only one
    (rule,) = of_label(replace(LABEL, chemistry="AGM", cells=6)).bank.batteries[0].rules
    assert (rule.watches, rule.threshold, rule.delay_s) == (Watch.BATTERY_VOLTAGE, 10.5, 1.0)
    lithium = of_label(LABEL).bank.batteries[0].rules
    assert all(rule.watches is not Watch.BATTERY_VOLTAGE for rule in lithium)


def test_a_rule_of_its_own_is_the_end(tmp_path):
    own = (
        '[[battery.protection]]\nwatches = "battery voltage"\ntrips_below = 11.0\nblocks = "both"\n'
    )
    found = of_scenario(read(AGM + own + LOAD, tmp_path), Wanted())
    assert [rule.threshold for rule in found.bank.batteries[0].rules] == [11.0]
    assert found.bank.loads[0].profile_amount.tolist() == [250.0]  # the file's own load stays
    other = of_scenario(read(AGM + own + LOAD, tmp_path), Wanted(load_A=4.0))
    assert [one.profile_amount.tolist() for one in other.bank.loads] == [[4.0]]


@pytest.mark.parametrize(
    ("wanted", "said"),
    [
        (Wanted(load_A=1.0), "without FILE: --rated-Ah, --chemistry, --cells-in-series not given"),
        (replace(LABEL, cells=None), "without FILE: --cells-in-series not given"),
        (replace(LABEL, chemistry="iron"), "--chemistry = 'iron'; expected one of: LFP"),
        (replace(LABEL, load_W=5.0), "--load-A and --load-W; expected only one of them"),
        (replace(LABEL, load_A=None), "no load; expected --load-A or --load-W"),
    ],
)
def test_labels_that_make_no_test_are_refused(wanted, said):
    with pytest.raises(PlanError) as told:
        of_label(wanted)
    assert str(told.value).startswith(said)


@pytest.mark.parametrize(
    ("wanted", "said"),
    [
        (Wanted(), "bank.toml: 2 batteries; expected --battery and one of: 'lithium', 'lead'"),
        (Wanted(battery="x"), "--battery = 'x'; expected one of: 'lithium', 'lead'"),
        (Wanted(battery="lead", rated_Ah=5.0), "--rated-Ah = 5.0; expected only without a file"),
        (Wanted(battery="lead", cells=0), "--cells-in-series = 0; expected only without a file"),
    ],
)
def test_batteries_of_a_file_that_are_not_clear_are_refused(wanted, said, tmp_path):
    with pytest.raises(PlanError) as told:
        of_scenario(read(LFP + AGM + LOAD, tmp_path), wanted)
    assert str(told.value) == said


def test_dates_times_and_no_truth_go_through_toml():
    document = {"a": False, "b": datetime.date(2024, 2, 29), "c": datetime.time(6, 30), "d": -1e-7}
    assert tomllib.loads(toml_text(document)) == document

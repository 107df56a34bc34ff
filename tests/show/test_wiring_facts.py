"""Texts of a wiring drawing: sizes, resistances, names; by hand."""

from dataclasses import replace

import numpy as np
import pytest
from simple_banks import affine, affine_cell, bank_of, battery, steady

from bankSim.model.bank import Layout, Wiring
from bankSim.model.load import Load, Schedule
from bankSim.scenario.read import parse_scenario
from bankSim.show.wiring_facts import Cable, load_size, mohm, usual_voltage_V, wiring_facts


def source(*cells, **more):
    return wiring_facts(bank_of(replace(battery("a", *cells), **more))).sources[0]


def test_what_a_battery_is():
    two = source(affine_cell(Ah=104.2), affine_cell(Ah=98.76), rated_C=360_000.0, chemistry="LFP")
    assert (two.label, two.holds) == ("label 100 Ah", "holds 98.76 Ah")  # its weakest cell
    assert (two.series, two.series_shortly, two.chemistry) == (
        "2 cells in series",
        "2 cells",
        "LFP",
    )
    one = source(affine_cell(), chemistry="LFP")
    assert (one.series, one.series_shortly) == ("1 cell", "1 cell")
    bare = source(affine_cell())
    assert (bare.series, bare.series_shortly, bare.chemistry) == ("given as one element", "", "")
    pair = source(affine_cell(), affine_cell())
    assert (pair.series, pair.series_shortly) == ("2 cells in series", "2 cells")
    slow = replace(affine_cell(), available_fraction=0.5, well_rate_per_s=1e-4)
    assert source(affine_cell(), slow).holds == "holds 100 Ah drawn slowly"


def test_labels_of_four_digits_keep_them():
    assert source(affine_cell(Ah=1024.5)).label == "label 1024 Ah"
    assert source(affine_cell(Ah=102.45)).label == "label 102.5 Ah"
    assert source(affine_cell(Ah=7.25)).label == "label 7.25 Ah"


def test_cables_with_what_is_known_of_them():
    assert Cable("2.00 mohm").parts == ["2.00 mohm"]
    one = source(affine_cell(), lead_ohm=2.34e-3, lead_area_mm2=35.0, fuse_A=150.0).lead
    assert one == Cable("2.34 mohm", "35 mm2", "fuse 150 A")
    assert mohm(0.0) == "0 mohm"
    assert mohm(1.2e-4) == "0.120 mohm"


ROW = """
[[battery]]
name = "a"
chemistry = "LFP"
cells_in_series = 4
rated_capacity_Ah = 100
lead = { length_m = 0.6, area_mm2 = 35, fuse_A = 125 }
[[battery]]
name = "b"
chemistry = "LFP"
cells_in_series = 4
rated_capacity_Ah = 100
lead_mohm = 1.5
[wiring]
layout = "same end"
link = { length_m = 0.25, area_mm2 = 50 }
main = { length_m = 1.5, area_mm2 = 70, fuse_A = 200 }
"""


def test_lengths_are_told_for_each_conductor(tmp_path):
    scenario = parse_scenario(ROW, tmp_path, "row.toml")
    facts = wiring_facts(scenario.bank, scenario.keys)
    assert [one.lead.copper for one in facts.sources] == ["2 x 0.6 m, 35 mm2", ""]
    assert [one.lead.fuse for one in facts.sources] == ["fuse 125 A", ""]
    assert facts.sources[1].lead.resistance == "1.50 mohm"
    assert facts.link.copper == "0.25 m, 50 mm2"  # of one rail
    assert (facts.main.copper, facts.main.fuse) == ("2 x 1.5 m, 70 mm2", "fuse 200 A")
    # without the file its areas are known, its lengths are not
    bare = wiring_facts(scenario.bank)
    assert [one.lead.copper for one in bare.sources] == ["35 mm2", ""]
    assert bare.main.copper == "70 mm2"


@pytest.mark.parametrize(
    ("layout", "count", "link", "at_last", "told"),
    [
        (Layout.EQUAL_LEADS, 2, False, False, "equal leads"),
        (Layout.SAME_END, 2, True, False, "same end"),
        (Layout.OPPOSITE_ENDS, 2, True, True, "opposite ends"),
        (Layout.OPPOSITE_ENDS, 1, False, False, ""),
    ],
)
def test_how_batteries_are_arranged(layout, count, link, at_last, told):
    bank = bank_of(*(affine(name) for name in "ab"[:count]), wiring=Wiring(layout, 1e-4, 2e-4))
    facts = wiring_facts(bank)
    assert (facts.link is not None, facts.minus_at_last, facts.arrangement) == (link, at_last, told)
    longer = replace(bank.batteries[0], lead_ohm=0.004)
    other = wiring_facts(replace(bank, batteries=(longer, *bank.batteries[1:])))
    assert other.arrangement == ("own leads, not equal" if told == "equal leads" else told)


def test_the_usual_voltage_is_that_of_half_full_batteries():
    # 12.8 + 0.5 x 0.6 V, and two of 6.4 + 0.5 x 0.2 V in series
    half = affine_cell(base=6.4, span=0.2)
    bank = bank_of(affine("a", z=1.0), battery("b", half, half))
    assert usual_voltage_V(bank) == pytest.approx((13.1 + 13.0) / 2.0)


def by_table(exponent, *amounts):
    return Load("x", exponent, np.arange(float(len(amounts))), np.array(amounts, float))


def test_loads_that_follow_a_table():
    assert load_size(by_table(1.0, 2.0, 5.0), 13.0) == "2 to 5 A, by a table"
    assert load_size(by_table(0.0, -50.0, -50.0), 13.0) == "feeds 50 W"
    assert load_size(by_table(0.0, -50.0, 20.0), 13.0) == (
        "feeds up to 50 W, draws up to 20 W, by a table"
    )
    # two resistances are told by their power: 10 / 13 ohm and 5 / 13 ohm at 10 V
    assert load_size(by_table(2.0, 1.3, 2.6), 10.0) == "130 to 260 W at 10.0 V, by a table"
    assert load_size(by_table(1.0, 1e3, 1e3 * (1.0 + 1e-12)), 13.0) == "1000 A"  # rounding


def test_loads_at_set_hours():
    daily = steady(5.0, 1.0, Schedule(daily_s=((0.0, 60.0),)))
    assert load_size(daily, 13.0) == "5 A, at set hours"
    both = steady(5.0, 1.0, Schedule(active_s=((0.0, 60.0),), duty_s=(30.0, 90.0)))
    assert load_size(both, 13.0) == "5 A, 0.5 min on, 1.5 min off, at set hours"

"""The same file with other values at some keys."""

import json

import pytest
from pytest import approx
from rich_scenario import CURVE, rich
from scenario_texts import LFP, read

from bankSim.errors import ScenarioError
from bankSim.scenario.variant import Variants, put

TWO = (
    LFP.replace('"house"', '"old one"')
    + "lead_mohm = 1.0\n[[battery.cells]]\n[[battery.cells]]\nstate_of_charge = 0.9\n"
    + "[[battery.cells]]\n[[battery.cells]]\n"
    + LFP.replace('"house"', '"2"')
    + LFP.replace('"house"', '"with.dot"')
    + '[[load]]\nname = "lamp"\ncurrent_A = 3\nactive_h = [[0, 1], [2, 3]]\n'
    + "[[load]]\ncurrent_A = 1\n"
)


@pytest.fixture
def variants(tmp_path):
    return Variants(read(TWO, tmp_path))


PATHS = [
    ("title", ("title",)),
    ("simulation.duration_h", ("simulation", "duration_h")),
    ("surroundings.temperature_C.mean_C", ("surroundings", "temperature_C", "mean_C")),
    ("battery[1].lead_mohm", ("battery", 0, "lead_mohm")),
    ("battery[3].cell.capacity_Ah", ("battery", 2, "cell", "capacity_Ah")),
    ("battery[old one].lead_mohm", ("battery", 0, "lead_mohm")),
    ('battery["old one"].lead_mohm', ("battery", 0, "lead_mohm")),
    ("battery['old one'].lead_mohm", ("battery", 0, "lead_mohm")),
    ("battery[ old one ].lead_mohm", ("battery", 0, "lead_mohm")),
    ("battery[with.dot].mass_kg", ("battery", 2, "mass_kg")),
    ("battery[2].mass_kg", ("battery", 1, "mass_kg")),  # the number goes before the name
    ("battery[1].cells[4].ohmic_mohm", ("battery", 0, "cells", 3, "ohmic_mohm")),
    ("battery[2].cells[4].ohmic_mohm", ("battery", 1, "cells", 3, "ohmic_mohm")),
    ("load[lamp].current_A", ("load", 0, "current_A")),
    ("load[2].current_A", ("load", 1, "current_A")),
]


@pytest.mark.parametrize(("key", "path"), PATHS, ids=[row[0] for row in PATHS])
def test_paths(key, path, variants):
    assert variants.path_of(key) == path


WRONG = [
    ("", "a key as in the file"),
    ("battery[1]", "a key as in the file"),
    ("battery[1].", "a key as in the file"),
    ("battery..lead_mohm", "a key as in the file"),
    (".lead_mohm", "a key as in the file"),
    ("battery[1", "a key as in the file"),
    ("battery[1]]", "a key as in the file"),
    ("battery[1]lead_mohm", "a key as in the file"),
    ("lead mohm", "a key as in the file"),
    ("1", "a key as in the file"),
    ("load[1].active_h[1][2]", "a key as in the file"),  # a place in a list is no key
    ("battery[0].lead_mohm", "a number from 1 to 3 or a name in battery[...]"),
    ("battery[4].lead_mohm", "a number from 1 to 3 or a name in battery[...]"),
    ("battery[-1].lead_mohm", "a number from 1 to 3 or a name in battery[...]"),
    ("battery[1.0].lead_mohm", "a number from 1 to 3 or a name in battery[...]"),
    ("battery[].lead_mohm", "a number from 1 to 3 or a name in battery[...]"),
    ("battery[new].lead_mohm", "a number from 1 to 3 or a name in battery[...]"),
    ("battery[Old one].lead_mohm", "a number from 1 to 3 or a name in battery[...]"),
    ("battery[1].cells[5].ohmic_mohm", "a number from 1 to 4 or a name in battery[1].cells[...]"),
    ("charger[1].limit_A", "another key; the file has no charger"),
    # which one of several is not said
    ("battery.lead_mohm", "a number or a name: battery[1]"),
    ("load.current_A", "a number or a name: load[1]"),
    ("battery[1].cells.ohmic_mohm", "a number or a name: battery[1].cells[1]"),
    ("battery[1].protection[1].after_s", "another key; the file has no battery[1].protection"),
]


@pytest.mark.parametrize(("key", "allowed"), WRONG, ids=[row[0] for row in WRONG])
def test_wrong_paths(key, allowed, variants):
    with pytest.raises(ScenarioError) as caught:
        variants.path_of(key)
    (line,) = caught.value.faults
    assert line.startswith(f"bank.toml: {key!r}; expected ")
    assert allowed in line


def test_an_unknown_name_is_told_the_known_ones(tmp_path):
    variants = Variants(read(LFP + LFP.replace('"house"', '"new one"'), tmp_path))
    with pytest.raises(ScenarioError) as caught:
        variants.path_of("battery[new].lead_mohm")
    assert "a name in battery[...] ('house', 'new one')" in caught.value.faults[0]


def test_a_dot_at_the_end(variants):
    with pytest.raises(ScenarioError):
        variants.path_of("battery[1].lead_mohm.")


NASTY = ["na]me", "a[1].b", 'say "hi"', "it's", "[x", "1", "a=b", "dotted.name"]


@pytest.mark.parametrize("name", NASTY)
def test_names_of_any_kind_in_quotes(name, tmp_path):
    written = LFP.replace('"house"', json.dumps(name))
    variants = Variants(read(LFP + written, tmp_path))
    mark = "'" if '"' in name else '"'
    key = f"battery[{mark}{name}{mark}].lead_mohm"
    assert variants.path_of(key) == ("battery", 1, "lead_mohm")
    assert variants.path_of("battery[2].lead_mohm") == ("battery", 1, "lead_mohm")


@pytest.mark.parametrize("key", ["battery[na]me].lead_mohm", "battery[a[b]].mass_kg"])
def test_a_name_that_needs_quotes_is_told_how(key, variants):
    with pytest.raises(ScenarioError) as caught:
        variants.path_of(key)
    (line,) = caught.value.faults
    assert 'stands in quotes of the other kind, as in battery["a]b"]' in line
    assert "or take its number, as in battery[1]" in line


@pytest.mark.parametrize("sign", ["²", "１", "٣", "9" * 5000])
def test_digits_of_another_kind(sign, variants):
    # signs that count as digits somewhere, and more of them than a number may have
    with pytest.raises(ScenarioError):
        variants.path_of(f"battery[{sign}].lead_mohm")


def test_value_at(variants):
    assert variants.value_at(("battery", 0, "lead_mohm")) == 1.0
    assert variants.value_at(("battery", 0, "cells", 1, "state_of_charge")) == 0.9
    assert variants.value_at(("battery", 0, "cells", 1, "capacity_Ah")) is None
    assert variants.value_at(("battery", 7, "lead_mohm")) is None
    assert variants.value_at(("title", "lead_mohm")) is None
    assert variants.value_at(("wiring", "link", "length_m")) is None


def test_values_change_and_the_rest_stays(variants):
    made = variants.with_values({("battery", 0, "lead_mohm"): 2.5})
    assert made.bank.batteries[0].lead_ohm == approx(2.5e-3)
    assert repr(made.bank.batteries[1:]) == repr(variants.scenario.bank.batteries[1:])
    assert repr(made.bank.loads) == repr(variants.scenario.bank.loads)
    assert repr(made.assumed) == repr(variants.scenario.assumed)
    assert (made.file, made.folder) == (variants.scenario.file, variants.scenario.folder)
    assert made.changes == (("battery[1].lead_mohm", 2.5),)


def test_variants_do_not_touch_each_other(variants):
    before = variants.scenario.bank.batteries[0].lead_ohm
    variants.with_values({("battery", 0, "lead_mohm"): 2.5, ("title",): "other"})
    again = variants.with_values({})
    assert again.bank.batteries[0].lead_ohm == before
    assert again.title == variants.scenario.title
    assert again.changes == ()


def test_keys_that_the_file_does_not_have_are_added(variants):
    made = variants.with_values(
        {
            ("surroundings", "temperature_C", "mean_C"): 5.0,
            ("surroundings", "temperature_C", "swing_C"): 2.0,
            ("battery", 1, "cell", "hysteresis_mV"): 7.0,
            ("simulation", "duration_h"): 3.0,
        }
    )
    assert (made.bank.temperature_K, made.bank.swing_K) == (approx(278.15), 2.0)
    assert [cell.hysteresis_V for cell in made.bank.batteries[1].cells] == [0.007] * 4
    assert made.bank.duration_s == 10_800.0


def test_cells_are_made_for_one_of_them(variants):
    made = variants.with_values({("battery", 1, "cells", 2, "capacity_Ah"): 80.0})
    Ah = [cell.charge_C / 3600.0 for cell in made.bank.batteries[1].cells]
    assert Ah == approx([100.0, 100.0, 80.0, 100.0])


def test_cells_that_are_there_keep_what_they_have(variants):
    made = variants.with_values({("battery", 0, "cells", 0, "state_of_charge"): 0.7})
    charge = [cell.state_of_charge for cell in made.bank.batteries[0].cells]
    assert charge == [0.7, 0.9, 1.0, 1.0]


def test_a_number_becomes_one_with_a_spread_and_back(variants):
    path = ("battery", 0, "lead_mohm")
    made = variants.with_values({path: {"value": 2.0, "sd": 0.5}})
    assert made.keys.battery[0].lead_mohm.spread.sd == 0.5
    assert not hasattr(variants.with_values({path: 2.0}).keys.battery[0].lead_mohm, "spread")


def test_tables_are_read_once(tmp_path):
    variants = Variants(rich(tmp_path))
    first = variants.with_values({("battery", 2, "lead_mohm"): 4.0})
    (tmp_path / "curve.csv").unlink()
    second = variants.with_values({("battery", 2, "lead_mohm"): 5.0})
    curves = [made.bank.batteries[2].cells[0].ocv_V for made in (first, second)]
    assert curves[0] is curves[1]
    assert second.tables == ("curve.csv",)


def test_another_table_is_read_too(tmp_path):
    variants = Variants(rich(tmp_path))
    (tmp_path / "other.csv").write_text(CURVE.replace("3.6", "3.5"))
    made = variants.with_values({("battery", 2, "cell", "ocv_table"): "other.csv"})
    assert float(made.bank.batteries[2].cells[0].ocv_V(1.0)) == approx(3.5)


FAULTS = [
    (("battery", 0, "lead_mohm"), -1.0, "bank.toml:7: battery[1].lead_mohm = -1.0; expected 0 to"),
    (("battery", 0, "lead_mohm"), "two", 'battery[1].lead_mohm = "two"; expected 0 to 100000'),
    (("battery", 1, "cells", 2, "capacity_Ah"), 0.0,
     "battery[2].cells[3].capacity_Ah = 0.0; expected 0.01 to"),
    (("battery", 0, "lead_ohm"), 1.0, "bank.toml:2: battery[1].lead_ohm is not a known key"),
    (("batteri", "lead_mohm"), 1.0, "batteri is not a known key"),
    (("simulation", "duration_h"), 0.0, "simulation.duration_h = 0.0; expected more than 0"),
    (("battery", 1, "cell", "ocv_table"), "no.csv", 'battery[2].cell.ocv_table = "no.csv"'),
]  # fmt: skip


@pytest.mark.parametrize(("path", "value", "start"), FAULTS, ids=[row[2][:40] for row in FAULTS])
def test_faults_name_the_key(path, value, start, variants):
    with pytest.raises(ScenarioError) as caught:
        variants.with_values({path: value})
    (line,) = caught.value.faults
    assert start in line
    assert line.startswith("bank.toml")


def test_a_variant_of_a_variant(variants):
    # the text of a scenario does not hold what an earlier variant changed
    first = variants.with_values({("battery", 1, "state_of_charge"): 0.5})
    second = Variants(first).with_values({("battery", 1, "mass_kg"): 9.0})
    assert second.bank.batteries[1].cells[0].state_of_charge == 0.5
    assert second.changes == (
        ("battery[2].state_of_charge", 0.5),
        ("battery[2].mass_kg", 9.0),
    )
    third = Variants(second).with_values({("battery", 1, "state_of_charge"): 0.4})
    assert third.bank.batteries[1].cells[0].state_of_charge == 0.4
    assert len(third.changes) == 2


def test_what_is_made_on_the_way_to_a_key():
    document = {"battery": [{"cells_in_series": 4}], "title": "x"}
    put(document, ("battery", 0, "cells", 2, "ohmic_mohm"), 0.5)
    assert document["battery"][0]["cells"] == [{}, {}, {"ohmic_mohm": 0.5}, {}]
    put(document, ("battery", 0, "cells", 0, "ohmic_mohm"), 0.7)
    assert document["battery"][0]["cells"] == [{"ohmic_mohm": 0.7}, {}, {"ohmic_mohm": 0.5}, {}]
    # nobody says how many: as many as the place asks for
    put(document, ("load", 1, "power_W"), 60.0)
    assert document["load"] == [{}, {"power_W": 60.0}]
    put(document, ("surroundings", "temperature_C"), 5.0)
    put(document, ("surroundings", "temperature_C", "mean_C"), 7.0)
    assert document["surroundings"] == {"temperature_C": {"mean_C": 7.0}}
    put(document, ("title",), "y")
    assert document["title"] == "y"

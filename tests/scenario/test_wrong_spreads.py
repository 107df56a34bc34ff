"""Spreads that are refused: each line names file, line, key, value and what is allowed."""

import tomllib

import pytest
from jsonschema import Draft202012Validator
from scenario_texts import LFP, faults_of

from bankSim.scenario.glossary import QUANTITIES
from bankSim.scenario.schema import scenario_schema

LOAD = "[[load]]\npower_W = 300\n"


def schema_takes(text):
    return Draft202012Validator(scenario_schema()).is_valid(tomllib.loads(text))


# (what is written for capacity_Ah of [battery.cell], line 8; what the message must contain)
WRONG = [
    ("{ value = 2.0 }", "{ value, sd } or { value, sd_percent } or { low, high }"),
    ("{ sd = 2.0 }", "{ value, sd } or"),
    ("{ low = 1.0 }", "{ value, sd } or"),
    ("{ value = 2, low = 1 }", "{ value, sd } or"),
    ("{ value = 2, sd = 1, sd_percent = 1 }", "{ value, sd } or"),
    ("{ value = 2, sd = 1, low = 1 }", "{ value, sd } or"),
    ("{ value = 2, sd = 1, low = 1, high = 3 }", "{ value, sd } or"),
    ("{ value = 2, sd_percent = 1, high = 3 }", "{ value, sd } or"),
    ("{ low = 1, high = 3, sd = 1 }", "{ value, sd } or"),
    ("{ low = 1, high = 3, sd_percent = 1 }", "{ value, sd } or"),
    ("{ value = 2, sd = 1, mean = 3 }", "there is no mean in it"),
    ("{ value = 2, Sd = 1 }", "there is no Sd in it"),
    ("{ low = 3, high = 1 }", "expected low less than high in its table"),
    ("{ low = 3, high = 3 }", "expected low less than high in its table"),
    ("{ value = 9, low = 1, high = 3 }", "expected a value between low and high in its table"),
    ("{ value = 2, sd = -1 }", "expected an sd of 0 or more in its table"),
    ("{ value = 2, sd_percent = -1 }", "expected an sd of 0 or more in its table"),
    ("{ value = 2, sd = inf }", "expected an sd of 0 or more in its table"),
    ("{ value = 2, sd = nan }", "expected an sd of 0 or more in its table"),
    ("{ value = 2, sd = true }", "each a plain number"),
    ('{ value = 2, sd = "1" }', "each a plain number"),
    ('{ value = "2", sd = 1 }', "each a plain number"),
    ("{ value = [2], sd = 1 }", "each a plain number"),
    ("{ value = 0, sd = 1 }", "0.01 to 100000 Ah for value in its table"),
    ("{ value = -2, sd = 1 }", "0.01 to 100000 Ah for value in its table"),
    ("{ value = nan, sd = 1 }", "0.01 to 100000 Ah for value in its table"),
    ("{ low = 0, high = 5 }", "0.01 to 100000 Ah for low in its table"),
    ("{ low = 1, high = 200000 }", "0.01 to 100000 Ah for high in its table"),
    ('{ value = 2, sd = 1, cells = "all" }', 'cells = "shared" or "independent" in its table'),
    ("{ value = 2, sd = 1, cells = true }", 'cells = "shared" or "independent" in its table'),
    ("{ }", "{ value, sd } or"),
]
CELL = LFP + "[battery.cell]\ncapacity_Ah = "
# no schema compares two numbers of a table, and JSON has neither nan nor inf
BEYOND_SCHEMA = (
    "{ low = 3, high = 1 }",
    "{ low = 3, high = 3 }",
    "{ value = 9, low = 1, high = 3 }",
    "{ value = 2, sd = inf }",
    "{ value = 2, sd = nan }",
    "{ value = nan, sd = 1 }",
)


@pytest.mark.parametrize(("words", "allowed"), WRONG, ids=[row[0] for row in WRONG])
def test_every_wrong_form(words, allowed, tmp_path):
    (line,) = faults_of(CELL + words, tmp_path)
    shown = "a table" if words == "{ }" or "[2]" in words else words
    assert line.startswith(f"bank.toml:8: battery[1].cell.capacity_Ah = {shown}; expected ")
    assert allowed in line
    assert line.endswith('(battery "house")')


@pytest.mark.parametrize("words", [row[0] for row in WRONG if row[0] not in BEYOND_SCHEMA])
def test_schema_refuses_wrong_forms(words):
    assert not schema_takes(CELL + words)


@pytest.mark.parametrize("key", ["sd", "sd_percent"])
def test_a_huge_sd(key, tmp_path):
    (line,) = faults_of(f"{CELL}{{ value = 2, {key} = 1{'0' * 400} }}", tmp_path)
    assert "expected" in line


SPREAD = "{ value = 2, sd = 1 }"
EXACT = [
    (f"[simulation]\nduration_h = {SPREAD}\n" + LFP, "simulation.duration_h", "87600 h"),
    (f"[simulation]\noutput_every_s = {SPREAD}\n" + LFP, "simulation.output_every_s", "86400 s"),
    (f"{LFP}[battery.lead]\nlength_m = 1\narea_mm2 = 35\nfuse_A = {SPREAD}",
     "battery[1].lead.fuse_A", "10000 A"),
    (f"{LFP}[battery.lead]\nlength_m = 1\narea_mm2 = 35\njoints = {SPREAD}",
     "battery[1].lead.joints", "a whole number, 0 to 100"),
    (LFP.replace("= 4", f"= {SPREAD}"), "battery[1].cells_in_series", "a whole number, 1 to 100"),
    (f"{LFP}{LOAD}active_h = [[{SPREAD}, 5]]", "load[1].active_h[1][1]", "0 to 87600 h"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "key", "allowed"), EXACT, ids=[row[1] for row in EXACT])
def test_exact_keys_and_whole_numbers(text, key, allowed, tmp_path):
    (line,) = faults_of(text, tmp_path)
    assert f": {key} = {SPREAD}; expected " in line
    assert allowed in line
    assert "or {" not in line
    assert not schema_takes(text)


def test_which_quantities_are_exact():
    exact = {name for name, one in QUANTITIES.items() if one.exact or one.whole}
    assert exact == {
        "duration_h", "output_every_s", "joints", "fuse_A", "cells_in_series", "active_h",
    }  # fmt: skip

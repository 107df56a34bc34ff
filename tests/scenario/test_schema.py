"""The JSON Schema of the scenario file, and everything that is shipped against it."""

import json
import tomllib
from functools import cache
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator
from scenario_texts import LFP

import bankSim.scenario
from bankSim.scenario.glossary import QUANTITIES
from bankSim.scenario.read import read_scenario
from bankSim.scenario.schema import scenario_schema
from bankSim.scenario.starter import starter_text

PACKAGE = Path(bankSim.scenario.__file__).parent
SHIPPED = sorted((PACKAGE.parents[1] / "scenarios").glob("*.toml"))


@cache
def validator():
    schema = scenario_schema()
    Draft202012Validator.check_schema(schema)
    return Draft202012Validator(schema)


def test_exported_schema_is_current():
    exported = json.loads((PACKAGE / "scenario.schema.json").read_text(encoding="utf-8"))
    assert exported == scenario_schema(), "write json.dumps(scenario_schema(), indent=2) there"


def test_schema_names_its_draft_and_has_no_null():
    schema = scenario_schema()
    assert schema["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    text = json.dumps(schema)
    assert "null" not in text
    assert '"NaN' not in text


def test_every_quantity_is_described_with_its_unit():
    text = json.dumps(scenario_schema(), ensure_ascii=False)
    for quantity in QUANTITIES.values():
        assert quantity.schema()["description"] in text


@pytest.mark.parametrize("file", SHIPPED, ids=lambda file: file.name)
def test_shipped_scenarios_are_valid_and_readable(file):
    validator().validate(tomllib.loads(file.read_text(encoding="utf-8")))
    scenario = read_scenario(file)
    assert scenario.bank.batteries
    assert scenario.remarks == ()


def test_there_are_shipped_scenarios():
    assert len(SHIPPED) >= 5


def test_starter_is_valid():
    validator().validate(tomllib.loads(starter_text()))


@pytest.mark.parametrize(
    "wrong",
    [
        LFP.replace("100.0", "-1.0"),
        LFP.replace("100.0", '"100 Ah"'),
        LFP.replace("cells_in_series = 4", ""),
        LFP + "lead_ohm = 1",
        LFP + '[[load]]\ndaily = [{ from = "8:00", to = "9:00" }]',
        LFP + "[[load]]\nactive_h = [[1]]",
    ],
)
def test_schema_refuses(wrong):
    assert not validator().is_valid(tomllib.loads(wrong))
    assert validator().is_valid(tomllib.loads(LFP))

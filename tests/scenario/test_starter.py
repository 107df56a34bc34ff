"""The starter file runs as it is and shows every key that is supported."""

import re
from pathlib import Path

import pytest

from bankSim.errors import ScenarioError
from bankSim.scenario.keys import LoadKeys, ScenarioKeys, SimulationKeys, WiringKeys
from bankSim.scenario.keys_battery import BatteryKeys, CellKeys, RuleKeys
from bankSim.scenario.read import parse_scenario, read_scenario
from bankSim.scenario.starter import starter_text, write_starter
from bankSim.scenario.unsupported import UNSUPPORTED_KEYS


def test_starter_is_readable(tmp_path):
    scenario = parse_scenario(starter_text(), tmp_path, "starter.toml")
    assert len(scenario.bank.batteries) == 2
    assert len(scenario.bank.loads) == 3
    assert scenario.remarks == ()


@pytest.mark.parametrize(
    "table",
    [ScenarioKeys, SimulationKeys, WiringKeys, BatteryKeys, CellKeys, RuleKeys, LoadKeys],
    ids=lambda table: table.__name__,
)
def test_starter_shows_every_supported_key(table):
    shown = set(re.findall(r"[A-Za-z_]+", starter_text()))
    assert set(table.model_fields) - UNSUPPORTED_KEYS <= shown


def test_write_starter(tmp_path):
    target = tmp_path / "my bank.toml"
    write_starter(target)
    assert target.read_text(encoding="utf-8") == starter_text()
    assert [entry.name for entry in tmp_path.iterdir()] == ["my bank.toml"]
    assert read_scenario(target).bank.batteries
    assert target.stat().st_mode & 0o400


def test_write_starter_overwrites_nothing(tmp_path):
    target = tmp_path / "bank.toml"
    target.write_text("mine")
    with pytest.raises(ScenarioError, match=r"bank\.toml: already exists"):
        write_starter(target)
    assert target.read_text() == "mine"


@pytest.mark.parametrize("name", ["no/such/folder.toml", "x" * 300, "bank.toml/under.toml"])
def test_write_starter_where_it_cannot(name, tmp_path):
    (tmp_path / "bank.toml").write_text("mine")
    with pytest.raises(ScenarioError) as caught:
        write_starter(Path(tmp_path, name))
    assert len(caught.value.faults) == 1
    assert [entry.name for entry in tmp_path.iterdir()] == ["bank.toml"]

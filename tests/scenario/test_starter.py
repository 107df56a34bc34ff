"""The starter file runs as it is and shows every key that is supported."""

import re
from pathlib import Path

import pytest

from bankSim.errors import ScenarioError
from bankSim.scenario.keys import ScenarioKeys
from bankSim.scenario.read import parse_scenario, read_scenario
from bankSim.scenario.starter import starter_text, write_starter
from bankSim.scenario.unknown_keys import fields_of


def test_starter_is_readable(tmp_path):
    scenario = parse_scenario(starter_text(), tmp_path, "starter.toml")
    assert len(scenario.bank.batteries) == 2
    assert len(scenario.bank.loads) == 3
    assert scenario.remarks == ()


def known_keys(table):
    """Give every key of a table and of the tables in it."""
    for key, inner in fields_of(table).items():
        yield key
        for part in inner:
            yield from known_keys(part)


def test_starter_shows_every_key():
    shown = set(re.findall(r"[A-Za-z_0-9]+", starter_text()))
    assert set(known_keys(ScenarioKeys)) <= shown


# Comments of the starter that stand beside what they replace.
INSTEAD = ("main", "link")


def test_what_the_starter_shows_as_a_comment_works_too(tmp_path):
    """Every table that is commented out, and every key whose place is free, is sound."""
    (tmp_path / "curve.csv").write_text("state_of_charge,voltage_V\n0,2.5\n1,3.6\n")
    (tmp_path / "load.csv").write_text("time_h,power_W\n0,5\n")
    on = re.sub(r"(?m)^# (?=\[|[a-zA-Z_]+ = )", "", starter_text())
    lines = [line for line in on.splitlines() if line.partition(" = ")[0] not in INSTEAD]
    text = "\n".join(lines).replace("temperature_C = 18.0", "", 1)
    scenario = parse_scenario(text, tmp_path, "starter.toml")
    assert len(scenario.bank.batteries) == len(scenario.bank.chargers) == 3
    assert len(scenario.bank.loads) == 5
    assert scenario.bank.batteries[0].heater is not None


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

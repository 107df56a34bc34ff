"""Names of tables that lead elsewhere, or are no files: refused in one printable line."""

import os

import pytest
from scenario_texts import LFP

from bankSim.errors import ScenarioError
from bankSim.measured.log import LogError
from bankSim.measured.read import read_log
from bankSim.measured.voltage_table import read_table
from bankSim.scenario.read import parse_scenario
from tests.hostile.refusals import of_log, of_scenario

NAMES = (
    "../../../../etc/passwd",
    "/etc/passwd",
    "/dev/zero",
    "/dev/stdin",
    "pipe.csv",
    "folder",
    "~",
    "$HOME/x.csv",
    "|id",
    "a*",
    "file:///etc/passwd",
    "http://x.example/a.csv",
    "x" * 400,
    "C:\\a.csv",
    "loop.csv",
    "con",
    ".",
    "..",
    "-rf",
)


@pytest.fixture
def folder(tmp_path):
    os.mkfifo(tmp_path / "pipe.csv")
    (tmp_path / "folder").mkdir()
    (tmp_path / "loop.csv").symlink_to("loop.csv")
    return tmp_path


@pytest.mark.parametrize("name", NAMES)
def test_tables_of_a_scenario(name, folder):
    text = LFP + f"[[load]]\nprofile = '{name}'\n"
    with pytest.raises(ScenarioError) as caught:
        parse_scenario(text, folder, "bank.toml")
    (line,) = caught.value.faults
    assert of_scenario([line], "bank.toml") == []
    assert len(line) < 400 + len(name)  # at most the beginning of one line of what was named


@pytest.mark.parametrize("reader", [read_log, read_table])
@pytest.mark.parametrize("name", ["pipe.csv", "folder", "loop.csv", "none.csv", "x" * 400, "a\nb"])
def test_logs_and_tables_of_a_gauge(reader, name, folder):
    with pytest.raises(LogError) as caught:
        reader(folder / name)
    assert of_log(str(caught.value), str(folder / name).replace("\n", "?")) == []


def test_a_gauge_table_that_is_too_large(tmp_path):
    file = tmp_path / "table.csv"
    file.write_bytes(b"voltage_V,state_of_charge_percent\n" * 1_000_000)
    with pytest.raises(LogError, match="larger than"):
        read_table(file)

"""``banksim snapshot`` and ``banksim deeper`` as they are typed."""

import json

import numpy as np
import pytest

from bankSim.cli.greedy import gathered
from bankSim.cli.main import main

FOUR = ["2.31", "2.52", "2.47", "2.38"]


@pytest.fixture(autouse=True)
def _elsewhere(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)


def answer(capsys, *words):
    assert main([*words, "--json", "-"]) == 0
    return json.loads(capsys.readouterr().out)


def refused(capsys, *words):
    assert main(list(words)) == 2
    told = capsys.readouterr().err
    assert len(told.splitlines()) == 1
    return told


def test_four_numbers_print_a_story_and_write_files(tmp_path, capsys):
    assert main(["snapshot", *FOUR, "--rated-Ah", "150"]) == 0
    out = capsys.readouterr().out
    assert "Cell 1 was the lowest" in out
    folder = tmp_path / "results" / "snapshot"
    names = {file.name for file in folder.iterdir()}
    assert names == {"story.txt", "summary.json", "snapshot.png"}
    assert (folder / "snapshot.png").stat().st_size > 10_000


def test_json_alone_writes_nothing(tmp_path, capsys):
    assert answer(capsys, "snapshot", *FOUR)["percent_only"] is True
    assert list(tmp_path.iterdir()) == []


def test_ways_of_typing_agree(capsys):
    first = answer(capsys, "snapshot", *FOUR, "--rated-Ah", "150")
    comma = answer(capsys, "snapshot", "2,31", "2,52", "2,47", "2,38", "--rated-Ah", "150")
    joined = answer(capsys, "snapshot", "--rated-Ah", "150", ",".join(FOUR))
    assert first["shots"] == comma["shots"] == joined["shots"]


def test_options_with_many_numbers(capsys):
    words = [*FOUR, "/", *FOUR, "--full", "3.45", "3,60", "3.50", "3.47"]
    words += ["--delivered-Ah", "148", "149", "--battery-V", "9.7", "/", "9,71"]
    words += ["--at-A", "20", "--limit-V", "2.2"]
    found = answer(capsys, "snapshot", *words)
    assert found["full"]["voltages_V"] == [3.45, 3.6, 3.5, 3.47]
    assert found["delivered_Ah"] == [148.0, 149.0]
    assert [check["battery_V"] for check in found["sums"]] == [9.7, 9.71]
    assert found["around"]["limit_V"] == 2.2


def test_options_may_stand_before_the_voltages(capsys):
    found = answer(capsys, "snapshot", "--delivered-Ah", "148", *FOUR)
    assert found["delivered_Ah"] == [148.0]
    assert len(found["shots"][0]["cells"]) == 4


def test_all_other_options_reach_the_answer(capsys):
    found = answer(capsys, "snapshot", "1.8", "1.9", "--chemistry", "agm", "--temperature-C", "5",
                   "--meter-mV", "5", "--after-rest-min", "10", "--seed", "3")  # fmt: skip
    around = found["around"]
    assert around["chemistry"] == "AGM"
    assert (around["temperature_C"], around["meter_V"], around["rest_s"]) == (5.0, 0.005, 600.0)


def write_log(file):
    """Five hours at 20 A (charge positive in the file), the last cell falling fastest."""
    time = np.arange(0.0, 18_060.0, 60.0)
    left = np.clip((18_000.0 - time) / 18_000.0, 0.0, 1.0)
    current = np.where(time < 18_000.0, -20.0, 0.0)
    cells = [2.3 + more + 0.9 * left**0.2 for more in (0.3, 0.2, 0.25, 0.0)]
    rows = np.column_stack([time, current, np.sum(cells, axis=0), *cells])
    names = "time_s,current,voltage,c1,c2,c3,c4"
    np.savetxt(file, rows, delimiter=",", header=names, comments="")


def test_a_log_with_cells(tmp_path, capsys):
    write_log(tmp_path / "log.csv")
    found = answer(capsys, "snapshot", "--log", "log.csv", "--sign", "charge", "--time", "time_s",
                   "--voltage", "voltage", "--current", "current", "--cells", "c1,c2,c3,c4",
                   "--rated-Ah", "105")  # fmt: skip
    assert found["logs"][0]["at_s"] == 17_940.0
    assert found["shots"][0]["decider"] == 4
    assert found["around"]["current_A"] == pytest.approx(20.0)
    assert found["delivered_Ah"][0] == pytest.approx(20.0 * 17_940.0 / 3600.0, rel=1e-3)


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ([], "expected cell voltages like 2.31"),
        (["abc"], "'abc' is no number"),
        (["231"], "231 may be 2.31 V or 231 mV"),
        (["2.979", "-2.495", "2.9"], "-2.495 is no cell voltage but below 0; expected 0.200 to"),
        (["-2.495", "2.9"], "-2.495 is no cell voltage but below 0"),
        (["--chemistry", "LFP", "2.9", "-2,495"], "do not charge such a cell"),
        (["2.9", "2.9", "--full", "3.4", "-3.4"], "--full: -3.4 is no cell voltage but below 0"),
        (["0.05", "2.9"], "0.05 is no cell voltage but next to nothing"),
        (["12.1"], "whole battery"),
        ([*FOUR, "--log", "x.csv"], "one of both"),
        ([*FOUR, "--chemistry", "foo"], "--chemistry = 'foo'"),
        ([*FOUR, "--full", "3.4"], "--full: 1 cell voltages; expected 4"),
        ([*FOUR, "--full", "3.4", "/", "3.5"], "--full: 2 groups"),
        ([*FOUR, "--delivered-Ah", "x"], "--delivered-Ah = x"),
        ([*FOUR, "--rated-Ah", "-5"], "--rated-Ah"),
        ([*FOUR, "--sign", "up"], "--sign = 'up'"),
        ([*FOUR, "--out", " "], "--out"),
        (["2.3", "/", "2.3", "2.4"], "snapshots of 1 and 2 cells"),
    ],
)
def test_snapshot_refuses_on_one_line(tmp_path, capsys, words, told):
    assert told in refused(capsys, "snapshot", *words)
    assert list(tmp_path.iterdir()) == []


def test_deeper_as_typed(tmp_path, capsys):
    words = ["deeper", "--Ah", "148", "/", "160", "--cells", "2.50", "2.60", "/", "2,21", "2.35",
             "--kg", "16", "16", "--names", "old", "one", "/", "new", "--at-A", "20"]  # fmt: skip
    found = answer(capsys, *words)
    assert found["sides"][0]["name"] == "old one"
    assert found["verdict"] == "more charge in the cells"
    assert main(words) == 0
    assert "consistent with more charge in the cells" in capsys.readouterr().out
    assert (tmp_path / "results" / "deeper" / "summary.json").is_file()


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ([], "--Ah"),
        (["--Ah", "148"], "--Ah: expected two numbers"),
        (["--Ah", "148", "/", "160", "--cells", "2.5"], "--cells: 1 groups"),
        (["--Ah", "148", "/", "160", "--kg", "16"], "--kg"),
        (["--Ah", "148", "/", "160", "--cells", "2.5", "/", "x"], "--cells: 'x'"),
    ],
)
def test_deeper_refuses_on_one_line(tmp_path, capsys, words, told):
    assert told in refused(capsys, "deeper", *words)
    assert list(tmp_path.iterdir()) == []


def test_gathering_words():
    greedy, careful = ("--full",), ("--Ah",)
    assert gathered(["2.3", "--full", "1", "2", "--x", "3"], greedy, careful) == [
        "2.3", "--full", "1 2", "--x", "3",
    ]  # fmt: skip
    assert gathered(["--full=1", "2"], greedy) == ["--full", "1 2"]
    assert gathered(["--Ah", "1", "2.3"], greedy, careful) == ["--Ah", "1", "2.3"]
    assert gathered(["--Ah", "1", "/", "2", "2.3"], greedy, careful) == ["--Ah", "1 / 2", "2.3"]
    assert gathered(["2.3", "--Ah", "1", "2"], greedy, careful) == ["2.3", "--Ah", "1 2"]
    assert gathered(["--full", "--x"], greedy) == ["--full", "--x"]
    assert gathered(["--full", "-", "/", "2"], greedy) == ["--full", "- / 2"]

import json
import os
from dataclasses import replace
from pathlib import Path

import pytest
from capacity_logs import make_log, write_log

from bankSim.cli.hand_over import target_of
from bankSim.cli.main import main


@pytest.fixture
def here(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    write_log(tmp_path / "a.csv", make_log(hours=5.3, step_s=30.0))
    write_log(tmp_path / "b.csv", make_log(hours=5.4, step_s=30.0))
    return tmp_path


def run(*words):
    return main(["test", *words, "--sign", "charge"])


def test_a_test_is_told_and_written(here, capsys):
    assert run("a.csv", "b.csv", "--rated-Ah", "100", "--chemistry", "LFP") == 0
    out = capsys.readouterr().out
    assert out.startswith("Capacity: 2 tests of 1 unit\n")
    assert "100 Ah is met" in out
    assert sorted(os.listdir(here / "results/test-a-b")) == [
        "story.txt", "summary.json", "test-Ah.png", "test-course.png",
    ]  # fmt: skip
    assert "Energy" in (here / "results/test-a-b/story.txt").read_text()


def test_several_logs_leave_the_answer_about_one_of_them(here, capsys):
    assert run("a.csv") == 0
    before = (here / "results/test-a/summary.json").read_bytes()
    assert run("a.csv", "b.csv") == 0
    assert "Written to results/test-a-b: " in capsys.readouterr().out
    assert (here / "results/test-a/summary.json").read_bytes() == before


def test_folders_of_very_many_logs_have_short_names_that_differ():
    many = [Path(f"{letter}.csv") for letter in "abcdef"]
    names = [target_of("test", None, None, True, logs, logs=logs).folder.name
             for logs in (many, many[::-1], many[:5], many[:4])]  # fmt: skip
    assert len(set(names)) == 4
    assert names[0].startswith("test-a-and-5-more-")
    assert names[3] == "test-a-b-c-d"


def test_json_and_all_options(here, capsys):
    words = [
        "a.csv", "b.csv", "--units", "A,B", "--rated-Ah", "100", "--confidence", "90",
        "--shunt-gain-percent", "0.2", "--shunt-offset-A", "0.01", "--voltage-percent", "0.1",
        "--voltage-offset-V", "0.01", "--limits", "triangular", "--end-V", "10.5",
        "--chemistry", "AGM", "--temperature-C", "20", "--correct", "temperature",
        "--correct", "rate", "--to-rate-h", "10", "--peukert", "1.1",
        "--repeatability-percent", "1", "--json", "-",
    ]  # fmt: skip
    assert run(*words) == 0
    summary = json.loads(capsys.readouterr().out)
    assert summary["asked"]["confidence"] == pytest.approx(0.9)
    assert summary["asked"]["instrument"]["shape"] == "triangular"
    assert [one["unit"] for one in summary["trials"]] == ["A", "B"]
    assert summary["trials"][0]["discharge"]["ending"] == "the end voltage asked for was reached"
    assert 104.0 < summary["trials"][0]["counted"]["Ah"]["value"] < 106.0
    assert summary["corrected"]["product"] is not None
    assert os.listdir(here) == ["a.csv", "b.csv"] or sorted(os.listdir(here)) == ["a.csv", "b.csv"]


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["a.csv", "--units", "A,B"], "--units = 'A,B'; expected 1 word"),
        (["a.csv", "b.csv", "--units", "A,"], "expected 2 words"),
        (["a.csv", "./a.csv"], "expected each log once"),
        (["a.csv", "--rated-Ah", "-5"], "--rated-Ah = -5.0; expected more than 0"),
        (["a.csv", "--confidence", "0.95"], "--confidence = 0.95; expected 50 to below 100"),
        (["a.csv", "--limits", "round"], "--limits = 'round'; expected one of"),
        (["a.csv", "--chemistry", "lead"], "--chemistry = 'lead'; expected one of: LFP"),
        (["a.csv", "--correct", "age"], "expected one of: temperature, rate"),
        (["a.csv", "--correct", "rate"], "or --peukert"),
        (["a.csv", "--correct", "temperature", "--chemistry", "AGM"], "--temperature-C"),
        (["a.csv", "--start-A", "500"], "no discharge above 500 A"),
        (["a.csv", "--shunt-gain-percent", "nan"], "--shunt-gain-percent = nan"),
        (["a.csv", "--out", " "], "--out = ' '"),
    ],
)  # fmt: skip
def test_wrong_input_is_one_line_and_writes_nothing(here, capsys, words, told):
    assert run(*words) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert told in err
    assert len(err.splitlines()) == 1
    assert sorted(os.listdir(here)) == ["a.csv", "b.csv"]


def test_results_never_replace_a_log(here, capsys):
    (here / "o").mkdir()
    log = write_log(here / "o/summary.json", make_log(step_s=60.0))
    before = log.read_bytes()
    assert run(str(log), "--out", "o") == 2
    assert log.read_bytes() == before
    assert capsys.readouterr().err


def test_a_zero_that_is_off_is_told_first(here, capsys):
    log = make_log(hours=5.0, after="rebound")
    write_log(here / "off.csv", replace(log, current_A=log.current_A + 0.3))
    assert main(["test", "off.csv", "--rated-Ah", "100.2", "--no-plots"]) == 0
    out = " ".join(capsys.readouterr().out.split())
    first = out.index("Check this first: in off the shunt reads +0.300 A (discharge) at rest")
    assert "1.50 Ah too many were counted in this test" in out  # 0.3 A in 5 h
    assert first < out.index("100.2 Ah cannot be decided")


def test_exchanged_headers_are_refused_in_one_line(here, capsys):
    log = make_log(hours=5.0, after="rebound")
    rows = zip(log.time_s, log.current_A, log.voltage_V, strict=True)
    lines = ["time_s,voltage_V,current_A", *(f"{t:.0f},{i:.3f},{u:.3f}" for t, i, u in rows)]
    (here / "swap.csv").write_text("\n".join(lines) + "\n")
    assert main(["test", "swap.csv", "--rated-Ah", "95"]) == 2
    told = capsys.readouterr().err
    assert told.count("\n") == 1
    assert 'expected --voltage "current_A" --current "voltage_V"' in told


def test_help_names_the_command(capsys):
    assert main(["--help"]) == 0
    assert "capacity tests" in capsys.readouterr().out

import json
import os
import re

import pytest

from bankSim.cli.main import main

BANK = """
[[battery]]
name = "old"
chemistry = "LFP"
cells_in_series = 4
rated_capacity_Ah = 20.0
[[battery]]
name = "new"
chemistry = "AGM"
cells_in_series = 6
rated_capacity_Ah = 20.0
[[load]]
name = "fridge"
current_A = 10.0
duty = { on_min = 6, off_min = 4 }
"""
LABEL = ["--rated-Ah", "20", "--chemistry", "LFP", "--cells-in-series", "4", "--load-A", "10"]


@pytest.fixture
def here(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "bank.toml").write_text(BANK)
    return tmp_path


def test_a_label_is_enough(here, capsys):
    words = ["plan", *LABEL, "--starts-at", "08:00", "--draws", "40"]
    assert main(words) == 0
    out = " ".join(capsys.readouterr().out.split())
    hours = float(re.search(r"will cut out after about ([\d.]+) h", out)[1])
    assert 1.8 < hours < 2.05  # 20 Ah at 10 A, less what the weakest cell and the start take
    assert "started at 08:00, be there from 09:" in out
    assert "Write down at the cut-out: every cell voltage" in out
    assert "Do not leave a lithium test alone near its cut-out" in out
    assert "A prediction is not a permission" in out
    assert os.listdir(here) == ["bank.toml"]


def test_a_load_that_is_far_too_large_is_no_test(here, capsys):
    words = ["--rated-Ah", "100", "--chemistry", "flooded", "--cells-in-series", "6"]
    assert main(["plan", *words, "--load-A", "400", "--draws", "20"]) == 0
    assert "That is no capacity test" in " ".join(capsys.readouterr().out.split())


def test_a_load_that_nothing_feeds_is_refused_by_its_name(here, capsys):
    assert main(["plan", *LABEL[:-1], "100000", "--draws", "20"]) == 2
    told = capsys.readouterr().err
    assert told.count("\n") == 1
    assert "--load-A = 100,000 A: the full battery gives no more than about" in told
    assert "expected less, such as 4 A" in told  # 20 Ah in 5 h


def test_in_the_frost_the_charge_is_done_in_the_warm(here, capsys):
    assert main(["plan", *LABEL, "--temperature-C", "-5", "--draws", "20"]) == 0
    assert "never charge lithium cells below 0 degC" in " ".join(capsys.readouterr().out.split())


def test_one_of_a_bank_with_a_switching_load(here, capsys):
    words = ["plan", "bank.toml", "--battery", "new", "--draws", "40", "--json", "p.json"]
    assert main(words) == 0
    out = " ".join(capsys.readouterr().out.split())
    assert "a lead-acid battery has no electronics that stop the load" in out
    assert "Safe whatever the rhythm: 1.8 s" in out  # 0.5 % of 6 min
    assert "Written to results/plan-bank: story.txt, summary.json, plan.png" in out
    found = json.loads((here / "p.json").read_text())
    assert found["question"] == "plan"
    assert found["shortest_on_s"] == pytest.approx(360.0, abs=1.0)
    points = found["duration_h"]
    assert points["5"] < points["50"] < points["95"]
    story = (here / "results/plan-bank/story.txt").read_text()
    assert "Taken for granted:" in story
    assert "Taken for granted:" not in out


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ([], "without FILE: --rated-Ah, --chemistry, --cells-in-series not given"),
        (LABEL[:-2], "no load; expected --load-A or --load-W"),
        ([*LABEL, "--load-W", "5"], "--load-A and --load-W; expected only one"),
        (
            ["--rated-Ah", "9", "--chemistry", "oak", "--cells-in-series", "4"],
            "--chemistry = 'oak'",
        ),
        ([*LABEL, "--battery", "x"], "--battery = 'x'; expected only with FILE"),
        ([*LABEL, "--precision-percent", "0"], "--precision-percent = 0; expected"),
        (["bank.toml"], "2 batteries; expected --battery and one of: 'old', 'new'"),
        (["bank.toml", "--battery", "x"], "--battery = 'x'; expected one of: 'old', 'new'"),
        (["bank.toml", "--rated-Ah", "5"], "--rated-Ah = 5.0; expected only without a file"),
        (["bank.toml", "--starts-at", "8"], "--starts-at = '8'; expected 00:00 to 23:59"),
        (["none.toml"], "none.toml"),
        (["bank.toml", "--battery", "old", "--out", "bank.toml"], "is a file; expected a folder"),
    ],
)
def test_wrong_words_are_one_line(here, capsys, words, told):
    assert main(["plan", *words]) == 2
    out, err = capsys.readouterr()
    assert told in err
    assert len(err.strip().splitlines()) == 1
    assert out == ""
    assert os.listdir(here) == ["bank.toml"]

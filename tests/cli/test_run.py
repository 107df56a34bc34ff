import json
import os
import re

import pytest
from bench import TWO, write_bench

from bankSim.cli.main import main


@pytest.fixture
def here(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_run_tells_the_story_and_writes_beside_the_current_folder(here, capsys):
    (here / "deep").mkdir()
    assert main(["run", str(write_bench(here / "deep"))]) == 0
    out = capsys.readouterr().out
    assert out.startswith("Two on a bench\n\nThe bank delivers ")
    assert re.search(r'"(small|large)" cuts out first, after \d', out)
    folder = here / "results" / "bench"
    assert sorted(os.listdir(folder)) == [
        "cells.png", "charge.png", "current.png", "events.csv",
        "story.txt", "summary.json", "timeline.csv", "voltage.png",
    ]  # fmt: skip
    assert "Written to results/bench: story.txt, summary.json" in out
    assert (folder / "story.txt").read_text() in out


def test_json_to_standard_output_is_all_there_is(here, capsys):
    assert main(["run", str(write_bench(here)), "--json", "-"]) == 0
    out, err = capsys.readouterr()
    summary = json.loads(out)
    assert err == ""
    assert sorted(os.listdir(here)) == ["bench.toml", "curve.csv"]
    assert summary["bank"]["rated_Ah"] == 30.0
    assert 25.0 < summary["bank"]["delivered_Ah"] < 29.0
    assert set(summary["bank"]["cut_out_order"]) == {"small", "large"}


def test_json_dash_with_out_also_writes(here, capsys):
    assert main(["run", str(write_bench(here)), "--json", "-", "--out", "o", "--no-plots"]) == 0
    assert json.loads(capsys.readouterr().out) == json.loads((here / "o/summary.json").read_text())
    assert not list((here / "o").glob("*.png"))


def test_json_to_a_file(here, capsys):
    assert main(["run", str(write_bench(here)), "--json", "x.json", "--no-plots"]) == 0
    assert json.loads((here / "x.json").read_text())["title"] == "Two on a bench"
    assert "Written: x.json" in capsys.readouterr().out


def test_tolerances_reach_the_solver(here, capsys):
    words = ["run", str(write_bench(here)), "--json", "-"]
    assert main([*words, "--relative-tolerance", "1e-4", "--absolute-tolerance-A", "0.002"]) == 0
    numerics = json.loads(capsys.readouterr().out)["numerics"]
    assert (numerics["relative_tolerance"], numerics["absolute_tolerance_A"]) == (1e-4, 0.002)


@pytest.mark.parametrize("value", ["-1", "nan", "0"])
def test_a_tolerance_out_of_range_is_refused(here, capsys, value):
    assert main(["run", str(write_bench(here)), "--relative-tolerance", value]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert "tolerance" in err
    assert len(err.splitlines()) == 1
    assert not (here / "results").exists()


def test_all_faults_of_a_file_at_once_and_nothing_written(here, capsys):
    broken = TWO.replace("power_W", "powr_W").replace("Ah = 20.0", "Ah = -20.0")
    assert main(["run", str(write_bench(here, broken))]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert "bench.toml" in err
    assert "powr_W" in err
    assert "rated_capacity_Ah" in err
    assert "Traceback" not in err
    assert not (here / "results").exists()


@pytest.mark.parametrize("words", [["none.toml"], ["."], [""]])
def test_no_such_scenario_or_a_folder(here, capsys, words):
    assert main(["run", *words]) == 2
    err = capsys.readouterr().err
    assert len(err.splitlines()) == 1
    assert "Traceback" not in err


def test_a_binary_file_is_refused(here, capsys):
    (here / "b.toml").write_bytes(bytes(range(256)))
    assert main(["run", "b.toml"]) == 2
    assert len(capsys.readouterr().err.splitlines()) == 1


def test_out_that_is_a_file_is_refused(here, capsys):
    scenario = write_bench(here)
    assert main(["run", str(scenario), "--out", str(scenario)]) == 2
    assert "is a file; expected a folder" in capsys.readouterr().err


def test_json_into_a_folder_that_is_not_there(here, capsys):
    assert main(["run", str(write_bench(here)), "--json", "none/x.json", "--no-plots"]) == 2
    assert "none/x.json: cannot be written" in capsys.readouterr().err


def test_names_of_any_kind_come_through(here, capsys):
    name = "=H\u00fctte $x$ [red]"
    assert main(["run", str(write_bench(here, TWO.replace('"small"', f'"{name}"')))]) == 0
    assert f'"{name}"' in capsys.readouterr().out
    header = (here / "results/bench/timeline.csv").read_text(encoding="utf-8").splitlines()[0]
    assert f",'{name}.current_A," in header


def test_a_reader_who_leaves_early_still_gets_the_files(here, monkeypatch):
    def gone(story):
        raise BrokenPipeError

    monkeypatch.setattr("bankSim.cli.run.print_story", gone)
    monkeypatch.setattr("bankSim.cli.guard._drop_output", lambda: None)
    assert main(["run", str(write_bench(here)), "--no-plots"]) == 0
    assert (here / "results" / "bench" / "summary.json").exists()

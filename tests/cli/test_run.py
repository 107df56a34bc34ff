import json
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest
from bench import TWO, write_bench

from bankSim.cli.main import main

ROOT = Path(__file__).parents[2]


@pytest.fixture
def here(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_run_tells_the_story_and_writes_beside_the_current_folder(here, capsys):
    (here / "deep").mkdir()
    assert main(["run", str(write_bench(here / "deep"))]) == 0
    out = capsys.readouterr().out
    assert out.startswith("Two on a bench\n\nThe bank delivers ")
    assert re.search(r'"small" and "large" cut out together after \d', " ".join(out.split()))
    folder = here / "results" / "bench"
    assert sorted(os.listdir(folder)) == [
        "cells.png", "charge.png", "current.png", "events.csv", "lanes.png",
        "story.txt", "summary.json", "timeline.csv", "voltage.png",
    ]  # fmt: skip
    assert "Written to results/bench: story.txt, summary.json" in out
    story = (folder / "story.txt").read_text()
    assert out.startswith(story[: story.index("What switched, and why")])
    assert story[story.index("Safety") :] in out


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
    summary = json.loads((here / "o/summary.json").read_text())
    assert summary.pop("files") == ["story.txt", "summary.json", "timeline.csv", "events.csv"]
    assert json.loads(capsys.readouterr().out) == summary
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


def test_json_replaces_no_file_of_another_kind(here, capsys):
    other = here / "other.toml"
    other.write_text("mine")
    assert main(["run", "bench.toml", "--no-plots", "--json", "other.toml"]) == 2
    assert "no .json file" in capsys.readouterr().err
    assert other.read_text() == "mine"


def test_json_into_a_folder_that_is_not_there(here, capsys):
    assert main(["run", str(write_bench(here)), "--json", "none/x.json", "--no-plots"]) == 2
    assert "none/x.json: no such folder" in capsys.readouterr().err


def test_names_of_any_kind_come_through(here, capsys):
    name = "=H\u00fctte $x$ [red]"
    assert main(["run", str(write_bench(here, TWO.replace('"small"', f'"{name}"')))]) == 0
    assert f'"{name}"' in capsys.readouterr().out
    header = (here / "results/bench/timeline.csv").read_text(encoding="utf-8").splitlines()[0]
    assert f",'{name}.current_A," in header


@pytest.fixture
def unsolved(monkeypatch):
    """No run may begin: what is wrong with a target is told before any work."""

    def never(*args, **kwargs):
        raise AssertionError("the run began")

    monkeypatch.setattr("bankSim.cli.run.predict", never)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--json", "bench.toml"], "bench.toml: this run is read from it"),
        (["--json", "curve.csv"], "curve.csv: this run is read from it"),
        (["--json", "link.json"], "link.json: this run is read from it"),
        (["--json", "deep"], "deep: is a folder"),
        (["--json", "pipe"], "pipe: is no ordinary file"),
        (["--json", "/dev/null"], "/dev/null: is no ordinary file"),
        (["--json", "none/x"], "none/x: no such folder"),
        (["--json", ""], "--json = ''"),
        (["--out", ""], "--out = ''"),
        (["--out", "bench.toml"], "bench.toml: is a file"),
    ],
)
def test_a_target_that_would_do_harm_is_refused_before_the_run(here, capsys, unsolved, words, said):
    scenario = write_bench(here)
    (here / "link.json").symlink_to(scenario)
    (here / "deep").mkdir()
    os.mkfifo(here / "pipe")
    before = sorted(os.listdir(here))
    assert main(["run", "bench.toml", *words]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert said in err
    assert len(err.splitlines()) == 1
    assert scenario.read_text() == TWO
    assert sorted(os.listdir(here)) == before


def test_a_table_with_the_name_of_a_result_is_not_replaced(here, capsys, unsolved):
    write_bench(here, TWO.replace("curve.csv", "timeline.csv"))
    (here / "timeline.csv").write_text("precious")
    assert main(["run", "bench.toml", "--out", "."]) == 2
    assert "timeline.csv: this run is read from it" in capsys.readouterr().err


@pytest.mark.parametrize(("name", "folder"), [("...toml", "scenario"), ("...x. .toml", "x")])
def test_no_name_of_a_scenario_leads_out_of_the_results_folder(here, capsys, name, folder):
    write_bench(here, name=name)
    assert main(["run", name, "--no-plots"]) == 0
    assert os.listdir(here / "results") == [folder]
    assert "summary.json" in os.listdir(here / "results" / folder)


def test_figures_of_others_are_left_and_named(here, capsys):
    folder = here / "o"
    folder.mkdir()
    (folder / "cells.png").write_bytes(b"mine")
    assert main(["run", str(write_bench(here)), "--out", "o", "--no-plots"]) == 0
    assert (folder / "cells.png").read_bytes() == b"mine"
    assert "left as it was in o: cells.png" in capsys.readouterr().out


def test_ctrl_c_while_drawing_leaves_no_folder(here, monkeypatch, capsys):
    def stopped(result):
        raise KeyboardInterrupt

    monkeypatch.setattr("bankSim.show.figures.all_figures", stopped)
    assert main(["run", str(write_bench(here))]) == 130
    assert not (here / "results").exists()
    assert capsys.readouterr().err == "Stopped.\n"


@pytest.mark.skipif(not os.path.exists("/dev/full"), reason="no device that is always full")
@pytest.mark.parametrize("words", [["run", "bench.toml", "--no-plots"], ["--help"]])
def test_a_full_disk_behind_standard_output_is_one_line(here, words):
    write_bench(here)
    with open("/dev/full", "w") as full:
        done = subprocess.run(
            [sys.executable, "-m", "bankSim", *words], stdout=full, stderr=subprocess.PIPE,
            text=True, check=False, env={**os.environ, "PYTHONPATH": str(ROOT)},
        )  # fmt: skip
    assert done.returncode == 2
    assert done.stderr == "output cannot be written (No space left on device)\n"


def test_a_reader_who_leaves_early_still_gets_the_files(here, monkeypatch):
    def gone(story):
        raise BrokenPipeError

    monkeypatch.setattr("bankSim.cli.run.print_story", gone)
    monkeypatch.setattr("bankSim.cli.guard._drop", lambda stream: None)
    assert main(["run", str(write_bench(here)), "--no-plots"]) == 0
    assert (here / "results" / "bench" / "summary.json").exists()

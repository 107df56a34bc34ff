"""Odd surroundings: locales, closed or full standard output, no display, no ngspice."""

import json
import os
import sys

import pytest
from fault_bench import BANK, furnish, program

from bankSim.cli.guard import safe_streams

pytestmark = pytest.mark.skipif(os.name != "posix", reason="shells of another kind")

LOCALES = {
    "C": {"LC_ALL": "C", "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0"},
    "POSIX in ASCII": {"LC_ALL": "POSIX", "PYTHONUTF8": "0", "PYTHONIOENCODING": "ascii"},
    "decimal commas": {"LC_ALL": "de_DE.UTF-8", "LANG": "de_DE.UTF-8"},
    "Latin 1": {"PYTHONIOENCODING": "latin-1", "PYTHONUTF8": "0"},
}
RUN = ["run", "bänk.toml", "--out", "für", "--no-plots"]


@pytest.fixture
def desk(tmp_path):
    furnish(tmp_path)
    (tmp_path / "bänk.toml").write_text(BANK, encoding="utf-8")
    return tmp_path


@pytest.mark.parametrize("name", ["C", "decimal commas", "Latin 1"])
def test_files_are_the_same_in_any_locale(name, desk):
    done = program(RUN, desk, **LOCALES[name])
    assert (done.returncode, done.stderr) == (0, b"")
    summary = json.loads((desk / "für" / "summary.json").read_bytes())
    assert summary["batteries"][0]["name"] == "älter"
    story = (desk / "für" / "story.txt").read_bytes().decode("utf-8")
    assert "Zwölf Volt für die Hütte" in story
    assert "älter" in (desk / "für" / "timeline.csv").read_bytes().decode("utf-8")


def test_a_report_in_a_locale_of_ascii(desk):
    words = ["report", "bänk.toml", "--no-draws", "--out", "büro.html"]
    done = program(words, desk, **LOCALES["C"])
    assert (done.returncode, done.stderr) == (0, b"")
    page = (desk / "büro.html").read_bytes().decode("utf-8")
    assert "Zwölf Volt" in page
    assert (desk / "büro-data.zip").is_file()


def test_a_study_in_a_locale_of_ascii(desk):
    words = ["study", "bänk.toml", "--draws", "20", "--no-plots", "--out", "für"]
    done = program(words, desk, **LOCALES["POSIX in ASCII"])
    assert (done.returncode, done.stderr) == (0, b"")
    assert "Hütte" in (desk / "für" / "story.txt").read_bytes().decode("utf-8")


@pytest.mark.parametrize(
    ("shell", "code", "told"),
    [
        ("BANKSIM >/dev/full", 2, b"output cannot be written (No space left on device)\n"),
        ("BANKSIM >/dev/full 2>/dev/full", 2, b""),
        ("BANKSIM >&- 2>&-", 0, b""),
        ("BANKSIM | head -n 1 >/dev/null", 0, b""),
    ],
)
def test_files_are_written_whoever_reads(shell, code, told, desk):
    done = program(RUN, desk, shell=shell)
    assert (done.returncode, done.stderr) == (code, told)
    assert json.loads((desk / "für" / "summary.json").read_bytes())["files"]


def test_a_refusal_into_a_full_place_keeps_its_code(desk):
    done = program(["run", "none.toml"], desk, shell="BANKSIM 2>/dev/full")
    assert done.returncode == 2
    done = program(["run", "none.toml"], desk, shell="BANKSIM >&- 2>&-")
    assert done.returncode == 2


def test_json_on_a_closed_output(desk):
    done = program(["run", "bänk.toml", "--json", "-"], desk, shell="BANKSIM >&-")
    assert (done.returncode, done.stderr) == (0, b"")


def test_figures_need_no_display(desk):
    words = ["run", "bank.toml", "--out", "r"]
    done = program(words, desk, DISPLAY=None, WAYLAND_DISPLAY=None, MPLBACKEND="no_such_thing")
    assert (done.returncode, done.stderr) == (0, b"")
    assert (desk / "r" / "lanes.png").stat().st_size > 10_000


def test_no_ngspice_and_no_browser(desk):
    done = program(["crosscheck", "bank.toml"], desk, NGSPICE_LIBRARY_PATH="/nowhere.so", PATH="")
    assert done.returncode == 2
    (line,) = done.stderr.decode().splitlines()
    assert "the ngspice library was not found" in line
    assert program(["netlist", "bank.toml"], desk, NGSPICE_LIBRARY_PATH="", PATH="").returncode == 0


def test_closed_streams_swallow_what_is_printed(monkeypatch):
    monkeypatch.setattr(sys, "stdout", None)
    monkeypatch.setattr(sys, "stderr", None)
    safe_streams()
    print("dropped")
    print("dropped", file=sys.stderr)
    assert sys.stdout.name == os.devnull

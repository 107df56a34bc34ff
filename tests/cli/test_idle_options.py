"""An option that would be taken without effect is refused, before any file is read."""

import pytest

from bankSim.cli import log as log_command
from bankSim.cli.greedy import gathered, without_minus
from bankSim.cli.log_options import about_columns, asked_of
from bankSim.cli.main import main

NO_LOG = ["gauge", "--typed-voltage", "13.1"]
RUN, LOG = ["gauge", "none.toml"], ["gauge", "none.csv"]
TYPED = ["snapshot", "2.31", "2.52"]


@pytest.fixture(autouse=True)
def here(tmp_path, monkeypatch):
    """An empty folder: whatever was read would be missed first."""
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ([*NO_LOG, "--battery", "a"], "--battery: goes with a scenario (.toml) only"),
        ([*NO_LOG, "--start-percent", "50"], "--start-percent: goes with a log only"),
        ([*NO_LOG, "--sign", "charge"], "--sign: goes with a log only"),
        ([*RUN, "--at-A", "3"], "--at-A: goes with --typed-voltage only"),
        ([*RUN, "--rated-Ah", "90"], "--rated-Ah: goes with a log or --typed-voltage only"),
        ([*RUN, "--start-percent", "50"], "--start-percent: goes with a log only"),
        ([*RUN, "--voltage", "2"], "--voltage: goes with a log only"),
        ([*LOG, "--at-A", "3"], "--at-A: goes with --typed-voltage only"),
        ([*LOG, "--battery", "a"], "--battery: goes with a scenario (.toml) only"),
        ([*TYPED, "--cells", "3,4"], "--cells: goes with --log only"),
        ([*TYPED, "--time", "1"], "--time: goes with --log only"),
        ([*TYPED, "--sign", "discharge"], "--sign: goes with --log only"),
        (["test", "a.csv", "--peukert", "1.2"], "--peukert: goes with --correct rate only"),
        (
            ["test", "a.csv", "--correct", "temperature", "--to-rate-h", "10"],
            "--to-rate-h: goes with --correct rate only",
        ),
        (
            ["report", "a.toml", "--no-draws", "--seed", "3"],
            "--seed: has no effect with --no-draws",
        ),
        (
            ["report", "a.toml", "--no-draws", "--draws", "20"],
            "--draws: has no effect with --no-draws",
        ),
        (
            ["study", "a.toml", "--threads", "2", "--cluster", "tcp://10.0.0.5:8786"],
            "--threads: has no effect with --cluster; expected one of both",
        ),
        (
            ["study", "a.toml", "--fresh", "--json", "-"],
            "--fresh: has no effect with --json - without --out: no cases are kept",
        ),
        (["log", "a.csv", "--bdf", "b.json", "--json", "./b.json"], "--bdf = 'b.json': written tw"),
        (
            ["calibrate", "a.csv", "--battery", "b.json", "--json", "b.json"],
            "--battery = 'b.json': written twice; expected another file name",
        ),
    ],
)
def test_one_line_and_2(here, capsys, words, told):
    assert main(words) == 2
    out, err = capsys.readouterr()
    assert err.startswith(told)
    assert (out, err.count("\n")) == ("", 1)
    assert list(here.iterdir()) == []


@pytest.mark.parametrize(
    ("words", "missing"),
    [
        ([*RUN, "--battery", "a", "--cells-in-series", "4"], "none.toml"),
        ([*LOG, "--start-percent", "50", "--rated-Ah", "90", "--sign", "charge"], "none.csv"),
        (["test", "a.csv", "--correct", "rate", "--to-rate-h", "10", "--peukert", "1.1"], "a.csv"),
        (["test", "a.csv"], "a.csv"),
        (["report", "a.toml", "--draws", "20", "--seed", "3"], "a.toml"),
        (["report", "a.toml", "--no-draws"], "a.toml"),
        (["study", "a.toml", "--threads", "2", "--fresh"], "a.toml"),
        (["study", "a.toml", "--fresh", "--json", "-", "--out", "o"], "a.toml"),
        (["log", "a.csv", "--bdf", "b.csv", "--json", "b.json"], "a.csv"),
    ],
)
def test_where_it_has_an_effect_the_file_is_read_next(capsys, words, missing):
    assert main(words) == 2
    assert capsys.readouterr().err.startswith(f"{missing}: ")


@pytest.mark.parametrize(
    ("place", "option"),
    [
        (0, "--time"), (1, "--voltage"), (2, "--current"), (3, "--temperature"), (4, "--cells"),
        (5, "--sign"),
    ],
)  # fmt: skip
def test_each_option_about_columns_is_known_by_its_own_name(place, option):
    words = [None, None, None, None, None, "auto"]
    words[place] = "charge" if option == "--sign" else "3"
    assert [name for name, given in about_columns(asked_of(*words)).items() if given] == [option]


def test_a_reader_who_leaves_early_does_not_cost_the_open_format(here, monkeypatch):
    rows = "\n".join(f"{60 * k},-5.0,{13.2 - k / 100:.2f}" for k in range(20))
    (here / "a.csv").write_text(f"time_s,current_A,voltage_V\n{rows}\n")

    def gone(_):
        raise BrokenPipeError

    monkeypatch.setattr("bankSim.cli.hand_over.print_story", gone)
    asked = asked_of(None, None, None, None, None, "auto")
    with pytest.raises(BrokenPipeError):
        log_command.show_log(here / "a.csv", asked, here / "b.csv", None, None)
    assert len((here / "b.csv").read_text().splitlines()) == 21  # the header and each sample


def test_a_negative_voltage_without_its_nought_is_told_as_a_voltage(capsys):
    assert without_minus(["2.9", "-.5"]) == ["2.9", "\N{MINUS SIGN}.5"]
    assert without_minus(["--temperature-C", "-.5"]) == ["--temperature-C", "-.5"]
    assert gathered(["--full", "3.4", "-.5"], ("--full",)) == ["--full", "3.4 -.5"]
    assert main(["snapshot", "2.9", "-.5"]) == 2
    assert "-.5 is no cell voltage but below 0" in capsys.readouterr().err

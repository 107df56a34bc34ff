"""The command log, as a person types it."""

import json

import pytest
from measured.log_texts import comma, falling, volts, write

from bankSim.cli.main import main


@pytest.fixture
def bench(tmp_path, monkeypatch):
    """A folder that is the current one, with a log in it."""
    monkeypatch.chdir(tmp_path)
    head = "Zeit;Spannung;Strom;Leistung (W)\n"
    text = falling(head, lambda i: f"{10 * i};{comma(volts(i))};-5,0;60")
    write(tmp_path, text, "bench.csv")
    return tmp_path


def test_tells_how_the_log_was_read(bench, capsys):
    assert main(["log", "bench.csv"]) == 0
    told = capsys.readouterr().out
    assert "60 samples over 9.83 min: on balance the battery gave 0.819 Ah" in told
    for words in ("Leistung (W)", "not used", "charge positive", "voltage falls", "10.0 s"):
        assert words in told
    assert "Safety" in told
    assert [one.name for one in bench.iterdir()] == ["bench.csv"]


def test_summary_as_json(bench, capsys):
    assert main(["log", "bench.csv", "--json", "-", "--sign", "discharge"]) == 0
    told = json.loads(capsys.readouterr().out)
    # Closed form: 5 A over 590 s, here said to be charge.
    assert told["given_Ah"] == pytest.approx(-5.0 * 590.0 / 3600.0)
    assert told["columns"][2] == {
        "column": "Strom", "number": 3, "read_as": "current", "unit": "A", "asked": False,
    }  # fmt: skip
    assert told["sign_reason"] == "as given on the command line"


def test_writes_the_open_format_and_reads_it_back(bench, capsys):
    assert main(["log", "bench.csv", "--bdf", "bench.bdf.csv", "--out", "told"]) == 0
    lines = (bench / "bench.bdf.csv").read_text().splitlines()
    assert lines[:2] == ["Test Time / s,Voltage / V,Current / A", "0.0,12.8,-5.0"]
    assert {one.name for one in (bench / "told").iterdir()} == {"story.txt", "summary.json"}
    assert main(["log", "bench.bdf.csv"]) == 0
    assert "gave 0.819 Ah" in capsys.readouterr().out.split("Log bench.bdf.csv")[1]


@pytest.mark.parametrize(
    ("words", "why"),
    [
        (["none.csv"], "no such file"),
        (["."], "is a folder"),
        (["bench.csv", "--sign", "up"], "--sign"),
        (["bench.csv", "--bdf", "bench.csv"], "read from it"),
        (["bench.csv", "--time", "9"], "--time"),
        (["bench.csv", "--bdf", "no/where.csv"], "no such folder"),
        (["bench.csv", "--cells", "2,2"], "twice"),
    ],
)
def test_refused_on_one_line(bench, capsys, words, why):
    before = (bench / "bench.csv").read_bytes()
    assert main(["log", *words]) == 2
    out, err = capsys.readouterr()
    assert not out
    assert why in err
    assert err.count("\n") == 1
    assert (bench / "bench.csv").read_bytes() == before

import csv
import json
import os

import numpy as np
import pytest

from bankSim.cli.main import main

ONE = """
[simulation]
duration_h = 1.0
stop = "end"
[[battery]]
name = "house"
chemistry = "LFP"
cells_in_series = 4
rated_capacity_Ah = 10.0
[[battery]]
name = "spare"
chemistry = "AGM"
cells_in_series = 6
rated_capacity_Ah = 10.0
[[load]]
name = "lamp"
current_A = 5.0
"""


@pytest.fixture
def here(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "one.toml").write_text(ONE)
    time = np.linspace(0.0, 8 * 3600.0, 97)
    rows = [f"{t:g},-10.0,{13.35 - 0.6 * t / 36000.0:.6f}" for t in time]
    (tmp_path / "log.csv").write_text("\n".join(["time_s,current_A,voltage_V", *rows]) + "\n")
    lead = "\n".join(f"{60 * k},-1.0,{12.6 - k / 100:.2f}" for k in range(60))
    (tmp_path / "lead.csv").write_text(f"time_s,current_A,voltage_V\n{lead}\n")
    (tmp_path / "table.csv").write_text(
        "voltage_V,state_of_charge_percent\n12.8,0\n13.1,50\n13.4,100\n"
    )
    return tmp_path


def test_a_log_against_a_table_of_ones_own(here, capsys):
    words = ["gauge", "log.csv", "--table", "table.csv", "--rated-Ah", "100"]
    assert main([*words, "--json", "s.json"]) == 0
    out = " ".join(capsys.readouterr().out.split())
    # V = 12.8 + 0.6 z - 10 A x 5 mohm: -8.333 points at every instant
    assert "off by up to 8.3 points" in out
    assert "within 10 points of the counted remainder in 100 % of the time" in out
    folder = here / "results" / "gauge-log"
    assert sorted(os.listdir(folder)) == ["gauge.csv", "gauge.png", "story.txt", "summary.json"]
    summary = json.loads((here / "s.json").read_text())
    found = summary["batteries"][0]["table"]["largest_under"]
    assert found["error_points"] == pytest.approx(-8.333, abs=1e-3)
    with (folder / "gauge.csv").open() as page:
        rows = list(csv.DictReader(page))
    assert len(rows) == 97
    assert float(rows[-1]["counted_Ah"]) == pytest.approx(80.0)
    assert float(rows[-1]["error_points"]) == pytest.approx(-8.333, abs=1e-3)


def test_every_battery_of_a_run_or_one(here, capsys):
    assert main(["gauge", "one.toml", "--json", "-"]) == 0
    both = json.loads(capsys.readouterr().out)
    assert [one["name"] for one in both["batteries"]] == ['"house"', '"spare"']
    assert not (here / "results").exists()
    assert main(["gauge", "one.toml", "--battery", "spare", "--json", "-"]) == 0
    one = json.loads(capsys.readouterr().out)
    assert one["batteries"] == both["batteries"][1:]


def test_one_typed_voltage_writes_nothing(here, capsys):
    before = sorted(os.listdir(here))
    assert main(["gauge", "--typed-voltage", "13.09", "--at-A", "3.3"]) == 0
    out = " ".join(capsys.readouterr().out.split())
    # common practice, no source: 85 % shown, 35 % left
    assert "a straight line from 10 to 13.6 V shows 86 %" in out
    assert "taken as LFP" in out
    assert sorted(os.listdir(here)) == before


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ([], "expected either FILE or --typed-voltage"),
        (["log.csv", "--typed-voltage", "13"], "expected either FILE or --typed-voltage"),
        (["lead.csv"], "lead.csv: 12.3 V may be lithium or lead; say --chemistry and"),
        (["log.csv", "--chemistry", "lead", "--cells-in-series", "6"], "'lead'; expected one of"),
        (["log.csv", "--table", "no.csv"], "no.csv: cannot be read"),
        (["log.csv", "--table", "log.csv"], "header 'time_s,current_A,voltage_V'"),
        (["log.csv", "--table", "table.csv", "--rated-Ah", "-3"], "--rated-Ah = -3; expected"),
        (["log.csv", "--table", "table.csv", "--start-percent", "nan"], "--start-percent = nan"),
        (["log.csv", "--table", "table.csv", "--battery", "x"], "goes with a scenario"),
        (["one.toml", "--battery", "x"], "--battery = 'x'; expected one of: 'house', 'spare'"),
        (["--typed-voltage", "52"], "--typed-voltage = 52; expected near 10 to 13.6 V"),
        (["--typed-voltage", "13", "--chemistry", "oak"], "'oak'; expected one of: LFP"),
        (["log.csv", "--table", "table.csv", "--out", " "], "--out = ' '; expected the name"),
        (["log.csv", "--table", "table.csv", "--json", "table.csv"], "read from it"),
        (["none.toml"], "none.toml"),
    ],
)
def test_wrong_words_are_one_line(here, capsys, words, told):
    before = sorted(os.listdir(here))
    assert main(["gauge", *words]) == 2
    out, err = capsys.readouterr()
    assert told in err
    assert len(err.strip().splitlines()) == 1
    assert out == ""
    assert sorted(os.listdir(here)) == before


def test_a_log_of_a_flat_voltage_tells_its_chemistry(here, capsys):
    rows = "\n".join(f"{60 * k},-1.0,{13.3 - k / 400:.3f}" for k in range(60))
    (here / "flat.csv").write_text(f"time_s,current_A,voltage_V\n{rows}\n")
    assert main(["gauge", "flat.csv", "--no-plots"]) == 0
    assert "No --chemistry: LFP taken" in " ".join(capsys.readouterr().out.split())

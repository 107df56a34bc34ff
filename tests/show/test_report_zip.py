"""The data beside a report: complete, the same each time, safe names, no formulas."""

import csv
import io
import json
import zipfile
from dataclasses import replace

import made_up
import pytest
from hostile import NAMES

from bankSim.scenario.read import read_scenario
from bankSim.show.report_data import read_tables, report_data_zip, safe_name, table_places
from bankSim.show.report_pictures import run_pictures
from bankSim.sim.run import simulate

BANK = """
[[battery]]
name = "=1+1"
cells_in_series = 4
rated_capacity_Ah = 10.0
[battery.cell]
capacity_Ah = 10.0
ocv_table = "curves/one.csv"
ohmic_mohm = 1.0
[[load]]
name = "lamp"
power_W = 60.0
"""
CURVE = "state_of_charge,voltage_V\n0.0,2.5\n0.1,3.1\n0.9,3.3\n1.0,3.4\n"
BAD = ("/etc/passwd", "../../up.csv", "C:\\x\\y.csv", "con.csv", "a\x00b.csv", ".csv", "a b.csv",
       "contents.txt", "tables/1-a.csv", "\u202egnp.csv",
       *(name for name in NAMES if not name.isalpha()))  # fmt: skip


@pytest.fixture
def run(tmp_path):
    (tmp_path / "curves").mkdir()
    (tmp_path / "curves" / "one.csv").write_text(CURVE)
    (tmp_path / "bank.toml").write_text(BANK)
    return simulate(read_scenario(tmp_path / "bank.toml"))


def unpacked(content):
    with zipfile.ZipFile(io.BytesIO(content)) as pack:
        assert pack.testzip() is None
        return {name: pack.read(name) for name in pack.namelist()}


def test_it_holds_what_the_report_was_made_of(run):
    pictures = run_pictures(run)
    files = unpacked(report_data_zip(run, "<p>page</p>", pictures=pictures))
    assert files["scenario.toml"].decode() == run.scenario.text
    assert files["curves/one.csv"].decode() == CURVE
    assert files["report.html"] == b"<p>page</p>"
    summary = json.loads(files["summary.json"])
    assert summary["bank"]["delivered_Ah"] == run.bank.delivered_Ah
    assert "10 Ah on the label" in files["story.txt"].decode()
    assert {f"figures/{name}.png" for name in pictures} <= set(files)
    told = files["contents.txt"].decode()
    assert "scenario.toml: bank.toml" in told
    assert "report.html" not in unpacked(report_data_zip(run))


def test_the_scenario_runs_from_the_unpacked_folder(run, tmp_path):
    place = tmp_path / "elsewhere"
    with zipfile.ZipFile(io.BytesIO(report_data_zip(run))) as pack:
        pack.extractall(place)
    again = simulate(read_scenario(place / "scenario.toml"))
    assert again.bank.delivered_Ah == run.bank.delivered_Ah


def test_the_same_inputs_give_the_same_bytes(run):
    one, two = report_data_zip(run), report_data_zip(run)
    assert one == two
    with zipfile.ZipFile(io.BytesIO(one)) as pack:
        assert {entry.date_time for entry in pack.infolist()} == {(1980, 1, 1, 0, 0, 0)}


def test_spreadsheets_find_no_formula(run):
    files = unpacked(report_data_zip(run))
    for name in ("timeline.csv", "events.csv"):
        for row in csv.reader(io.StringIO(files[name].decode())):
            for cell in row:
                assert not cell.startswith(("=", "@", "+")), cell
                if cell.startswith("-"):
                    float(cell)
    assert any("'=1+1" in row for row in files["timeline.csv"].decode().splitlines()[:1])


def test_names_of_tables_are_safe():
    places = table_places(dict.fromkeys((*BAD, "ok.csv", "folder/ok.csv"), b""))
    assert places["ok.csv"] == "ok.csv"
    assert places["folder/ok.csv"] == "folder/ok.csv"
    assert len({place.casefold() for place in places.values()}) == len(places)
    for name in BAD:
        place = places[name]
        assert place.startswith("tables/"), name
        last = place.removeprefix("tables/")
        assert set(last) <= set("abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-_.")
        assert ".." not in last
        assert len(last) < 80
        assert last.rpartition("-")[2].partition(".")[0].casefold() != "con"


def test_names_that_differ_in_case_only_do_not_meet():
    places = table_places({"A.csv": b"1", "a.csv": b"2"})
    assert len({place.casefold() for place in places.values()}) == 2


def test_a_plain_name_stays():
    assert safe_name("curve-1_b.csv") == "curve-1_b.csv"
    assert safe_name("nul.csv") != "nul.csv"


def test_a_table_that_is_gone_is_told(run, tmp_path):
    (tmp_path / "curves" / "one.csv").unlink()
    assert read_tables(run.scenario) == {}
    told = unpacked(report_data_zip(run))["contents.txt"].decode()
    assert "not found any more: curves/one.csv" in told


def test_a_scenario_without_a_file_has_data():
    made = made_up.pair()
    files = unpacked(report_data_zip(replace(made, scenario=replace(made.scenario, file=""))))
    assert "scenario.toml" not in files
    assert "made in the program" in files["contents.txt"].decode()

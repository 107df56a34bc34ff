"""Every shipped scenario runs, and shows what the comment at its top says.

The claims are those of the comments; limits are loose, so that better typical values do not break
them, and each asks for the thing that the scenario is there to show.
"""

import json
from pathlib import Path

import pytest

from bankSim import read_scenario, simulate
from bankSim.cli.main import main

SCENARIOS = Path(__file__).parents[2] / "scenarios"
SHIPPED = sorted(SCENARIOS.glob("*.toml"))


@pytest.fixture
def predicted(capsys, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)

    def run(name):
        assert main(["run", str(SCENARIOS / f"{name}.toml"), "--no-plots", "--json", "-"]) == 0
        out, err = capsys.readouterr()
        assert err == ""
        return json.loads(out)

    return run


def events(summary, what, battery=None):
    return [e for e in summary["events"] if e["what"] == what and battery in (None, e["battery"])]


def topics(summary):
    return {caution["topic"] for caution in summary["cautions"]}


def batteries(summary):
    return {battery["name"]: battery for battery in summary["batteries"]}


@pytest.mark.parametrize("file", SHIPPED, ids=lambda file: file.stem)
def test_runs_and_begins_with_what_to_look_for(file, predicted):
    comment = file.read_text(encoding="utf-8").split("title =")[0]
    assert "# What to look for: " in comment
    summary = predicted(file.stem)
    assert summary["bank"]["delivered_Ah"] > 1.0
    assert abs(summary["bank"]["ledger_residual_Ah"]) < 1e-9


@pytest.mark.parametrize("file", SHIPPED, ids=lambda file: file.stem)
def test_is_in_the_readme(file):
    readme = (SCENARIOS.parent / "README.md").read_text(encoding="utf-8")
    assert f"`{file.name}`" in readme


def test_the_older_block_decides_for_its_string(predicted):
    summary = predicted("two-strings")
    older, newer = batteries(summary).values()
    assert older["delivered_Ah"] < newer["delivered_Ah"] - 10.0
    # by hand: six cells of 81 and six of 108 Ah under one current: half of 27 Ah is out of reach
    assert older["stranded_Ah"] == pytest.approx(13.5, abs=0.3)


def test_one_pack_holds_back_for_hours_and_returns_with_a_surge(predicted):
    summary = predicted("holds-back")
    (trip,), (release,) = events(summary, "trip"), events(summary, "release")
    assert (trip["battery"], trip["watches"]) == ("uneven", "highest cell voltage")
    assert trip["cell"] == 3
    assert release["time_h"] - trip["time_h"] > 12.0
    assert batteries(summary)["uneven"]["peak_discharge_A"] > 40.0  # its label
    assert any("comes back" in topic or "come-back" in topic for topic in topics(summary))


def test_one_trip_takes_the_others_along_and_the_lamps_keep_the_first_out(predicted):
    summary = predicted("cascade")
    trips = events(summary, "trip")
    assert trips[0]["battery"] == "new"
    assert {trip["battery"] for trip in trips} == {"old 1", "old 2", "new"}
    assert trips[-1]["time_h"] - trips[0]["time_h"] < 10.0 / 3600.0
    assert "over-current cascade" in topics(summary)
    back = {event["battery"]: event["time_h"] for event in events(summary, "release")}
    assert max(back["old 1"], back["old 2"]) < trips[-1]["time_h"] + 60.0 / 3600.0
    assert back["new"] > 3.5  # the lamps are switched off then


def test_only_the_heated_pack_is_charged_by_the_generator(predicted):
    summary = predicted("winter-hut")
    found = batteries(summary)
    assert found["heated"]["charged_Ah"] > 5.0 * found["plain 1"]["charged_Ah"] > 1.0
    assert found["heated"]["peak_charge_A"] > 40.0  # its label
    watched = {event["watches"] for event in events(summary, "trip")}
    assert watched == {"temperature"}
    assert max(found["plain 1"]["final_state_of_charge"]) < 0.6


def test_lithium_does_the_work_first(predicted):
    summary = predicted("lfp-beside-agm")
    timeline = simulate(read_scenario(SCENARIOS / "lfp-beside-agm.toml")).timeline()
    after_10_h = timeline.iloc[(timeline["time_s"] - 36_000.0).abs().argmin()]
    assert after_10_h["lithium.state_of_charge"] < 0.6
    assert after_10_h["AGM.state_of_charge"] > 0.97
    assert "lithium beside lead-acid" in topics(summary)
    assert summary["joining"] is not None
    found = batteries(summary)
    assert found["AGM"]["peak_charge_A"] > 25.0  # its label, at the first connection
    assert min(min(b["final_state_of_charge"]) for b in found.values()) > 0.95


def test_sun_brings_a_flat_bank_back(predicted):
    summary = predicted("three-days-of-sun")
    trips, releases = events(summary, "trip"), events(summary, "release")
    assert [trip["battery"] for trip in trips] == ["large", "small"]
    assert trips[0]["cell"] == 2
    assert trips[-1]["time_h"] < 12.25 < releases[0]["time_h"]  # sunrise
    assert len(events(summary, "load cut off")) == len(events(summary, "load restarts")) == 2
    assert len(events(summary, "charger stage")) == 3


def test_the_boat_s_inverter_gives_up_before_the_bank(predicted):
    summary = predicted("boat")
    (gives_up,) = events(summary, "load cut off")
    assert 86.5 <= gives_up["time_h"] < 86.6
    assert events(summary, "trip")[0]["time_h"] > 87.0
    assert len(events(summary, "trip")) == 3

import json
import tomllib

import pytest
from bench import TWO, write_bench

from bankSim.cli.crosscheck import differences
from bankSim.cli.main import main
from bankSim.crosscheck.compare import Comparison
from bankSim.crosscheck.compare_lines import Line
from bankSim.show.printing import story_text


def test_new_writes_a_scenario_that_runs(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    assert main(["new", "mine.toml"]) == 0
    assert "banksim run mine.toml" in capsys.readouterr().out
    assert "battery" in tomllib.loads((tmp_path / "mine.toml").read_text())
    assert main(["run", "mine.toml", "--json", "-"]) == 0
    assert json.loads(capsys.readouterr().out)["bank"]["delivered_Ah"] > 0.0


def test_new_overwrites_nothing(tmp_path, capsys):
    file = tmp_path / "mine.toml"
    file.write_text("precious")
    assert main(["new", str(file)]) == 2
    assert str(file) in capsys.readouterr().err
    assert file.read_text() == "precious"


def test_new_into_a_folder_that_is_not_there(tmp_path, capsys):
    assert main(["new", str(tmp_path / "none" / "mine.toml")]) == 2
    assert len(capsys.readouterr().err.splitlines()) == 1


def test_schema_is_printed_or_written(tmp_path, capsys):
    assert main(["schema"]) == 0
    printed = json.loads(capsys.readouterr().out)
    assert "battery" in printed["properties"]
    assert main(["schema", "--out", str(tmp_path / "s.json")]) == 0
    assert json.loads((tmp_path / "s.json").read_text()) == printed
    assert f"Written: {tmp_path / 's.json'}" in capsys.readouterr().out


def test_netlist_is_printed_or_written(tmp_path, capsys):
    scenario = write_bench(tmp_path, TWO.replace("Two on a bench", ".include /etc/passwd"))
    assert main(["netlist", str(scenario)]) == 0
    deck = capsys.readouterr().out
    assert deck.rstrip().endswith(".end")
    assert not any(line.startswith(".include") for line in deck.splitlines())
    assert main(["netlist", str(scenario), "--out", str(tmp_path / "b.cir")]) == 0
    assert (tmp_path / "b.cir").read_text() == deck
    assert f"Written: {tmp_path / 'b.cir'}" in capsys.readouterr().out


def test_netlist_and_schema_refuse_a_harmful_target(tmp_path, capsys):
    scenario = write_bench(tmp_path)
    for words in (
        ["netlist", str(scenario), "--out", str(scenario)],
        ["netlist", str(scenario), "--out", str(tmp_path / "curve.csv")],
        ["netlist", str(scenario), "--out", str(tmp_path)],
        ["schema", "--out", "/dev/null"],
        ["schema", "--out", str(tmp_path / "none" / "s.json")],
        ["schema", "--out", ""],
    ):
        assert main(words) == 2
        assert len(capsys.readouterr().err.splitlines()) == 1
    assert scenario.read_text() == TWO


@pytest.mark.ngspice
@pytest.mark.usefixtures("spice")
def test_crosscheck_agrees_on_a_small_bank(tmp_path, capsys):
    assert main(["crosscheck", str(write_bench(tmp_path))]) == 0
    out = capsys.readouterr().out
    assert "AGREES: every difference is within its limit." in out
    assert "small delivered" in out


@pytest.mark.parametrize(
    ("count", "told"), [(0, "AGREES: "), (1, "one thing is"), (3, "3 things are")]
)
def test_what_is_left_out_stands_in_the_verdict(count, told):
    line = Line("a delivered", "Ah", 10.0, 10.0, 0.0, "%", 0.1, True)
    notes = ("ngspice took steps.", *["Left out of the netlist: something."] * count)
    (verdict,) = differences("t", Comparison((line,), notes, 2.0, expressible=True)).headline
    assert told in verdict
    assert verdict.endswith("left out." if count else "limit.")


def test_differences_lead_with_the_verdict():
    lines = (
        Line("a delivered", "Ah", 10.0, 10.5, -4.7619, "%", 0.1, False),
        Line("a cuts out", "s", 7200.0, None, None, "s", 7.2, False),
        Line("cut-out order", "", "a", "a", None, "", None, True),
    )
    text = story_text(differences("T", Comparison(lines, ("A note.",), 2.0)))
    assert "DIFFERS: 2 of 3 lines are beyond their limit." in text
    assert "10.000 Ah" in text
    assert "-4.76 %" in text
    assert "2.0000 h" in text
    assert "A note." in text
    one = differences("T", Comparison(lines[1:], (), 2.0)).headline[0]
    assert one.startswith("DIFFERS: 1 of 2 lines is beyond its limit.")
    unlike = story_text(differences("T", Comparison(lines, (), 2.0, expressible=False)))
    assert "CANNOT BE COMPARED" in unlike
    assert "DIFFERS: 2" not in unlike


def test_crosscheck_of_a_run_that_ends_at_once_says_so(tmp_path, capsys):
    scenario = write_bench(tmp_path)
    scenario.write_text(scenario.read_text() + "[[load]]\nname = 'huge'\npower_W = 60000\n")
    assert main(["crosscheck", str(scenario)]) == 2
    assert "nothing to compare" in capsys.readouterr().err


def test_long_names_leave_the_quantity_whole_and_small_differences_are_not_none():
    name = "the rather long name of a battery on the left shelf"
    lines = (
        Line(f"{name} delivered", "Ah", 100.0, 100.0, -0.00047, "%", 0.1, True),
        Line(f"{name} cuts out", "s", 172_000.0, 172_000.0, 0.0, "s", 7.2, True),
    )
    for width in (80, 100):
        text = story_text(differences("T", Comparison(lines, (), 2.0)), width)
        assert "Quantity" in text
        assert "delivered" in text
        assert "cuts out" in text
        assert "<0.001 %" in text
        assert " 0 s" in text
        assert "Limit" in text
        assert "7.20 s" in text

"""Names, titles and notes that try to become something else, through the whole program."""

import csv
import io
import re
import zipfile

import pytest
from scenario_texts import LFP

from bankSim.cli.main import main
from bankSim.errors import ScenarioError
from bankSim.measured.read import read_log
from bankSim.scenario.read import parse_scenario, read_scenario
from bankSim.show.log_story import log_summary, tell_log
from bankSim.show.report import report_html
from bankSim.show.report_data import report_data_zip
from bankSim.show.sheets import guarded
from bankSim.show.story import tell
from bankSim.show.study_files import write_draws, write_unknowns
from bankSim.show.wiring_drawing import wiring_svg
from bankSim.sim.run import simulate
from bankSim.study.blocks import threads
from bankSim.study.plan import make_plan
from bankSim.study.spread import study_spread
from tests.hostile.refusals import of_scenario
from tests.hostile.test_formulas import STARTS, is_number
from tests.show.hostile import Elements, svg_tree, texts_of

LINES = (  # as they would have to stand to be a line of a netlist of their own
    ".include /etc/passwd",
    ".control",
    "shell touch hacked",
    "* star",
    "+ more",
    "$(touch hacked)",
    "`touch hacked`",
    "a b  c",
    "x; .end",
    ".lib 'x' y",
)
MARKUP = (
    "<script>alert(1)</script>",
    "<img src=x onerror=alert(1)>",
    "</title><b onclick='x'>",
    "<!-- x",
    "&lt;i&gt;",
    "]]><style>",
    "{{ 7 * 7 }}",
    "javascript:alert(1)",
)
SUMS = ("=cmd|' /C calc'!A0", "+1", "-2+3", "@SUM(A1)", "a;=1", "\uff1d1", "'=1", "x,=1")
BROKEN = ("a\nb", "a\r.include x", "\tx", "a\0b", "a\x1b[31m", "a\u202eb", "\u2028.end", " x", "")


def quoted(text):
    """A TOML string of any text."""
    return '"' + "".join(f"\\U{ord(mark):08x}" for mark in text) + '"'


def document(names, more=""):
    batteries = "".join(LFP.replace('"house"', quoted(name)) for name in names)
    notes, (load, charger) = "\n".join(names), names[:2]
    charger += "."  # no battery's name is a charger's
    return (
        f"title = {quoted(' '.join(names)[:200])}\nnotes = {quoted(notes)}\n"
        f"[simulation]\nduration_h = 2.0\noutput_every_s = 600.0\n{batteries}"
        f"[[load]]\nname = {quoted(load)}\npower_W = 900.0\n"
        f"[[charger]]\nname = {quoted(charger)}\nlimit_A = 5.0\nhold_V = 14.0\n{more}"
    )


def result_with(names, folder):
    file = folder / "bank.toml"
    file.write_text(document(names), encoding="utf-8")
    return simulate(read_scenario(file))


def test_markup_stays_text_in_report_and_drawing(tmp_path):
    result = result_with(MARKUP, tmp_path)
    plain = result_with([f"name {n}" for n in range(len(MARKUP))], tmp_path)
    page, usual = (Elements(report_html(one, pictures={})) for one in (result, plain))
    assert set(page.tags) <= set(usual.tags)
    assert page.crossed == page.open == []
    assert {(tag, name) for tag, name, _ in page.attributes} <= {
        (tag, name) for tag, name, _ in usual.attributes
    }
    assert all(name in page.text for name in MARKUP)
    for narrow in (False, True):
        drawn = " ".join(texts_of(svg_tree(wiring_svg(result.scenario.bank, narrow=narrow))))
        assert "<script>" in drawn


def commands_of(deck):
    return [line for line in deck.splitlines() if not line.startswith("*")]


def test_names_stay_comments_of_the_netlist(tmp_path, capsys):
    decks = []
    for names in (LINES, [f"name {n}" for n in range(len(LINES))]):
        file = tmp_path / "bank.toml"
        file.write_text(document(names), encoding="utf-8")
        assert main(["netlist", str(file)]) == 0
        decks.append(capsys.readouterr().out)
    hostile, usual = decks
    assert hostile.isascii()
    assert commands_of(hostile) == commands_of(usual)
    assert not re.search(r"(?im)^\s*(\.include|\.control|\.lib|shell)", hostile)


@pytest.mark.ngspice
def test_a_netlist_with_such_names_runs_and_touches_nothing(tmp_path, monkeypatch, spice, capsys):
    text = document(LINES[1:4]).replace("duration_h = 2.0", "duration_h = 0.005")
    (tmp_path / "bank.toml").write_text(text, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    assert main(["crosscheck", "bank.toml"]) == 0
    assert [file.name for file in tmp_path.iterdir()] == ["bank.toml"]


@pytest.mark.parametrize("name", BROKEN)
@pytest.mark.parametrize("table", ["[[battery]]", "[[load]]", "[[charger]]"])
def test_a_name_that_is_more_than_one_printable_line_is_refused(name, table, tmp_path):
    text = f"{LFP}{table}\nname = {quoted(name)}\n"
    with pytest.raises(ScenarioError) as caught:
        parse_scenario(text, tmp_path, "bank.toml")
    key = re.sub(r"\W", "", table)
    (line,) = (line for line in caught.value.faults if "].name = " in line)
    assert re.match(rf"bank.toml:\d+: {key}\[\d\]\.name = .*expected printable text", line)
    assert of_scenario(caught.value.faults, "bank.toml") == []


def formulas_in(sheet):
    found = []
    for delimiter in (",", ";", "\t"):
        for row in csv.reader(io.StringIO(sheet), delimiter=delimiter):
            found += [f for f in row if f.strip().startswith(STARTS) and not is_number(f)]
    return found


def test_no_table_that_is_written_holds_a_formula(tmp_path):
    spread = "lead_mohm = { value = 2.0, sd = 0.3 }\n"
    text = document(SUMS).replace("= 100.0\n", f"= 9.0\n{spread}")
    scenario = parse_scenario(text, tmp_path, "bank.toml")
    with threads(1) as workers:
        found = study_spread(make_plan(scenario), workers, most=4)
    write_draws(found.draws, tmp_path / "draws.csv")
    write_unknowns(found.draws.plan, 4, tmp_path / "unknowns.csv")
    sheets = {name: (tmp_path / name).read_text() for name in ("draws.csv", "unknowns.csv")}
    with zipfile.ZipFile(io.BytesIO(report_data_zip(simulate(scenario)))) as pack:
        sheets |= {n: pack.read(n).decode() for n in pack.namelist() if n.endswith(".csv")}
    assert {"draws.csv", "unknowns.csv", "timeline.csv", "events.csv"} <= set(sheets)
    for name, sheet in sheets.items():
        assert formulas_in(sheet) == [], name
    assert "SUM(A1)" in sheets["draws.csv"] + sheets["unknowns.csv"]


@pytest.mark.parametrize("lead", ["=", "+", "-", "@", "\t=", "\r=", "\n+", " =", '"=', "\uff20"])
def test_a_field_that_begins_like_a_formula_is_guarded(lead):
    assert not guarded(f"{lead}1+1").lstrip(' "').startswith((*STARTS, "\t", "\r", "\n"))
    assert formulas_in(guarded(f"{lead}1+1").replace("\r", " ").replace("\n", " ")) == []


def test_headers_of_a_log_stay_words_on_one_line(tmp_path):
    file = tmp_path / "log.csv"
    odd = ['"<script>a</script>\ttime_s"', '"=1+1 voltage_V"', '"{{7*7}} current_A"', "\x1b[31m"]
    rows = "".join(f"{60 * n},12.{9 - n % 3},-5,x\n" for n in range(40))
    file.write_text(",".join(odd) + "\n" + rows)
    log = read_log(file)
    story = tell_log(log)
    told = [story.title, *story.headline, *(line for one in story.sections for line in one.lines)]
    for grid in (one.grid for one in story.sections if one.grid is not None):
        told += [field for row in grid.rows for field in row]
    assert [line for line in told if not line.isprintable()] == []
    assert all(ord(mark) >= 0x20 for use in log_summary(log)["findings"] for mark in use["text"])


def test_the_story_holds_such_names_on_printable_lines(tmp_path):
    story = tell(result_with(MARKUP[:3], tmp_path))
    assert all(line.isprintable() for one in story.sections for line in one.lines)

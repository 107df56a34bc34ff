"""The report of the page is the report of the command, but for the time at its top."""

import io
import re
import zipfile
from datetime import datetime

import pytest

from bankSim.cli.main import main
from bankSim.scenario.draft import Draft
from bankSim.scenario.read import read_scenario
from bankSim.scenario.starter import starter_text
from bankSim.screens.ready import ready_draft
from bankSim.screens.report.making import do_work, page_of
from bankSim.screens.report.wish import Wish
from bankSim.show import report, report_pictures
from bankSim.sim.run import simulate

MOMENT = re.compile(r"\d+ [A-Z][a-z]+ \d{4}, \d\d:\d\d")


def quiet(stage, done, total):
    """Takes no notice of progress."""


@pytest.fixture(scope="module")
def starter(tmp_path_factory):
    """The starter scenario as a file."""
    file = tmp_path_factory.mktemp("starter") / "bank.toml"
    file.write_text(starter_text(), encoding="utf-8")
    return file


@pytest.fixture(scope="module")
def result(starter):
    """Its run."""
    return simulate(read_scenario(starter))


@pytest.fixture(scope="module")
def plain(result):
    """The work for a report of it without draws and without a question."""
    return do_work(result, {}, Wish("", 0, 1), quiet, datetime(2026, 1, 2))


@pytest.mark.parametrize("draws", [0, 20])
def test_same_as_the_command(starter, result, tmp_path, monkeypatch, draws):
    monkeypatch.setattr(report_pictures, "DOTS_PER_INCH", 40.0)
    if not draws:  # the same pictures are drawn, and compared, with draws
        monkeypatch.setattr(report_pictures, "png_of", lambda *_: b"a picture")
    wish = Wish("May the old one stay?", draws, 7)
    work = do_work(result, {}, wish, quiet, datetime.now())
    out = tmp_path / "report.html"
    many = ["--draws", str(draws), "--seed", "7"] if draws else ["--no-draws"]
    assert (
        main(["report", str(starter), "--out", str(out), "--question", wish.question, *many]) == 0
    )
    theirs = out.read_text(encoding="utf-8")
    ours = page_of(result, work, wish.question)
    assert len(MOMENT.findall(ours)) == len(MOMENT.findall(theirs)) == 1
    assert MOMENT.sub("", ours) == MOMENT.sub("", theirs)
    assert work.data == (tmp_path / "report-data.zip").read_bytes()
    assert (work.spread is None) == (draws == 0)


def test_a_bank_of_many_batteries_is_drawn_as_often_as_by_the_command(tmp_path, monkeypatch):
    for pictures in ("run_pictures", "spread_pictures"):  # slow; seen above
        monkeypatch.setattr(report, pictures, lambda _: {})
    monkeypatch.setattr(report, "STORIES", 24)
    monkeypatch.setattr(report, "LEAST_IN_FULL", 2)
    draft = ready_draft("coffee-cart").with_values({("simulation", "duration_h"): 0.5})
    for number in range(6):
        draft = draft.with_item_copied(("battery",), 0, f"more {number}")
    file = tmp_path / "bank.toml"
    file.write_text(draft.text)
    wish = Wish("", 20, 1)
    work = do_work(simulate(read_scenario(file)), {}, wish, quiet, datetime.now())
    out = tmp_path / "report.html"
    assert main(["report", str(file), "--out", str(out), "--draws", "20"]) == 0
    assert work.spread.traced.fan.draws == 24 // 8
    assert work.data == (tmp_path / "report-data.zip").read_bytes()


def test_another_question_costs_no_work():
    digest = Draft(starter_text(), name="bank.toml").digest
    one, other = Wish("a", 100, 1), Wish("b", 100, 1)
    assert one.digest(digest) == other.digest(digest)
    assert Wish("a", 100, 2).digest(digest) != one.digest(digest)
    assert Wish("a", 300, 1).digest(digest) != one.digest(digest)
    assert Wish("a", 0, 1).digest(digest) == Wish("a", 0, 2).digest(digest)


def test_hostile_words_stay_words(result, plain):
    bad = "<script>alert(1)</script><img src=x onerror=alert(2)> [a](javascript:alert(3)) $x$"
    page = page_of(result, plain, bad)  # as the page does when only the question is another one
    assert "<script" not in page.lower()
    assert "<img src=x" not in page
    assert "&lt;script&gt;alert(1)&lt;/script&gt;" in page
    assert not re.search(r"""href\s*=\s*["']?\s*javascript""", page)


def test_stop_is_asked_for_between_the_steps(result, monkeypatch):
    monkeypatch.setattr(report_pictures, "png_of", lambda *_: b"a picture")

    class EnoughError(Exception):
        pass

    def stop(stage, done, total):
        if stage.startswith("putting"):
            raise EnoughError

    with pytest.raises(EnoughError):
        do_work(result, {}, Wish("", 0, 1), stop, datetime.now())


def test_tables_go_into_the_zip(plain):
    names = zipfile.ZipFile(io.BytesIO(plain.data)).namelist()
    assert {"scenario.toml", "timeline.csv", "events.csv", "summary.json"} <= set(names)

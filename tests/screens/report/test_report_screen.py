"""The page Report, without a browser."""

import threading
import time
from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from bankSim.scenario.draft import Draft
from bankSim.scenario.starter import starter_text
from bankSim.screens.desk import Desk
from bankSim.screens.router import page_file
from bankSim.sim.summary import SAFETY_TEXT

PROJECT = Path(__file__).resolve().parents[3]


def opened(text=None):
    """The page, with a scenario on the desk."""
    app = AppTest.from_file(str(PROJECT / "app.py"), default_timeout=120)
    if text is not None:
        app.session_state["desk"] = Desk(Draft(text, name="bank.toml"))
    app.run()
    app.switch_page(str(page_file("report"))).run()
    end = time.monotonic() + 120
    while any("Getting the solver ready" in one.value for one in app.info):
        assert time.monotonic() < end
        time.sleep(0.2)
        app.run()
    return app


def until_done(app):
    """Wait for the job as the visitor does."""
    end = time.monotonic() + 120
    while not app.get("download_button") and not app.error:
        assert time.monotonic() < end
        time.sleep(0.1)
        app.run()
    return app


def words_of(app):
    """All the text on the page."""
    kinds = ("markdown", "caption", "subheader", "info", "error")
    return "\n".join(str(one.value) for kind in kinds for one in app.get(kind))


@pytest.fixture(scope="module")
def made():
    """The page with a report that has been made."""
    app = opened()
    app.text_area[0].set_value("May the *old* one stay?")
    app.checkbox[0].set_value(False)
    app.button[0].click().run()
    return until_done(app)


def test_nothing_is_made_unasked():
    app = opened()
    assert not app.exception
    assert not app.get("download_button")
    assert "What it will say" in [one.value for one in app.header]
    assert "Safety" in words_of(app)
    assert SAFETY_TEXT.split(":")[0][:20] in words_of(app)


def test_files_are_offered(made):
    assert not made.exception
    labels = [one.proto.label for one in made.get("download_button")]
    assert len(labels) == 2
    assert labels[0].startswith("Download the report (one file, HTML, ")
    assert labels[1].startswith("Download the numbers (zip, ")


def test_question_is_shown_as_written(made):
    assert "May the \\*old\\* one stay?" in words_of(made)


def test_its_figures_turn_dark_with_the_page(made, monkeypatch):
    from bankSim.screens.report import page

    noted = []
    monkeypatch.setattr(page, "show_drawn", lambda picture, words, key: noted.append(key))
    made.run()
    assert not made.exception
    assert "report wiring" in noted
    assert len(noted) == len(set(noted)) > 3
    assert not made.get("imgs")  # none is put on the page by another way


def test_another_bank_wants_another_report(made):
    changed = made.session_state["desk"]
    changed.change(changed.draft.with_values({("title",): "Another bank"}))
    made.run()
    assert not made.get("download_button")
    assert "has changed since the last report" in words_of(made)
    changed.undo()


def test_faults_stand_in_for_the_report():
    app = opened(starter_text().replace("[wiring]", "[wirring]", 1))
    assert not app.exception
    assert "needs mending" in words_of(app)
    assert not app.button


def test_a_long_run_does_not_hold_the_page_and_can_be_stopped(monkeypatch):
    from bankSim.screens import runs

    go_on = threading.Event()
    monkeypatch.setattr(runs, "_ends_soon", lambda engine: False)
    real = runs._finished

    def slow(scenario, engine, progress):
        while not go_on.wait(0.01):
            progress("per cent", 3, 100)
        return real(scenario, engine, progress)

    monkeypatch.setattr(runs, "_finished", slow)
    app = opened(f"# asked for the first time by a report\n{starter_text()}")
    assert not app.exception
    assert [one.label for one in app.button] == ["Stop"]
    app.button[0].click().run()
    assert "Stopped" in words_of(app)
    go_on.set()
    app.button(key="run again").click().run()
    end = time.monotonic() + 60
    while not app.text_area and time.monotonic() < end:
        time.sleep(0.1)
        app.run()
    assert app.text_area[0].label.startswith("Your question")

"""Runs and pages for the tests of What happens."""

import time
from pathlib import Path

import pytest
from happens_page import html_of
from streamlit.testing.v1 import AppTest

from bankSim.scenario.draft import Draft
from bankSim.scenario.read import read_scenario
from bankSim.screens import warm_up
from bankSim.screens.desk import Desk
from bankSim.screens.router import page_file
from bankSim.sim.run import simulate
from bankSim.study.quick_fan import quick_spread

TOP = Path(__file__).parents[3]


@pytest.fixture(scope="session")
def weak():
    """The run of the ready scenario with one weak cell; both batteries cut out."""
    return simulate(read_scenario(TOP / "scenarios" / "weak-cell.toml"))


@pytest.fixture(scope="session")
def weak_spread(weak):
    return quick_spread(weak.scenario, draws=8, table_draws=40, budget_s=60.0)


@pytest.fixture
def opened(monkeypatch):
    """Return what opens the page with a scenario on the desk; it waits for the band."""
    monkeypatch.setattr(warm_up, "is_ready", lambda: True)

    def open_page(text, *, with_band=True):
        at = AppTest.from_file(str(TOP / "app.py"), default_timeout=120)
        at.session_state["desk"] = Desk(Draft(text))
        at.run()
        at.switch_page(str(page_file("what_happens"))).run()
        until = time.monotonic() + 60.0
        while with_band and 'class="chances"' not in html_of(at) and time.monotonic() < until:
            time.sleep(0.2)
            at.run()
        return at

    return open_page


@pytest.fixture(scope="session")
def weak_text():
    return (TOP / "scenarios" / "weak-cell.toml").read_text(encoding="utf-8")

"""The page My test without a browser: bring logs, choose, wait for jobs."""

import json
import time
from pathlib import Path

import numpy as np
from streamlit.testing.v1 import AppTest

from bankSim.cli.main import main

TOP = Path(__file__).parents[1]
PAGE = TOP / "bankSim/screens/pages/my_test.py"
LOGS = TOP / "scenarios/logs"
STEPS = {"logs": 0, "capacity": 1, "snapshot": 2, "calibrate": 3, "compare": 4, "more": 5}


def open_page():
    """A visitor on the page."""
    page = AppTest.from_file(str(TOP / "app.py"), default_timeout=120)
    page.run()
    page.switch_page(str(PAGE)).run()
    assert not page.exception
    return page


def bring(page, *files):
    """Upload logs, each a name and its bytes."""
    page.file_uploader[0].set_value([(name, content, "text/csv") for name, content in files]).run()
    assert not page.exception


def step(page, word):
    """Go to a step."""
    from bankSim.screens.my_test.steps import STEPS as NAMES

    page.radio(key="step of my test").set_value(NAMES[STEPS[word]]).run()
    assert not page.exception


def shelf(page):
    return page.session_state["shelf"]


def digests(page, *names):
    return [one.digest for name in names for one in shelf(page).logs if one.name == name]


def button(page, words):
    return next(one for one in page.button if words in one.label)


def errors(page):
    """What is said to be wrong, without the backslashes that keep it plain."""
    return [one.value.replace("\\", "") for one in page.error]


def said(page):
    return [one.value.replace("\\", "") for one in page.markdown]


def wait_for(page, there, seconds=240.0):
    """Run the page again until something is there: AppTest has no clock for fragments.

    Once while its jobs are at work, then when they are over: every run takes half a second.
    """
    end = time.monotonic() + seconds
    while not there():
        assert time.monotonic() < end, "the job took too long"
        assert not page.exception
        time.sleep(0.3)
        page.run()
        for job in _jobs(page):
            assert job.over.wait(end - time.monotonic()), "the job took too long"
    assert not page.exception


def _jobs(page):
    return list(page.session_state["jobs"].values()) if "jobs" in page.session_state else []


def command(capsys, *words):
    """What a command writes as JSON."""
    capsys.readouterr()
    code = main([*words, "--json", "-"])
    out, err = capsys.readouterr()
    assert code == 0, err
    return json.loads(out)


def log_text(hours=3.0, amps=20.0, count=400):
    """A made-up discharge: straight fall, then a knee."""
    time_s = np.linspace(0.0, hours * 3600.0, count)
    part = time_s / time_s[-1]
    volts = 13.3 - 0.5 * part - 2.3 * np.maximum(part - 0.93, 0.0) / 0.07
    rows = [f"{t:.1f},{v:.3f},{amps}" for t, v in zip(time_s, volts, strict=True)]
    return "time_s,voltage_V,current_A\n" + "\n".join(rows) + "\n"

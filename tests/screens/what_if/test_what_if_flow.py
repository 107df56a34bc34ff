"""The page What if as a visitor uses it, without a browser."""

import base64
import json
import re
import time
from pathlib import Path

import numpy as np
import pytest
from play_banks import DRAFTS, TWO_LFP, many
from pytest import approx
from streamlit.testing.v1 import AppTest

import bankSim.screens
from bankSim.scenario.draft import Draft
from bankSim.screens import warm_up
from bankSim.screens.answers import predicted
from bankSim.screens.desk import Desk
from bankSim.screens.router import page_file
from bankSim.screens.what_if.matters_part import RARE_CASES, told_here
from bankSim.screens.what_if.outcome import bench_of, outcome
from bankSim.sim.giving_up import GivenUpError
from bankSim.study.advice import advice
from bankSim.study.groups import Group
from bankSim.study.unknown import Kind

APP = Path(bankSim.screens.__file__).parents[2] / "app.py"


@pytest.fixture(autouse=True)
def ready(monkeypatch):
    monkeypatch.setattr(warm_up, "begin", lambda: None)
    monkeypatch.setattr(warm_up, "is_ready", lambda: True)


def opened(draft):
    """Return the page with a draft on the desk."""
    app = AppTest.from_file(str(APP), default_timeout=120)
    app.session_state["desk"] = Desk(draft)
    app.run()
    app.switch_page(str(page_file("what_if"))).run()
    assert not app.exception
    return app


def slider(app, knob):
    """Return a slider by its word."""
    return next(one for one in app.slider if one.key.endswith(f" {knob}"))


def spec(app):
    """Return the picture's specification."""
    return json.loads(app.get("plotly_chart")[0].proto.spec)


def numbers(packed):
    return np.frombuffer(base64.b64decode(packed["bdata"]), dtype="<f4")


def words(app):
    return " ".join(one.proto.body for one in app.get("html"))


def test_a_slider_moves_the_picture_and_the_words():
    app = opened(DRAFTS["two LFP"])
    assert slider(app, "below/0/0").value == 0.0
    before = spec(app)
    assert "before" not in {one.get("name") for one in before["data"]}
    slider(app, "below/0/0").set_value(6.0).run()
    assert not app.exception
    after = spec(app)
    lines = {one["name"]: one for one in after["data"] if "name" in one}
    assert "before" in lines
    bench = bench_of(DRAFTS["two LFP"])
    found = outcome(bench, {"below/0/0": 6.0}).result
    was = outcome(bench, {}).result
    assert numbers(lines["bus"]["x"])[-1] == approx(found.end_time_s / 3600.0, rel=1e-6)
    assert f"{was.bank.delivered_Ah:.1f} Ah before" in words(app)


def test_what_is_moved_stays_moved_on_another_battery_and_goes_back():
    app = opened(DRAFTS["two LFP"])
    slider(app, "below/0/0").set_value(6.0).run()
    next(one for one in app.selectbox if one.label == "Battery").set_value(1).run()
    slider(app, "health/1").set_value(70.0).run()
    play = app.session_state["what_if"]
    assert play.settings == {"below/0/0": 6.0, "health/1": 70.0}
    next(one for one in app.button if one.key.endswith("below/0/0 back")).click().run()
    assert play.settings == {"health/1": 70.0}
    app.button(key="what if back").click().run()
    assert play.settings == {}
    assert slider(app, "health/1").value == 80.0
    assert not app.exception


def test_put_into_the_bank_writes_the_draft_and_can_be_undone():
    app = opened(DRAFTS["two LFP"])
    slider(app, "charge/0").set_value(90.0).run()
    app.button(key="what if put").click().run()
    assert not app.exception
    desk = app.session_state["desk"]
    assert desk.draft.at(("battery", 0, "state_of_charge")) == 0.9
    assert slider(app, "charge/0").value == 90.0
    assert app.session_state["what_if"].settings == {}
    desk.undo()
    assert desk.draft == DRAFTS["two LFP"]


def test_the_comparison_can_be_kept():
    app = opened(DRAFTS["two LFP"])
    slider(app, "load/0").set_value(60.0).run()
    app.button(key="what if keep").click().run()
    slider(app, "load/0").set_value(70.0).run()
    kept = outcome(bench_of(DRAFTS["two LFP"]), {"load/0": 60.0}).result
    assert f"{kept.bank.runtime_s / 3600.0:.1f} h before" in words(app)
    app.button(key="what if forget").click().run()
    own = outcome(bench_of(DRAFTS["two LFP"]), {}).result
    assert f"{own.bank.runtime_s / 3600.0:.1f} h before" in words(app)


def test_a_faulty_draft_leads_to_your_bank():
    app = opened(Draft(TWO_LFP.replace("= 60.0\nlead", "= -5\nlead")))
    assert "cannot be predicted" in app.error[0].value
    assert "Capacity on the label" in app.markdown[0].value
    assert not app.slider


@pytest.mark.parametrize("kind", [*DRAFTS, "many"])
def test_all_kinds_of_banks_open_with_all_sliders(kind):
    app = opened(many() if kind == "many" else DRAFTS[kind])
    few = len(app.slider)
    app.toggle(key="what if more").set_value(True).run()
    assert not app.exception
    assert len(app.slider) > few >= 3
    assert few <= 9


def test_names_are_no_markdown():
    app = opened(Draft(TWO_LFP.replace('"old"', '"[x](http://x) :red[y] $z$"')))
    next(one for one in app.selectbox if one.label == "Battery").set_value(1).run()
    label = slider(app, "health/1").label
    assert "[x](" not in label
    assert ":red[" not in label
    assert "$z$" not in label
    assert not app.exception


def test_a_long_run_of_the_bank_itself_can_be_stopped(monkeypatch):
    from bankSim.screens import runs

    def endless(scenario, engine, progress):
        while True:
            progress("per cent", 3, 100)
            time.sleep(0.01)

    monkeypatch.setattr(runs, "_ends_soon", lambda engine: False)
    monkeypatch.setattr(runs, "_finished", endless)
    app = opened(Draft(f"# long\n{TWO_LFP}"))
    assert [one.label for one in app.button] == ["Stop"]
    app.button[0].click().run()
    assert not app.exception
    assert "Stopped" in app.info[0].value


def test_the_bank_as_it_stands_is_the_prediction_itself():
    draft = Draft(f"# as it stands\n{TWO_LFP}")
    assert outcome(bench_of(draft), {}).result is predicted(draft)


def test_what_matters_is_told_without_options_of_the_command_line():
    from inspect import getsource

    from bankSim.show import matters_headline, matters_story

    assert told_here("Too few draws to rank surely: give --draws 512.") == (
        "Too few draws to rank surely."
    )
    assert told_here("of two sets (--draws) for the parts") == "of two sets for the parts"
    said = getsource(matters_headline) + getsource(matters_story)
    assert len(re.findall("--draws", said)) == 4  # three times to give more, once in brackets
    assert RARE_CASES in said


@pytest.mark.parametrize("key", ["battery[1].capacity_fraction", "wiring.link.length_m"])
@pytest.mark.parametrize("kind", list(Kind))
def test_what_to_measure_is_told_without_keys_of_the_file(kind, key):
    group = Group("name", kind, "old", ("label",), (key,), (0,))
    told = told_here(f"1. The thing: {advice(group)}.")
    assert not re.search(r"_[A-Za-z]|\[\d|in the file|--", told), told
    assert told.endswith(".")


def test_sliders_that_make_a_run_without_end_say_so(monkeypatch):
    def given_up(scenario):
        raise GivenUpError("48", "given up 3.2 h after the start")

    app = opened(DRAFTS["two LFP"])
    monkeypatch.setattr("bankSim.sim.run.simulate", given_up)
    slider(app, "below/0/0").set_value(7.3).run()
    assert not app.exception
    assert "given up" in app.error[0].value
    assert slider(app, "below/0/0").value == 7.3, "one can go back"

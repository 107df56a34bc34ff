"""The page as a visitor finds it, without a browser."""

import json
import threading

import pytest
from happens_page import html_of

from bankSim.scenario.draft import Draft
from bankSim.screens import jobs, runs
from bankSim.screens.answers import predicted
from bankSim.screens.desk import Desk
from bankSim.show.headline import headline
from bankSim.sim.giving_up import GivenUpError

TWO = """title = "two"
[simulation]
duration_h = {hours}
stop = "{stop}"
[[battery]]
name = "{name}"
chemistry = "LFP"
cells_in_series = 4
rated_capacity_Ah = 50
state_of_charge = {charge}
[[battery]]
name = "b"
chemistry = "LFP"
cells_in_series = 4
rated_capacity_Ah = 60
state_of_charge = {charge}
{rest}
"""
LOAD = '[[load]]\nname = "lamp"\npower_W = {watts}\n'
CHARGER = '[[charger]]\nname = "mains"\nlimit_A = 20\nhold_V = 14.2\n'


def _two(rest, *, hours=48, stop="bank empty", name="a", charge=1.0):
    return TWO.format(hours=hours, stop=stop, name=name, charge=charge, rest=rest)


def _specs(at):
    return [json.loads(one.proto.spec) for one in at.get("plotly_chart")]


def _titles(at):
    return [one.value for one in at.header]


def test_the_answer_comes_first_then_the_chances_then_cautions(opened, weak_text, weak):
    at = opened(weak_text)
    assert not at.exception
    said = html_of(at)
    first = headline(weak)[0]
    assert first in said
    assert said.index(first) < said.index("random cases") < said.index('class="cautions"')
    assert _titles(at)[:2] == ["Cautions", "How it goes"]


def test_all_parts_and_all_charts_are_there(opened, weak_text):
    at = opened(weak_text)
    assert {
        "Look at each cut-out", "What each battery gives", "What switched, and why",
        "Take it with you",
    } <= set(_titles(at))  # fmt: skip
    assert len(_specs(at)) == 3  # course, cut-out, charge
    assert "Safety" in at.caption[-1].value


def test_a_closer_look_is_kept_when_the_page_is_shown_again(opened, weak_text, weak):
    at = opened(weak_text)
    at.button(key="spot 0").click().run()
    window = at.session_state["time window"]
    out_s = weak.events[0].time_s
    assert window.start_s < out_s < window.end_s < weak.end_time_s
    low, high = _specs(at)[0]["layout"]["xaxis"]["range"]
    assert (low * 3600.0, high * 3600.0) == pytest.approx((window.start_s, window.end_s))
    at.run()
    assert at.session_state["time window"] == window
    at.button(key="window whole").click().run()
    assert at.session_state["time window"].end_s == weak.end_time_s


def test_the_slider_sets_the_window(opened, weak_text):
    at = opened(weak_text)
    at.slider[0].set_value((2.0, 4.0)).run()
    assert at.session_state["time window"].hours == pytest.approx((2.0, 4.0))


def test_the_other_cut_out_can_be_chosen(opened, weak_text):
    at = opened(weak_text)
    at.selectbox(key="cut-out").select_index(1).run()
    assert not at.exception
    assert any("good" in one.value and "cut out" in one.value for one in at.markdown)


def test_a_faulty_draft_says_what_and_leads_to_where_it_is_mended(opened):
    at = opened(_two("").replace("= 60", "= -60"), with_band=False)
    assert not at.exception
    assert "cannot be predicted" in at.error[0].value
    told = " ".join(one.value for one in at.markdown)
    assert "Capacity on the label" in told  # as the field is called, not as the file has it
    assert "capacity\\_Ah" not in told
    assert not at.header
    assert "Safety" in at.caption[-1].value


@pytest.mark.parametrize(
    "text",
    [
        _two(LOAD.format(watts=90_000), charge=0.0),
        _two(CHARGER, charge=0.2, stop="end", hours=10),
        _two("", stop="end", hours=5),
        _two(LOAD.format(watts=300), name="<img src=x onerror=alert(1)> **x** $y$ [z](http://q)"),
    ],
    ids=["ends at once", "charge only", "nothing connected", "hostile name"],
)
def test_odd_banks_show_something_sensible(opened, text):
    at = opened(text)
    assert not at.exception
    assert 'class="first"' in html_of(at)
    assert "<img" not in html_of(at)
    assert "What each battery gives" in _titles(at)


def test_a_run_that_takes_long_goes_on_in_a_job_that_can_be_stopped(opened, monkeypatch):
    monkeypatch.setattr(runs, "SHORT_S", 0.0)
    begun, go_on = threading.Event(), threading.Event()

    def slow(scenario, engine, progress):
        begun.set()
        while not go_on.wait(0.01):
            progress(jobs.PERCENT, 7, 100)
        return runs._result(scenario, engine.finish())

    monkeypatch.setattr(runs, "_finished", slow)
    at = opened(_two(LOAD.format(watts=123)), with_band=False)
    assert begun.wait(10.0)
    assert not at.exception
    assert not at.header
    stop = next(one for one in at.button if one.label == "Stop")
    stop.click().run()
    at.run()
    assert any("Stopped" in one.value for one in at.info)
    at.button(key="run again").click().run()
    go_on.set()
    for _ in range(100):
        at.run()
        if at.header:
            break
    assert "Cautions" in _titles(at)


def test_another_draft_gets_another_answer(opened, weak_text):
    at = opened(weak_text)
    before = html_of(at)
    other = Draft(_two(LOAD.format(watts=77)))
    at.session_state["desk"] = Desk(other)
    at.run()
    assert headline(predicted(other))[0] in html_of(at)
    assert headline(predicted(other))[0] not in before


def test_a_run_that_is_given_up_at_once_says_so(opened, monkeypatch):
    def given_up(*_):
        raise GivenUpError("48", "given up 3.2 h after the start")

    monkeypatch.setattr(runs, "_result", given_up)
    at = opened(_two(LOAD.format(watts=61), name="given up"), with_band=False)
    assert not at.exception
    (told,) = [one.value for one in at.error]
    assert "given up" in told
    assert "expected a shorter duration" in told
    assert at.get("page_link"), "the ways to the other pages stay"
    assert _specs(at) == []

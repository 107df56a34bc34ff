"""Walks the whole lesson on its page, without a browser."""

import json
import time
from pathlib import Path

import pytest
from lesson_grid import answer
from streamlit.testing.v1 import AppTest

from bankSim.screens.lesson.sheet import answer_sheet, blank_sheet
from bankSim.screens.lesson.step import Choice
from bankSim.screens.lesson.steps import STEPS
from bankSim.screens.router import page_file

APP = Path(__file__).parents[3] / "app.py"
GUESS = 33.0


def opened() -> AppTest:
    page = AppTest.from_file(str(APP), default_timeout=120).run()
    return page.switch_page(str(page_file("how_parallel_adds"))).run()


def told(page: AppTest) -> str:
    """Return everything that the page says."""
    parts = [
        *(one.value for one in page.markdown),
        *(one.value for one in page.info),
        *(one.value for one in page.caption),
        *(one.label for one in page.number_input),
    ]
    return (
        " ".join(str(part) for part in parts).replace("\\", "").replace("\N{NO-BREAK SPACE}", " ")
    )


def guess(page: AppTest, step) -> AppTest:
    if isinstance(step.question, Choice):
        page.radio(key=f"lesson guess {step.key}").set_value(step.question.options[0])
    else:
        page.number_input(key=f"lesson guess {step.key}").set_value(GUESS)
    return page.button(key=f"lesson show {step.key}").click().run()


def wait_until_ready(page: AppTest) -> AppTest:
    for _ in range(240):
        if page.slider:
            return page
        time.sleep(0.5)
        page.run()
    pytest.fail("the answer never came")


def test_the_whole_lesson():
    page = opened()
    for place, step in enumerate(STEPS):
        found = answer(step.key, step.slider.start)
        assert not page.exception
        assert page.header[0].value == step.title
        assert "You said" not in told(page)
        for secret in (found.headline, found.why, found.reply):
            assert secret not in told(page)
        assert not page.slider
        assert not page.get("plotly_chart")

        page = page.button(key=f"lesson show {step.key}").click().run()
        assert "Make a guess first" in page.error[0].value
        assert not page.slider

        page = wait_until_ready(guess(page, step))
        given = step.question.options[0] if isinstance(step.question, Choice) else GUESS
        assert step.question.verdict(given, found.truth) in told(page)
        for sentence in (found.headline, found.why, found.reply):
            assert sentence in told(page)
        _moved(page, step)
        if place < len(STEPS) - 1:
            page = page.button(key="lesson next").click().run()
    assert page.button(key="lesson next").disabled
    assert page.header[1].value == "What to do"


def _moved(page: AppTest, step) -> None:
    """At the far end of the slider the page shows what the solver says there."""
    value = step.slider.high
    page.slider(key=f"lesson slider {step.key}").set_value(value).run()
    found = answer(step.key, value)
    assert not page.exception
    assert found.headline in told(page)
    spec = json.loads(page.get("plotly_chart")[0].proto.spec)
    assert [trace["name"] for trace in spec["data"]][:1] != []


def test_a_teacher_can_jump_and_ask_again():
    page = opened()
    page.button(key="lesson jump 3").click().run()
    step = STEPS[3]
    assert page.header[0].value == step.title
    page.number_input(key=f"lesson hands {step.key} 2").set_value(7)
    page.number_input(key=f"lesson hands {step.key} 0").set_value(3)
    page = wait_until_ready(guess(page.run(), step))
    assert "7 of 10" in told(page)
    page.button(key="lesson jump 0").click().run()
    page.button(key="lesson jump 3").click().run()
    assert f"You said {GUESS:g} Ah" in told(page)  # kept
    page.button(key=f"lesson again {step.key}").click().run()
    assert "You said" not in told(page)
    assert page.number_input(key=f"lesson hands {step.key} 2").value == 0


def test_a_plain_rerun_is_quick():
    page = opened()
    page = wait_until_ready(guess(page, STEPS[0]))
    took = []
    for _ in range(5):
        start = time.perf_counter()
        page.run()
        took.append(time.perf_counter() - start)
    assert min(took) <= 0.2  # server time, the test's own reading of the page included


def test_the_blank_sheet_asks_and_tells_nothing():
    sheet = blank_sheet()
    for step in STEPS:
        assert step.title in sheet
        assert answer(step.key, step.slider.start).headline not in sheet
    assert "the solver says" not in sheet
    assert "Safety" in sheet


def test_the_own_sheet_holds_guesses_and_answers():
    key = STEPS[0].key
    sheet = answer_sheet({key: 20.0}, {key: answer(key, STEPS[0].slider.start)})
    assert "You said 20 A, the solver says 30.0 A" in sheet
    assert answer(STEPS[1].key, STEPS[1].slider.start).headline not in sheet
    assert "where it fails" in sheet

"""How parallel adds, in a real browser: a person alone, a class, and keys only."""

import re
from pathlib import Path

import pytest
from browsing import DESK, PHONE, go, picture, settled

from bankSim.screens.lesson.step import Choice
from bankSim.screens.lesson.steps import STEPS

AUDIT = Path(__file__).with_name("audit.js").read_text(encoding="utf-8")
OWN = ("no name", "no alt", "no words", "headings")  # of the rest, colours and sizes are shared
WALL = (1920, 1080)
TOO_WIDE = "document.documentElement.scrollWidth - document.documentElement.clientWidth"


def at_step(tab, number):
    """Wait until a step is there."""
    tab.get_by_text(re.compile(rf"^Step {number} of {len(STEPS)}")).wait_for()
    settled(tab)


SCROLLED = "document.querySelector('[data-testid=\"stMain\"]').scrollTop"


def guess(tab, step):
    """Make a guess and ask for the answer."""
    if isinstance(step.question, Choice):
        tab.get_by_text(step.question.options[0], exact=True).first.click()
    else:
        tab.get_by_role("spinbutton", name=re.compile(re.escape(step.question.text))).fill("33")
    tab.get_by_role("button", name="Show me").click()
    tab.get_by_text(re.compile("^You said")).wait_for()
    settled(tab)


@pytest.mark.parametrize(("size", "dark"), [(PHONE, True)], ids=["phone"])
def test_the_lesson_from_the_first_step_to_the_last(page, size, dark):
    tab = page(size, dark=dark, at="how-parallel-adds")
    look = f"{'phone' if size == PHONE else 'desk'}-{'dark' if dark else 'light'}"
    faults = []
    for number, step in enumerate(STEPS, 1):
        at_step(tab, number)
        assert tab.get_by_text("A sceptic would ask").count() == 0
        assert tab.get_by_role("slider").count() == 0
        if number == 2:
            assert tab.evaluate(SCROLLED) == 0, "the next step begins at its top"
            tab.evaluate(f"{SCROLLED} = 200")
        guess(tab, step)
        if number == 2:
            assert tab.evaluate(SCROLLED) > 0, "the same step stays where it is"
        picture(tab, f"lesson-{number}-{look}")
        faults += [f"step {number}: {one}" for one in tab.evaluate(AUDIT) if one.startswith(OWN)]
        assert tab.evaluate(TOO_WIDE) <= 0
        if number == 1:
            tab.get_by_role("button", name="Next step").scroll_into_view_if_needed()
            assert tab.evaluate(SCROLLED) > 300
        if number < len(STEPS):
            tab.get_by_role("button", name="Next step").click()
    assert "\n".join(faults) == ""
    tab.get_by_role("link", name="Now with your own").click()
    tab.get_by_role("heading", level=1, name="Your bank").wait_for()


def test_keys_alone_lead_through_a_step_whose_guess_stays_and_can_be_printed(page):
    tab = page(DESK, at="how-parallel-adds")
    tab.get_by_role("spinbutton").first.focus()
    tab.keyboard.type("30")
    tab.keyboard.press("Enter")
    tab.get_by_text("Close: within").wait_for()
    settled(tab)
    said = tab.get_by_text(re.compile("^You said")).inner_text()
    tab.get_by_role("slider").focus()
    tab.keyboard.press("ArrowRight")
    tab.get_by_text(re.compile("^3 equal batteries give 20.0")).wait_for()
    assert tab.get_by_text(re.compile("^You said")).inner_text() == said
    go(tab, "Your bank")
    go(tab, "How parallel adds")
    assert tab.get_by_text(re.compile("^You said")).inner_text() == said
    tab.get_by_text(re.compile("^3 equal batteries")).wait_for()
    sheets_come_as_files_that_need_nothing_else(tab)
    tab.get_by_role("slider").focus()
    for _ in range(40):
        tab.keyboard.press("Tab")
        if tab.evaluate("document.activeElement.innerText") == "Next step":
            break
    tab.keyboard.press("Enter")
    at_step(tab, 2)


def sheets_come_as_files_that_need_nothing_else(tab):
    """Take both sheets home; what was opened for it is closed again."""
    tab.get_by_text("Sheets to print").click()
    for button, words in (("Blank questions", "My guess:"), ("My guesses", "You said 30 A")):
        with tab.expect_download() as kept:
            tab.get_by_role("button", name=re.compile(button)).click()
        text = Path(kept.value.path()).read_text(encoding="utf-8")
        assert words in text
        assert not re.search(r"(src|href)=\"(?!data:)", text)
    tab.get_by_text("Sheets to print").click()


def test_a_class_at_the_wall(page):
    tab = page(WALL, at="how-parallel-adds")
    small = tab.evaluate("parseFloat(getComputedStyle(document.documentElement).fontSize)")
    tab.get_by_text("Large, for the wall").click()
    tab.wait_for_function(
        "was => parseFloat(getComputedStyle(document.documentElement).fontSize) > 1.5 * was",
        arg=small,
    )
    tab.get_by_role("button", name="All steps").click()
    tab.get_by_role("button", name=re.compile("4. The weakest cell")).click()
    at_step(tab, 4)
    tab.keyboard.press("Escape")
    tab.get_by_text("A class? Count hands").click()
    settled(tab)
    for place, hands in enumerate(("3", "7", "9", "2", "1")):
        tab.get_by_role("spinbutton", name=re.compile("^Hands for")).nth(place).fill(hands)
        tab.keyboard.press("Enter")
        settled(tab)
    guess(tab, STEPS[3])
    tab.get_by_text(re.compile("Right were 9 of 22")).wait_for()
    for seen in ("^You said", "^A sceptic would ask"):  # at the top again, all without scrolling
        box = tab.get_by_text(re.compile(seen)).bounding_box()
        assert 0 <= box["y"] <= box["y"] + box["height"] <= WALL[1]
    picture(tab, "lesson-wall")
    box = tab.get_by_test_id("stPlotlyChart").bounding_box()
    assert box["height"] >= 400
    go(tab, "Your bank")
    assert tab.evaluate("parseFloat(getComputedStyle(document.documentElement).fontSize)") == small

"""What happens in a real browser: the answer, a closer look that stays, files, looking harder."""

import re

import pytest
from browsing import DESK, PHONE, go, picture, settled

from bankSim.screens.ready import ready_draft

SIDEWAYS = "() => document.documentElement.scrollWidth > document.documentElement.clientWidth"
RANGE = """
() => {
    const chart = document.querySelector('.js-plotly-plot');
    return chart._fullLayout.xaxis.range.map(Number);
}
"""


def with_weak_cell(tab):
    """Put the ready bank with the weak cell on the desk and go to the page."""
    tab.get_by_text("Start from a ready bank").first.click()
    settled(tab)
    tab.get_by_text(ready_draft("weak-cell").data["title"], exact=True).click()
    tab.wait_for_timeout(600)  # until the choice has reached the server
    settled(tab)
    tab.get_by_role("button", name="Start from this one").click()
    settled(tab)
    go(tab, "What happens")
    tab.locator(".chances").wait_for()
    settled(tab)


def assert_answer_is_seen_first(tab, size, name):
    """The first line stands in the upper part of the window, and nothing scrolls sideways."""
    tab.set_viewport_size({"width": size[0], "height": size[1]})
    settled(tab)
    first = tab.locator(".answer .first")
    assert re.match(r"The bank delivers [\d.]+ Ah of the 100 Ah", first.inner_text())
    box = first.bounding_box()
    assert box["y"] + box["height"] < 0.4 * size[1]
    assert '"weak" cuts out first' in tab.locator(".chances").inner_text()
    assert not tab.evaluate(SIDEWAYS)
    picture(tab, f"what-happens-{name}")


def test_the_answer_is_seen_first_files_can_be_taken_home_and_a_closer_look_stays(page):
    tab = page(PHONE, dark=True)
    with_weak_cell(tab)
    assert_answer_is_seen_first(tab, PHONE, "phone-dark")
    files_can_be_taken_home(tab)
    assert_answer_is_seen_first(tab, DESK, "desk-dark")
    a_closer_look_shows_the_moment_and_stays(tab)


def files_can_be_taken_home(tab):
    heads = {
        "Timeline (CSV)": b"time_s,",
        "All events (CSV)": b"time_h,battery,",
        "Story (text)": b"Two equal packs",
        "Summary (JSON)": b"{",
    }
    for label, head in heads.items():
        with tab.expect_download() as found:
            tab.get_by_role("button", name=label).click()
        content = found.value.path().read_bytes()
        assert content.startswith(head), (label, content[:60])
        assert found.value.suggested_filename.startswith("weak-cell-")


def a_closer_look_shows_the_moment_and_stays(tab):
    whole = tab.evaluate(RANGE)
    tab.get_by_role("button", name='"weak" out').click()
    tab.get_by_text("Shown:").wait_for()
    settled(tab)
    low, high = tab.evaluate(RANGE)
    assert high - low < 0.2 * (whole[1] - whole[0])
    out_h = float(re.search(r"after ([\d.]+) h", tab.locator(".answer").first.inner_text())[1])
    assert low < out_h < high
    go(tab, "What if")
    go(tab, "What happens")
    assert tab.evaluate(RANGE) == pytest.approx([low, high])
    tab.get_by_role("button", name="Whole run").click()
    tab.get_by_text("Shown:").wait_for(state="detached")
    settled(tab)
    assert tab.evaluate(RANGE) == pytest.approx(whole)

    # the slider of the window works by keyboard
    start = tab.get_by_role("slider", name=re.compile("Time shown")).first
    start.focus()
    for _ in range(4):
        tab.keyboard.press("ArrowRight")
    tab.get_by_text("Shown:").wait_for()
    settled(tab)
    assert tab.evaluate(RANGE)[0] > 0.0


def test_looking_harder_can_be_stopped_and_begun_again(page):
    tab = page(DESK, at="what-happens")
    tab.locator(".chances").wait_for()
    settled(tab)
    tab.get_by_role("button", name="Look harder").click()
    tab.get_by_role("button", name="Stop", exact=True).last.click()
    tab.get_by_text("Stopped; the bands shown").wait_for()
    tab.get_by_role("button", name="Look harder").click()
    tab.get_by_text("What looking harder found").wait_for(timeout=120_000)
    settled(tab)
    tab.get_by_text("What looking harder found").click()
    settled(tab)
    assert tab.get_by_text("How sure this is").is_visible()
    picture(tab, "what-happens-harder")

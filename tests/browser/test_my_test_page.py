"""My test in a real browser: bring logs, get a verdict, stop long work, compare with the bank."""

from pathlib import Path

import pytest
from browsing import DESK, PHONE, go, picture, settled

TOP = Path(__file__).parents[2]
LOGS = TOP / "scenarios/logs"
AUDIT = Path(__file__).with_name("audit.js").read_text(encoding="utf-8")
OVERFLOW = """
() => [document.documentElement, document.querySelector('[data-testid="stMain"]')]
    .map((one) => one.scrollWidth - one.clientWidth)
"""
REPEATS = ("repeat-1", "repeat-2", "repeat-3")
A_FALL = "\n".join(f"{60 * i},{13.2 - 0.002 * i:.3f},10.0" for i in range(200))


def step(tab, words):
    tab.get_by_test_id("stRadio").get_by_text(words, exact=True).click()
    settled(tab)


def upload(tab, *files):
    tab.get_by_test_id("stFileUploader").locator("input[type=file]").set_input_files(files)
    settled(tab)


def a_file(name, text):
    return {"name": name, "mimeType": "text/csv", "buffer": text.encode()}


def choose(tab, label, *words):
    """Choose logs in a list by typing a part of their name."""
    box = tab.get_by_role("combobox", name=label)
    for word in words:
        box.click()
        box.fill(word)
        tab.get_by_role("option").filter(has_text=word).first.click()
        settled(tab)
    tab.keyboard.press("Escape")


def faults(tab):
    """What a reader, a thumb or a screen reader would trip over.

    The small buttons inside fields (clear, remove) have no words: they are the toolkit's, and the
    keyboard does the same.
    """
    own = "button[", "st-emotion"
    found = [line for line in tab.evaluate(AUDIT) if not all(part in line for part in own)]
    return [f"too wide by {px} px" for px in tab.evaluate(OVERFLOW) if px > 0] + found


def examples(tab):
    tab.get_by_role("button", name="Try it with the example logs").click()
    tab.get_by_role("heading", name="How it is understood").wait_for()
    settled(tab)


@pytest.mark.parametrize(("size", "dark"), [(PHONE, True)], ids=["phone"])
def test_from_example_logs_to_a_verdict(page, size, dark):
    tab = page(size, dark=dark, at="my-test")
    look = "phone-dark" if dark else "desk-light"
    examples(tab)
    found = {"logs": faults(tab)}
    assert "nobody measured them" in tab.inner_text("main")
    picture(tab, f"my-test-logs-{look}")
    step(tab, "2 Capacity against the label")
    choose(tab, "Logs of capacity tests", *REPEATS)
    tab.get_by_role("spinbutton", name="Capacity on the label [Ah]").fill("120")
    tab.keyboard.press("Enter")
    tab.get_by_text("120 Ah is not met").first.wait_for()
    settled(tab)
    found["capacity"] = faults(tab)
    picture(tab, f"my-test-capacity-{look}")
    step(tab, "3 Cells at the cut-out")
    box = tab.get_by_role("textbox", name="Cell voltages at the cut-out")
    box.fill("2.31 2.52 2.47 2.38")
    box.press("Enter")
    tab.get_by_text("Cell 1 was the lowest").wait_for()
    settled(tab)
    found["snapshot"] = faults(tab)
    step(tab, "2 Capacity against the label")  # what was chosen is still there
    tab.get_by_text("120 Ah is not met").first.wait_for()
    go(tab, "Report")
    go(tab, "My test")
    tab.get_by_text("120 Ah is not met").first.wait_for()
    assert {key: lines for key, lines in found.items() if lines} == {}


def test_calibration_stops_and_a_bank_log_is_held_against_the_made_up_bank(page):
    tab = page(PHONE, at="my-test")
    examples(tab)
    step(tab, "4 Battery from logs")
    choose(tab, "Logs of this battery", "older-capacity", "older-pulses")
    tab.get_by_role("button", name="Calibrate", exact=True).click()
    tab.get_by_test_id("stProgress").wait_for()
    tab.get_by_role("button", name="Stop", exact=True).click()
    tab.get_by_role("button", name="Calibrate", exact=True).wait_for()
    settled(tab)
    assert tab.get_by_test_id("stProgress").count() == 0
    step(tab, "5 Bank against prediction")
    choose(tab, "Log of the bank", "bank-parallel")
    tab.get_by_role("button", name="Put the made-up bank on my desk").click()
    settled(tab)
    tab.get_by_role("button", name="Compare", exact=True).click()
    tab.get_by_text("The bank gave 182.0 Ah").wait_for(timeout=240_000)
    settled(tab)
    picture(tab, "my-test-comparison-phone-light")
    assert faults(tab) == []
    box = tab.get_by_role("img", name="What each possible cause").bounding_box()
    assert box["width"] >= 600  # so wide that its letters can be read; its frame scrolls


def test_too_large_a_file_is_refused_in_the_browser_and_words_of_a_log_stay_words(page, tmp_path):
    tab = page(DESK, at="my-test")
    large = tmp_path / "large.csv"
    with large.open("wb") as stream:
        stream.truncate(85_000_000)
    upload(tab, large)
    tab.get_by_test_id("stFileUploader").get_by_text("large.csv").first.wait_for()
    assert tab.get_by_role("heading", name="How it is understood").count() == 0
    header = 'time_s,voltage_V,current_A,<img src=x onerror="alert(1)">,=1+1,**[a](http://x.y)**'
    rows = "\n".join(f"{row},1,2,3" for row in A_FALL.splitlines())
    upload(tab, a_file("**[x](http://x.y)** <b>.csv", f"{header}\n{rows}\n"))
    tab.get_by_text("200 samples").first.wait_for()
    assert '<img src=x onerror="alert(1)">' in tab.inner_text("main")
    settled(tab)  # a list that is open while the page is still written closes again
    tab.get_by_text("Change columns or direction").click()
    settled(tab)
    tab.get_by_role("combobox", name="Time").click()
    tab.get_by_role("option", name="=1+1").wait_for()
    names = tab.get_by_role("option").all_inner_texts()
    assert "6: **[a](http://x.y)**" in names
    assert tab.locator("main img[src='x'], main a[href^='http://x']").count() == 0


def test_two_visitors_with_the_same_file_name(page):
    first, second = page(DESK, at="my-test"), page(PHONE, at="my-test")
    head = "time_s,voltage_V,current_A\n"
    for tab, text in ((first, A_FALL), (second, "\n".join(A_FALL.splitlines()[:100]))):
        upload(tab, a_file("run.csv", f"{head}{text}\n"))
    first.get_by_text("200 samples").first.wait_for()
    second.get_by_text("100 samples").first.wait_for()
    first.get_by_role("button", name="Remove run.csv").click()
    first.get_by_text("200 samples").first.wait_for(state="detached")
    assert "100 samples" in second.inner_text("main")

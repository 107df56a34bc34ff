"""The page Report end to end: made, saved, opened, without a network."""

import zipfile

import pytest
from browsing import DESK, PHONE, picture, settled

from bankSim.sim.summary import SAFETY_TEXT

QUESTION = "May the <b>old</b> one stay? *Please* tell $x$ ![a](http://example.invalid/a.png)"


@pytest.mark.parametrize(("size", "dark"), [(DESK, False)], ids=["desk"])
def test_report_is_made_saved_and_opened(page, size, dark, tmp_path):
    tab = page(size, dark=dark, at="report")
    tab.get_by_role("textbox", name="Your question, in your own words").fill(QUESTION)
    if size == PHONE:
        tab.get_by_text("Say how sure it is").click()  # no draws: quicker
    tab.get_by_role("button", name="Make the report").click()
    tab.get_by_role("heading", name="The report is ready").wait_for(timeout=90_000)
    settled(tab)
    picture(tab, f"report-made-{'phone-dark' if dark else 'desk-light'}")
    assert QUESTION in tab.inner_text("main").replace("\u2060", "")
    assert tab.locator("main a[href*='example']").count() == 0
    files = {}
    for words in ("Download the report", "Download the numbers"):
        with tab.expect_download() as saved:
            tab.get_by_role("button", name=words).click()
        files[words] = tmp_path / saved.value.suggested_filename
        saved.value.save_as(files[words])
    html, data = files.values()
    assert (html.name, data.name) == ("report.html", "report-data.zip")
    assert "timeline.csv" in zipfile.ZipFile(data).namelist()

    paper = tab.context.new_page()
    paper.goto(html.as_uri())
    text = " ".join(paper.inner_text("body").split())
    assert QUESTION in text
    assert SAFETY_TEXT in text
    assert paper.locator("script, iframe, object, embed, link").count() == 0
    assert paper.evaluate("document.documentElement.scrollWidth - innerWidth") <= 0
    paper.close()

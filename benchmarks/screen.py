"""What a visitor waits for, in a real browser: slider to finished picture, pages, the start."""

import sys
import time
from pathlib import Path
from tempfile import TemporaryDirectory

from benchmarks.show import Table, percent
from benchmarks.timing import sum_up

TESTS = Path(__file__).resolve().parents[1] / "tests" / "browser"
BANK = """title = "Two for 60 h"
[[battery]]
name = "one"
chemistry = "LFP"
cells_in_series = 4
rated_capacity_Ah = 100.0
[[battery]]
name = "two"
chemistry = "LFP"
cells_in_series = 4
rated_capacity_Ah = 80.0
capacity_fraction = 0.9
[[load]]
name = "lamp"
power_W = 36.0
"""
COLUMNS = ("what", "times", "median ms", "noise", "slowest ms")
LINES = (
    "By the clock, as the visitor feels it: from the key or the release of the mouse until the "
    "picture with the new curve has changed for the last time and a frame has been shown.",
)
# Notes when the hand acts and when the picture changes; both by the clock of the page.
WATCH = """
() => {
    const charts = () => [...document.querySelectorAll('.st-key-what_if_picture .js-plotly-plot')];
    const curve = () => charts().flatMap((chart) => chart.data || [])
        .filter((one) => one.name === 'bus').map((one) => one.y.bdata || one.y.join()).join();
    const noted = window.noted = {acted: 0, drawn: 0, curve, before: curve()};
    const act = () => { noted.acted = noted.acted || performance.now(); };
    ['pointerup', 'mouseup', 'keydown'].forEach((what) => window.addEventListener(what, act, true));
    const isPicture = (one) => (one.target.parentElement || one.target)
        .closest('.st-key-what_if_picture');
    new MutationObserver((changes) => {
        if (noted.acted && changes.some(isPicture)) requestAnimationFrame(() => {
            if (curve() !== noted.before) noted.drawn = performance.now();
        });
    }).observe(document.body,
        {subtree: true, childList: true, attributes: true, characterData: true});
}
"""
BEGIN = "() => { noted.acted = 0; noted.drawn = 0; noted.before = noted.curve(); }"
IS_DONE = "() => noted.drawn > 0 && performance.now() - noted.drawn > 500"
TOOK = "() => (noted.drawn - noted.acted) / 1000"


def screen_table(releases, pages=6):
    """Return the table and what must be said with it.

    Parameters
    ----------
    releases : int
        Of a slider, by mouse and by key each.
    pages : int
        How many of the six are gone through.
    """
    sys.path.insert(0, str(TESTS))
    try:
        from browsing import find_chromium
        from playwright.sync_api import sync_playwright
    except ModuleNotFoundError as missing:
        return _nothing(f"not measured: {missing.name} is not installed")
    program = find_chromium()
    if program is None:
        return _nothing("not measured: no chromium here")
    with TemporaryDirectory(prefix="bench-") as folder, sync_playwright() as playwright:
        found = _measured(playwright, program, Path(folder), releases, pages)
    return Table("The screen in a real browser", COLUMNS, [_row(*one) for one in found]), LINES


def _nothing(why):
    return Table("The screen in a real browser", COLUMNS, []), (why,)


def _measured(playwright, program, folder, releases, pages):
    from browsing import DESK, FLAGS, NOTE_CHANGES, TITLES, go, hand_in, settled
    from screen_server import start_screen

    begun = time.perf_counter()
    screen = start_screen(folder)
    try:
        browser = playwright.chromium.launch(executable_path=program, args=FLAGS)
        context = browser.new_context(viewport={"width": DESK[0], "height": DESK[1]})
        context.add_init_script(NOTE_CHANGES)
        tab = context.new_page()
        tab.goto(screen.url)
        tab.get_by_role("heading", level=1).wait_for()
        start = time.perf_counter() - begun
        go(tab, "What if")  # waits until the solver is ready
        hand_in_after(tab, go, hand_in, settled)
        first = _timed(lambda: _first_page(context, screen.url))
        titles = TITLES[:pages] * 2
        walked = [_timed(lambda title=title: go(tab, title, quiet_ms=0)) for title in titles]
        go(tab, "What if")
        tab.evaluate(WATCH)
        slider = tab.get_by_role("slider", name="emptier by")
        ways = [1 if (number // 4) % 2 == 0 else -1 for number in range(releases)]  # up, then down
        by_key = [_release(tab, lambda way=way: _press(tab, slider, way)) for way in ways]
        by_mouse = [_release(tab, lambda way=way: _drag(tab, slider, way)) for way in ways]
        browser.close()
    finally:
        screen.stop()
    return (
        ("slider let go by mouse -> picture", by_mouse),
        ("slider moved by key -> picture", by_key),
        ("from page to page, all asked before", walked[pages:]),
        ("from page to page, first time", walked[:pages]),
        ("a new visitor -> first page", [first]),
        ("command -> first page, browser's start included", [start]),
    )


def hand_in_after(tab, go, hand_in, settled):
    """Put the benchmark's bank on the desk."""
    go(tab, "Your bank")
    hand_in(tab, BANK)
    settled(tab, quiet_ms=600)


def _first_page(context, url):
    tab = context.new_page()
    tab.goto(url)
    tab.get_by_role("heading", level=1).wait_for()
    tab.close()


def _timed(act):
    start = time.perf_counter()
    act()
    return time.perf_counter() - start


def _release(tab, act):
    tab.evaluate(BEGIN)
    act()
    tab.wait_for_function(IS_DONE, polling=50, timeout=25_000)
    return tab.evaluate(TOOK)


def _press(tab, slider, way):
    slider.focus()
    tab.keyboard.press("ArrowRight" if way > 0 else "ArrowLeft")


def _drag(tab, slider, way):
    box = slider.locator("xpath=..").bounding_box() or slider.bounding_box()
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    tab.mouse.move(x, y)
    tab.mouse.down()
    tab.mouse.move(x + 30 * way, y, steps=5)
    tab.mouse.up()


def _row(what, seconds):
    timed = sum_up(seconds)
    noise = percent(timed.spread) if len(seconds) > 1 else "-"
    return [
        what, str(len(seconds)), f"{timed.seconds * 1e3:.0f}", noise, f"{max(seconds) * 1e3:.0f}",
    ]  # fmt: skip

"""What people do in a browser, for tests: go to a page, wait until it is done, take a picture."""

import os
import re
import shutil
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path
from urllib.parse import urlsplit

from playwright.sync_api import TimeoutError as TookTooLong

PHONE = (390, 844)
DESK = (1440, 900)
TITLES = ("Your bank", "What happens", "What if", "My test", "How parallel adds", "Report")
PROGRAMS = ("chromium", "chromium-browser", "google-chrome")
FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--process-per-site",  # all tabs share what one of them has compiled: half the work
    # no name leads anywhere but to this machine: what would leave is stopped, and seen
    "--host-resolver-rules=MAP * ~NOTFOUND, EXCLUDE 127.0.0.1, EXCLUDE localhost",
]
PATIENCE_S = 120.0
# Opened at a page's own address, Streamlit first asks for its server below that address.
LOOKED_FOR_BASE = re.compile(r"/[a-z-]+/_stcore/(health|host-config)$")

# Notes when the page was last changed; `settled` waits for a while of quiet.
NOTE_CHANGES = """
window.lastChange = performance.now();
new MutationObserver(() => { window.lastChange = performance.now(); })
    .observe(document, {subtree: true, childList: true, characterData: true, attributes: true});
"""
# Nothing moves on its way from one look to the next. A saved report lets no style in; the block of
# the page keeps its animation, by which a step of the lesson begins at its top.
STAND_STILL = """
if (location.protocol !== 'file:') addEventListener('DOMContentLoaded', () => {
    const still = document.createElement('style');
    still.textContent = '* { transition: none !important; }' +
        ':not([data-testid=stMainBlockContainer]) { animation: none !important; }';
    document.head.append(still);
});
"""
# What is still going on; nothing when the page is done.
STILL_BUSY = """
(quiet) => {
    const app = document.querySelector('[data-testid="stApp"]');
    if (!app) return 'no page yet';
    const script = app.dataset.testScriptState;
    if (script !== 'notRunning') return `script ${script}`;
    if (app.dataset.testConnectionState !== 'CONNECTED') return 'not connected';
    if (!document.querySelector('h1')) return 'no heading yet';
    const busy = ['[data-stale="true"]', '[data-testid="stSkeleton"]', '[data-testid="stSpinner"]',
                  '[data-testid="stProgress"]'].find((what) => document.querySelector(what));
    if (busy) return `${busy}: ${document.querySelector(busy).innerText}`;
    if (document.body.textContent.includes('Getting the solver ready')) return 'solver not ready';
    const charts = [...document.querySelectorAll('[data-testid="stPlotlyChart"]')];
    if (charts.some((one) => !one.querySelector('.main-svg'))) return 'a chart is not drawn';
    return performance.now() - window.lastChange > quiet ? '' : 'it still changes';
}
"""


@dataclass
class Watch:
    """What went wrong in a browser window, and where its requests went."""

    home: str
    troubles: list[str] = field(default_factory=list)
    foreign: list[str] = field(default_factory=list)

    def listen(self, context):
        """Note every error, failed request, dialog and foreign host of all its tabs."""
        context.on("console", self._console)
        context.on("weberror", lambda found: self.troubles.append(f"error: {found.error}"))
        context.on("request", lambda request: self._asked(request.url))
        context.on("requestfailed", self._failed)
        context.on("dialog", self._dialog)
        context.on("page", lambda page: page.on("websocket", lambda one: self._asked(one.url)))

    def _console(self, message):
        place = message.location.get("url", "")
        if message.type == "error" and not LOOKED_FOR_BASE.search(place):
            self.troubles.append(f"console: {message.text} ({place})")

    def _asked(self, url):
        parts = urlsplit(url)
        if parts.scheme in ("data", "blob", "about", "file"):
            return
        if parts.netloc != urlsplit(self.home).netloc:
            self.foreign.append(url)

    def _failed(self, request):
        # a page that is left, and a file that is saved, break off what they still load
        if "ERR_ABORTED" not in (request.failure or ""):
            self.troubles.append(f"request: {request.url} {request.failure}")

    def _dialog(self, dialog):
        self.troubles.append(f"dialog: {dialog.message}")
        dialog.dismiss()


def find_chromium():
    """Return the program, or None."""
    return next((found for found in map(shutil.which, PROGRAMS) if found), None)


def go(page, title, quiet_ms=250):
    """Go to a page by the navigation that visitors see."""
    link = page.locator('nav[aria-label="App pages"] a').filter(
        has_text=re.compile(f"^{re.escape(title)}$")
    )
    opener = page.get_by_role("button", name="Expand sidebar")
    was_closed = opener.is_visible()
    if was_closed:
        opener.click()
    link.click()
    current = page.locator('nav[aria-label="App pages"] a[aria-current="page"]')
    current.filter(has_text=title).wait_for(state="attached")
    page.get_by_role("heading", level=1, name=title, exact=True).wait_for()
    if was_closed:  # a phone closes the drawer by itself, a narrow window on a desk does not
        _close_drawer(page)
    settled(page, quiet_ms)


def _close_drawer(page):
    drawer = page.get_by_test_id("stSidebar")
    if drawer.get_attribute("data-collapsed") == "false":
        drawer.hover()
        page.get_by_role("button", name="Collapse sidebar").click()
    page.get_by_role("button", name="Expand sidebar").wait_for()


def settled(page, quiet_ms=250):
    """Wait until nothing runs any more: script, jobs, solver, drawing."""
    done = f"(quiet) => !({STILL_BUSY})(quiet)"
    try:
        page.wait_for_function(done, arg=quiet_ms, polling=80, timeout=1000.0 * PATIENCE_S)
    except TookTooLong:
        busy = page.evaluate(STILL_BUSY, quiet_ms)
        raise AssertionError(f"{page.url}: {busy}") from None


def open_uploader(tab):
    """Go to where a scenario file is handed in; a click that met a rerun is made again."""
    way, field = tab.get_by_text("your file", exact=True), tab.locator("input[type=file]").first
    for _ in range(5):
        if not way.is_visible():
            tab.get_by_text("Start from a ready bank, your file").click()
        way.click()
        with suppress(TookTooLong):
            field.wait_for(state="attached", timeout=6_000)
            return
    field.wait_for(state="attached")


def hand_in(tab, text, name="bank.toml"):
    """Upload a scenario on the page Your bank; does not wait for what comes of it."""
    open_uploader(tab)
    tab.locator("input[type=file]").first.set_input_files(
        [{"name": name, "mimeType": "text/plain", "buffer": text.encode()}]
    )


def picture(page, name):
    """Keep a picture of the whole page where one is wanted.

    The folder is that of the environment variable BANKSIM_SCREENSHOTS; without it there is none,
    since drawing a long page takes as long as the rest of a test.
    """
    wanted = os.environ.get("BANKSIM_SCREENSHOTS")
    if not wanted:
        return
    folder = Path(wanted)
    folder.mkdir(parents=True, exist_ok=True)
    size = page.viewport_size
    height = page.evaluate("document.querySelector('[data-testid=\"stMain\"]').scrollHeight")
    page.set_viewport_size({"width": size["width"], "height": max(size["height"], height + 20)})
    page.wait_for_timeout(150)
    page.screenshot(path=folder / f"{name}.png")
    page.set_viewport_size(size)

"""A server and a browser for the tests of the screen.

`page(size, dark=...)` opens the screen in a tab of a browser that has seen it before and returns
a Playwright page; at the end of the test all that went wrong in any of its tabs fails the test.
"""

import warnings
from contextlib import ExitStack
from pathlib import Path

import pytest
from _pytest.runner import runtestprotocol
from browsing import (
    DESK,
    FLAGS,
    NOTE_CHANGES,
    PROGRAMS,
    STAND_STILL,
    Watch,
    find_chromium,
    settled,
)
from hostile_bank import quick_bank
from playwright.sync_api import sync_playwright
from screen_server import start_screen

HERE = Path(__file__).parent


@pytest.fixture(scope="session")
def server(tmp_path_factory):
    """The screen, served by `banksim app FILE`; it must leave nothing behind."""
    folder = tmp_path_factory.mktemp("screen")
    file = folder / "quick.toml"
    file.write_text(quick_bank(), encoding="utf-8")
    screen = start_screen(folder, str(file))
    yield screen
    assert screen.stop() == 0, screen.told
    assert screen.left_behind() == []
    assert "Traceback" not in screen.told, screen.told


class Programs:
    """The browsers of a session: started when first asked for, ended with the last test here.

    While Playwright is there, a loop runs that would disturb tests of other folders.
    """

    def __init__(self):
        self._ends = ExitStack()
        self._started = {}

    def get(self, name, start):
        """Return what is known by a name; `start(kind, how, ends)` makes it."""
        if name not in self._started:
            if not self._started:
                program = find_chromium()
                if program is None:
                    pytest.fail(f"no browser: install one of {', '.join(PROGRAMS)}", pytrace=False)
                kind = self._ends.enter_context(sync_playwright()).chromium
                self._started[""] = (kind, {"executable_path": program, "args": FLAGS})
            self._started[name] = start(*self._started[""], self._ends)
        return self._started[name]

    def end(self):
        """End all; who asks later gets new ones."""
        self._started.clear()
        self._ends.close()


RUNNING = Programs()


@pytest.fixture
def browser():
    """A real browser without a window that knows nothing yet."""

    def start(kind, how, ends):
        return ends.enter_context(kind.launch(**how))

    return RUNNING.get("new", start)


@pytest.fixture(scope="session")
def kept(tmp_path_factory):
    """What a browser keeps of the pages it has seen: they come up in half the time."""
    return tmp_path_factory.mktemp("kept")


@pytest.fixture
def known_browser(server, kept):
    """A browser that has seen the screen before, with its watch."""

    def start(kind, how, ends):
        # without motion, of which these tests look at nothing, it has a quarter less to do
        context = kind.launch_persistent_context(kept, reduced_motion="reduce", **how)
        ends.enter_context(context)
        # its first, empty tab holds the process that tabs of this server share, and what it knows
        context.pages[0].goto(f"{server.url}_stcore/health")
        context.add_init_script(STAND_STILL)
        return context, _watched(context, server)

    return RUNNING.get("known", start)


@pytest.fixture
def window(browser, server):
    """Make windows without a page that know nothing yet: `window(size)`; with a `Watch` each."""
    made = []

    def make(size=DESK):
        context = browser.new_context(viewport={"width": size[0], "height": size[1]})
        made.append((context, _watched(context, server)))
        return made[-1]

    yield make
    for context, _ in made:
        context.close()
    _assert_nothing_wrong([watch for _, watch in made])


@pytest.fixture
def tabs(known_browser):
    """Tabs of one browser: `tabs.new_page()`; anything that goes wrong in them fails."""
    context, watch = known_browser
    yield context
    for tab in context.pages[1:]:  # the first one holds what they share
        tab.evaluate("localStorage.clear(); sessionStorage.clear()")
        tab.close()
    _assert_nothing_wrong([watch])


@pytest.fixture
def page(tabs, server):
    """Open the screen: `page(size, dark=..., at="what-if")`."""

    def open_it(size=DESK, *, dark=False, at=""):
        found = tabs.new_page()
        found.set_viewport_size({"width": size[0], "height": size[1]})
        found.emulate_media(color_scheme="dark" if dark else "light")
        found.goto(server.url + at)
        settled(found)
        return found

    return open_it


def _watched(context, server):
    watch = Watch(server.url)
    watch.listen(context)
    context.add_init_script(NOTE_CHANGES)
    return watch


def _assert_nothing_wrong(watches):
    seen = [(watch.troubles[:], watch.foreign[:]) for watch in watches]
    for watch in watches:
        watch.troubles.clear()
        watch.foreign.clear()
    assert [trouble for troubles, _ in seen for trouble in troubles] == []
    assert [url for _, urls in seen for url in urls] == []


def pytest_runtest_protocol(item, nextitem):
    """Give a test in the browser a second try, and say so: a busy machine loses clicks."""
    if item.path.parent != HERE:  # the hook is called for all tests
        return None
    item.ihook.pytest_runtest_logstart(nodeid=item.nodeid, location=item.location)
    reports = runtestprotocol(item, nextitem=nextitem, log=False)
    failed = [report for report in reports if report.failed]
    if failed:
        why = [line for line in failed[0].longreprtext.splitlines() if line.startswith(("E ", ">"))]
        warnings.warn(f"second try: {item.nodeid}: {' '.join(why)[:500]}", stacklevel=1)
        RUNNING.end()  # whatever is wrong with them
        item._initrequest()
        reports = runtestprotocol(item, nextitem=nextitem, log=False)
    if nextitem is None or nextitem.path.parent != HERE:
        RUNNING.end()
    for report in reports:
        item.ihook.pytest_runtest_logreport(report=report)
    item.ihook.pytest_runtest_logfinish(nodeid=item.nodeid, location=item.location)
    return True


def pytest_sessionfinish():
    """End the browsers also where the tests were broken off."""
    RUNNING.end()

"""What visitors hand in stays words, stays theirs, and is counted right with many at once."""

import re

from browsing import DESK, TITLES, go, hand_in, settled
from hostile_bank import NASTY, bank, hostile_bank

from bankSim.scenario.draft import Draft
from bankSim.screens.answers import scenario_of
from bankSim.show.headline import headline
from bankSim.sim.run import simulate

VISITORS = 3  # two of them tabs of one browser
# Elements that only a name could have made.
MADE = """
() => ['script:not([src]):not([type])', 'img[src="x"]', 'a[href*="elsewhere"]', '.katex',
       'a[href^="javascript"]', '[onerror]', 'img[src*="elsewhere"]', 'a[href^="mailto"]']
    .filter((what) => [...document.querySelectorAll(`main ${what}`)].length > 0)
    .concat([...document.querySelectorAll('main :is(strong, code, [data-testid=stIconMaterial])')]
        .map((one) => one.textContent).filter((text) => /^(boldmark|home|code)$/.test(text.trim())))
"""


HAS_NAME = """
(who) => document.body.textContent.includes(who) ||
    [...document.querySelectorAll('input')].some((one) => one.value.includes(who))
"""


def shown(tab):
    """The words of the page, on one line."""
    return " ".join(tab.inner_text("main").replace("\u2060", "").split())


def test_hostile_words_stay_words_on_every_page(page):
    tab = page(DESK)
    hand_in(tab, hostile_bank())
    tab.wait_for_function(HAS_NAME, arg=NASTY[1], timeout=60_000)
    settled(tab)
    seen = ""
    for title in TITLES:
        go(tab, title)
        assert tab.evaluate(MADE) == [], title
        assert tab.evaluate("window.pwned") is None, title
        seen += shown(tab)
        for one in tab.get_by_test_id("stExpander").locator("summary").all():
            one.click()
        settled(tab)
        assert tab.evaluate(MADE) == [], f"{title}, all opened"
        assert tab.evaluate("window.pwned") is None, f"{title}, all opened"
    assert NASTY[1] in seen  # a name of a battery, letter for letter


def test_many_visitors_at_once_get_their_own_answers(tabs, window, server):
    banks = {f"visitor-{n:02d}": bank(f"bank of visitor-{n:02d}", (f"visitor-{n:02d}", "other"),
                                      (60.0 + 5.0 * n, 100.0), power=200.0 + n)
             for n in range(VISITORS)}  # fmt: skip
    alone = {
        who: headline(simulate(scenario_of(Draft(text, name="bank.toml"))))[0]
        for who, text in banks.items()
    }
    assert len(set(alone.values())) == VISITORS
    pages = {}
    browsers = [tabs, tabs, window(DESK)[0]]  # tabs of one browser are visitors, too
    for place, who in enumerate(banks):
        pages[who] = browsers[place % len(browsers)].new_page()
        pages[who].goto(server.url, wait_until="commit")
    for who, tab in pages.items():
        tab.bring_to_front()  # a browser slows down what lies behind
        tab.get_by_role("heading", level=1).wait_for()
        hand_in(tab, banks[who])
    for who, tab in pages.items():
        tab.bring_to_front()
        tab.wait_for_function(HAS_NAME, arg=who, timeout=60_000)
        tab.get_by_role("navigation").get_by_role("link", name="Report").click()
    texts = {}
    for who, tab in pages.items():
        tab.bring_to_front()
        tab.get_by_role("heading", level=1, name="Report", exact=True).wait_for()
        settled(tab)
        texts[who] = shown(tab) + tab.content()
    for who, text in texts.items():
        assert alone[who] in text, who
        assert set(re.findall(r"visitor-\d\d", text)) == {who}

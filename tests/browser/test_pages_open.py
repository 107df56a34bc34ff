"""Every page opens at both widths, in light and in dark, and everybody can read and use it."""

from itertools import cycle
from pathlib import Path

from browsing import DESK, PHONE, TITLES, go, picture, settled
from keyboard_walk import walk

from bankSim.screens.theme import DARK_PAPER, LIGHT_PAPER
from bankSim.sim.summary import SAFETY_TEXT

AUDIT = Path(__file__).with_name("audit.js").read_text(encoding="utf-8")
OVERFLOW = """
() => [document.documentElement, document.querySelector('[data-testid="stMain"]')]
    .map((one) => one.scrollWidth - one.clientWidth)
"""
# What the server takes for the colour behind everything.
PAPER = "getComputedStyle(document.documentElement).getPropertyValue('--b-paper').trim()"
PAPERS = {"light": LIGHT_PAPER, "dark": DARK_PAPER}
LIGHTS = tuple(PAPERS)


def all_of(faults):
    """One line each, so that a failing test tells them all."""
    return "\n".join(f"{title}: {one}" for title, found in faults.items() for one in found)


def go_in(tab, title, light):
    """Go to a page in a light; where it is open already, it learns of another light by that."""
    tab.emulate_media(color_scheme=light)
    go(tab, title)
    tab.wait_for_function(f"(paper) => {PAPER} === paper", arg=PAPERS[light])
    settled(tab)


def looked_at(tab, name):
    """What is wrong with a page as it stands."""
    picture(tab, name.replace(" ", "-").lower())
    assert SAFETY_TEXT in " ".join(tab.inner_text("main").split()), name
    return [f"too wide by {px} px" for px in tab.evaluate(OVERFLOW) if px > 0] + tab.evaluate(AUDIT)


def resized(tab, size):
    tab.set_viewport_size({"width": size[0], "height": size[1]})
    settled(tab)


def test_every_page_opens_fits_can_be_read_and_is_reached_by_keyboard(page):
    # The words of a page are the same on a phone and at a desk: in one light here, in the other
    # there. Every other page swaps them, so the frame around is seen in both at either width.
    tab = page(PHONE)
    faults = {}
    for title, lights in zip(TITLES, cycle((LIGHTS, LIGHTS[::-1]))):
        go_in(tab, title, lights[0])
        faults[f"{title} phone"] = looked_at(tab, f"{title} phone {lights[0]}")
        resized(tab, DESK)
        go_in(tab, title, lights[1])
        faults[f"{title} desk"] = looked_at(tab, f"{title} desk {lights[1]}")
        faults[f"{title} by keyboard"] = walk(tab)
        resized(tab, PHONE)
    assert len(faults) == 3 * len(TITLES)
    assert all_of(faults) == ""


def test_audit_sees_what_is_wrong(tabs, server):
    # the audit itself: each fault is put on purpose into a page that has nothing else
    tab = tabs.new_page()
    tab.goto(f"{server.url}_stcore/health")
    tab.set_content("<main><h1>page</h1></main>")
    before = tab.evaluate(AUDIT)
    tab.evaluate("""() => {
        const put = (html) => document.querySelector('main').insertAdjacentHTML('beforeend', html);
        put('<input type="text">');
        const tiny = 'style="width:9px;height:9px;padding:0;overflow:hidden"';
        put(`<button ${tiny}>close</button><button ${tiny}>by</button>`);
        put(`<div style="padding:40px"><button ${tiny}>alone</button></div>`);
        put('<h4>jump</h4>');
        put('<img width="20" height="20" src="data:image/gif;base64,R0lGODlhAQABAAAAACw=">');
        put('<p style="color:#999;background:#fff">pale</p>');
        put('<p style="color:#767676;background:#fff">just enough: 4.54</p>');
    }""")
    found = "\n".join(sorted(set(tab.evaluate(AUDIT)) - set(before)))
    for part in (
        "no name: input[text]",
        'small: button[submit] "close"',
        "headings: h4",
        "no alt",
        '"pale"',
    ):
        assert part in found, part
    # #999 on white is 2.85 : 1 by hand, with luminance (0.6 + 0.055 over 1.055) to the 2.4
    assert 'contrast 2.85: "pale"' in found
    assert "just enough" not in found
    assert '"alone"' not in found

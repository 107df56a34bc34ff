"""The shared look: papers as in the settings, contrasts, tables, and the ways on."""

import re
import tomllib
from importlib.resources import files

import pytest
from streamlit.testing.v1 import AppTest

from bankSim.screens import router, theme
from bankSim.screens.frame import grid_html
from bankSim.show.blocks import Grid

SCREENS = files("bankSim.screens")
SETTINGS = tomllib.loads((SCREENS / "settings.toml").read_text(encoding="utf-8"))
LOOK = (SCREENS / "look.css").read_text(encoding="utf-8")


def luminance(colour):
    """Relative luminance of "#rrggbb"; W3C, Web Content Accessibility Guidelines 2.1, glossary."""
    parts = [int(colour[place : place + 2], 16) / 255.0 for place in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one, other):
    """Contrast ratio of two colours; the same source."""
    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def mixed(ink, paper, part):
    """Ink laid over paper with so much cover, as CSS `color-mix(... ink part, transparent)`."""
    pairs = ((int(ink[k : k + 2], 16), int(paper[k : k + 2], 16)) for k in (1, 3, 5))
    return "#" + "".join(f"{round(part * a + (1 - part) * b):02x}" for a, b in pairs)


def test_contrast_of_known_pairs():
    # the guidelines' own examples: black on white is 21 : 1, #777777 on white 4.48 : 1
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.005)


@pytest.mark.parametrize("mode", ["light", "dark"])
def test_small_print_can_be_read(mode):
    own = SETTINGS["theme"][mode]
    cover = re.search(r"color-mix\(in srgb, currentColor (\d+)%, transparent\) !important", LOOK)
    small = mixed(own["textColor"], own["backgroundColor"], int(cover[1]) / 100.0)
    assert contrast(small, own["backgroundColor"]) >= 7.0
    assert contrast(own["textColor"], own["secondaryBackgroundColor"]) >= 7.0
    assert contrast(own["linkColor"], own["backgroundColor"]) >= 4.5
    assert contrast(own["primaryColor"], own["backgroundColor"]) >= 4.5


@pytest.mark.parametrize("mode", ["light", "dark"])
@pytest.mark.parametrize("name", ["danger", "warning", "note"])
def test_signs_stand_out_on_both_papers(mode, name):
    colour = re.search(rf"--b-{name}: (#[0-9a-f]{{6}})", LOOK)[1]
    own = SETTINGS["theme"][mode]
    card = mixed(own["textColor"], own["backgroundColor"], 0.05)
    assert contrast(colour, card) >= 3.0
    assert name != "danger" or contrast("#ffffff", colour) >= 4.5


def test_papers_are_those_of_the_settings():
    assert SETTINGS["theme"]["light"]["backgroundColor"] == theme.LIGHT_PAPER
    assert SETTINGS["theme"]["dark"]["backgroundColor"] == theme.DARK_PAPER


def test_tables_escape_every_text():
    told = grid_html(Grid(("<i>a</i>", "b"), (("<script>", "1"),)), '"><b>')
    assert not re.search(r"<i>|<script>|<b>", told)
    assert '<td class="number">1</td>' in told


def _page():
    from bankSim.screens.router import show

    show()


def test_each_page_links_to_the_next_and_to_all():
    at = AppTest.from_function(_page, default_timeout=60).run()
    assert not at.exception
    labels = [one.proto.label for one in at.get("page_link")]
    titles = [title for _, title, _ in router.NAMED]
    assert labels[-len(titles) - 1 :] == [f"**Next: {titles[1]}**", *titles]


def test_the_row_of_pages_has_an_end(monkeypatch):
    shown = {router.SHOWN: router.NAMED[-1][0]}
    monkeypatch.setattr(router.st, "session_state", shown)
    assert router.next_page() is None
    shown[router.SHOWN] = router.NAMED[0][0]
    assert router.next_page() == router.NAMED[1][0]

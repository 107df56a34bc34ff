"""Every page opens at both widths, in light and in dark, without a fault."""

import pytest
from browsing import LOOK_NAMES, LOOKS, TITLES, go, picture

OVERFLOW = """
() => [document.documentElement, document.querySelector('[data-testid="stMain"]')]
    .map((one) => one.scrollWidth - one.clientWidth)
"""


@pytest.mark.parametrize(("size", "dark"), LOOKS, ids=LOOK_NAMES)
def test_every_page_opens_and_fits(page, size, dark):
    tab = page(size, dark=dark)
    for title in TITLES:
        go(tab, title)
        assert "Safety." in tab.inner_text("main")
        assert tab.evaluate(OVERFLOW) == [0, 0], title
        look = f"{'phone' if size[0] < 500 else 'desk'} {'dark' if dark else 'light'}"
        picture(tab, f"{title} {look}".replace(" ", "-").lower())


def test_pages_open_by_their_own_address(page):
    assert page(at="what-if").get_by_role("heading", level=1).inner_text() == "What if"

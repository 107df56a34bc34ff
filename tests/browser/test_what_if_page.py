"""What if in a real browser: play by keyboard and mouse, compare, keep, map, put into the bank."""

from browsing import DESK, PHONE, picture, settled

CURVE = """
() => {
    const chart = document.querySelector('.st-key-what_if_picture .js-plotly-plot');
    const curves = chart ? chart.data : [];  // none while a picture takes the place of another
    return curves.filter((one) => one.name === 'bus').map((one) => one.y.bdata).join();
}
"""
NAMES = """
() => [...document.querySelectorAll('.st-key-what_if_picture .js-plotly-plot')]
    .flatMap((chart) => chart.data.map((one) => one.name))
"""
PICTURE_TOP = "() => document.querySelector('.st-key-what_if_picture').getBoundingClientRect().top"
FOCUSED = "() => document.activeElement.getAttribute('aria-label')"


def shows(tab, curve):
    """Wait until the picture shows a curve: keys are bundled, and their last run may come late."""
    tab.wait_for_function(f"(curve) => ({CURVE})() === curve", arg=curve, timeout=30_000)
    settled(tab)


def words(tab):
    return tab.locator("[aria-live=polite]").inner_text()


def emptier(tab):
    return tab.get_by_role("slider", name="emptier by")


def test_playing_by_keyboard_on_a_phone(page):
    tab = page(PHONE, at="what-if")
    before = tab.evaluate(CURVE)
    assert "before" not in tab.evaluate(NAMES)
    slider = emptier(tab)
    slider.focus()
    for _ in range(6):
        tab.keyboard.press("ArrowRight")
    settled(tab)
    assert tab.evaluate(CURVE) != before
    assert "before" in tab.evaluate(NAMES)
    assert "Ah before" in words(tab)
    assert "emptier by" in tab.evaluate(FOCUSED)  # one can go on pressing keys
    picture(tab, "what-if-moved-phone")
    for _ in range(6):
        tab.keyboard.press("ArrowLeft")
    shows(tab, before)
    assert "Move a slider" in words(tab)

    # the picture stays in view while one plays
    tab.get_by_role("slider").last.scroll_into_view_if_needed()
    last = tab.get_by_role("slider").last.bounding_box()
    tab.mouse.move(200, 700)
    tab.mouse.wheel(0, last["y"] - 600)
    tab.wait_for_timeout(400)
    assert 0 <= tab.evaluate(PICTURE_TOP) < 120

    tab.get_by_text("What matters most").click()
    settled(tab)
    tab.get_by_role("button", name="Find what matters most").click()
    tab.get_by_text("Each bar").wait_for(timeout=120_000)
    settled(tab)
    picture(tab, "what-if-matters-phone")


def test_playing_at_a_desk(page):
    tab = page(DESK, at="what-if")
    what_was_moved_can_be_kept_taken_back_and_put_into_the_bank(tab)
    dragging_counts_when_it_is_let_go(tab)
    a_map_is_stopped_then_drawn(tab)


def dragging_counts_when_it_is_let_go(tab):
    before = tab.evaluate(CURVE)
    thumb = emptier(tab).locator("xpath=..").bounding_box() or emptier(tab).bounding_box()
    x, y = thumb["x"] + thumb["width"] / 2, thumb["y"] + thumb["height"] / 2
    tab.mouse.move(x, y)
    tab.mouse.down()
    tab.mouse.move(x + 120, y, steps=8)
    assert tab.evaluate(CURVE) == before
    tab.mouse.up()
    settled(tab)
    assert tab.evaluate(CURVE) != before


def a_map_is_stopped_then_drawn(tab):
    tab.get_by_text("A map over two of these").click()
    settled(tab)
    draw = tab.get_by_role("button", name="Draw the map")
    draw.click()
    tab.get_by_test_id("stMain").get_by_role("button", name="Stop", exact=True).click()
    tab.get_by_test_id("stProgress").wait_for(state="detached")
    settled(tab)
    draw.click()
    tab.get_by_text("It delivers most").wait_for(timeout=120_000)
    settled(tab)
    picture(tab, "what-if-map")


def what_was_moved_can_be_kept_taken_back_and_put_into_the_bank(tab):
    before = tab.evaluate(CURVE)
    emptier(tab).focus()
    for _ in range(3):
        tab.keyboard.press("ArrowRight")
    settled(tab)
    tab.get_by_role("button", name="Keep this as the comparison").click()
    settled(tab)
    assert "Move a slider" in words(tab)
    tab.get_by_role("button", name="Back to my bank").click()
    shows(tab, before)
    assert "before)" in words(tab)
    tab.get_by_role("button", name="Compare with my bank again").click()
    settled(tab)
    emptier(tab).focus()
    tab.keyboard.press("ArrowRight")
    settled(tab)
    now = tab.evaluate(CURVE)
    tab.get_by_role("button", name="Put this into my bank").click()
    settled(tab)
    tab.wait_for_function(f"() => !({NAMES})().includes('before')", timeout=30_000)
    assert tab.evaluate(CURVE) == now

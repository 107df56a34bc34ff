"""The page Your bank end to end, as a newcomer uses it on a phone and at a desk."""

import re
import tomllib
from pathlib import Path

import pytest
from browsing import DESK, PHONE, open_uploader, picture, settled
from playwright.sync_api import expect

SCENARIOS = Path(__file__).resolve().parents[2] / "scenarios"
HOSTILE = "# <b>x</b> [l](http://e.invalid) $a$ :red[r]"


def number(tab, name, at=0):
    return tab.get_by_role("spinbutton", name=name, exact=True).nth(at)


def type_in(tab, field, value):
    field.fill(value)
    field.press("Enter")
    settled(tab)


def press(tab, name, at=0):
    tab.get_by_role("button", name=name, exact=True).nth(at).click()
    settled(tab)


def pick(tab, name):
    """Choose a part of the page; names may go on with a count."""
    words = re.compile(rf"^(error ?)?{re.escape(name)}( \(\d+\))?$")
    tab.get_by_test_id("stMain").get_by_role("radio", name=words).or_(
        tab.get_by_test_id("stMain").get_by_role("button", name=words)
    ).first.click()
    settled(tab)


def start_from(tab, title):
    tab.locator("summary", has_text="Start from a ready bank").click()
    settled(tab)
    tab.get_by_text(title, exact=True).click()
    settled(tab)
    press(tab, "Start from this one")


def hand_in(tab, *files):
    open_uploader(tab)
    tab.locator("input[type=file]").first.set_input_files(files)
    settled(tab)


def saved(tab, folder):
    with tab.expect_download() as found:
        tab.get_by_role("button", name="Save the file").click()
    file = folder / found.value.suggested_filename
    found.value.save_as(file)
    return file


def is_ready(tab):
    expect(tab.get_by_text("Ready to predict.")).to_be_visible()


def no_sideways_scroll(tab):
    main = "document.querySelector('[data-testid=stMain]')"
    assert tab.evaluate(f"{main}.scrollWidth - {main}.clientWidth") <= 0


@pytest.mark.parametrize(("size", "dark"), [(PHONE, True)], ids=["phone"])
def test_a_newcomer_sets_up_a_bank(page, size, dark, tmp_path):
    tab = page(size, dark=dark)
    look = "phone-dark" if dark else "desk-light"
    is_ready(tab)
    start_from(tab, "Coffee cart: a new pack beside a five-year-old one")
    assert saved(tab, tmp_path).read_bytes() == (SCENARIOS / "coffee-cart.toml").read_bytes()
    picture(tab, f"your-bank-ready-{look}")

    type_in(tab, number(tab, "Capacity on the label (Ah)"), "-5")
    expect(tab.get_by_text("1 thing to mend.")).to_be_visible()
    expect(tab.get_by_text("expected 0.01 to 10000 Ah")).to_be_visible()
    picture(tab, f"your-bank-fault-{look}")
    type_in(tab, number(tab, "Capacity on the label (Ah)"), "95")
    is_ready(tab)

    pick(tab, "Lead")
    type_in(tab, number(tab, "Length, one way (m)"), "2.5")
    press(tab, "Add a battery")
    expect(tab.locator("summary", has_text="3 · battery 3")).to_be_visible()
    press(tab, "Remove", 0)
    expect(tab.locator("summary", has_text="3 ·")).to_have_count(0)
    press(tab, "Put back battery five years old")
    expect(tab.locator("summary", has_text="1 · five years old")).to_be_visible()
    for part in ("Wiring", "Loads", "Chargers", "Place and time", "As text"):
        pick(tab, part)
        no_sideways_scroll(tab)
        picture(tab, f"your-bank-{part.lower().replace(' ', '-')}-{look}")
    is_ready(tab)

    text = saved(tab, tmp_path).read_text(encoding="utf-8")
    battery = tomllib.loads(text)["battery"]
    assert [one["name"] for one in battery] == ["five years old", "new", "battery 3"]
    assert battery[0]["rated_capacity_Ah"] == 95.0
    assert battery[0]["lead"] == {"length_m": 2.5, "area_mm2": 35, "joints": 2, "fuse_A": 125}
    assert "# fell behind the others, a little at a time" in text


def test_typing_goes_on_a_fault_out_of_sight_has_a_way_to_it_and_names_stay(page):
    tab = page(DESK)
    typing_goes_on_while_the_page_works(tab)
    charge = "State of charge at the start (%)"
    before = number(tab, charge).input_value()
    type_in(tab, number(tab, charge), "130")
    pick(tab, "Loads")
    expect(tab.get_by_text("Battery 1")).to_be_visible()
    press(tab, "Go there")
    expect(tab.get_by_text("Expected 0 to 100 %.")).to_be_visible()
    assert number(tab, charge).input_value() == "130"
    press(tab, "Undo")
    is_ready(tab)
    assert number(tab, charge).input_value() == before

    type_in(tab, tab.get_by_role("textbox", name="Name", exact=True), HOSTILE)
    assert HOSTILE in tab.locator("summary").nth(2).inner_text().replace("\u2060", "")
    assert tab.locator("main a[href*='invalid'], main b").count() == 0
    is_ready(tab)


def test_files_come_and_go_and_hostile_ones_change_nothing(page, tmp_path):
    tab = page(DESK)
    hand_in(tab, SCENARIOS / "boat.toml", SCENARIOS / "boat-sun.csv")
    is_ready(tab)
    file = saved(tab, tmp_path)
    assert file.name == "boat.zip"
    press(tab, "Undo")
    hand_in(tab, file)
    is_ready(tab)
    assert saved(tab, tmp_path).read_bytes() == file.read_bytes()

    bad = tmp_path / "bad.toml"
    for content, line in (
        (b"\x89PNG\0\0", "not a text file"),
        (b"[[battery]", "not valid TOML"),
        (b"x = " + b"[" * 5000 + b"]" * 5000, "too deep"),
    ):
        bad.write_bytes(content)
        hand_in(tab, bad)
        expect(tab.get_by_text(line)).to_be_visible()
        is_ready(tab)
    assert saved(tab, tmp_path).read_bytes() == file.read_bytes()


def typing_goes_on_while_the_page_works(tab):
    number(tab, "Capacity on the label (Ah)").fill("120")
    charge = number(tab, "State of charge at the start (%)")
    charge.click()
    charge.press("ControlOrMeta+a")
    tab.keyboard.type("87.5", delay=120)
    settled(tab)
    assert charge.input_value() == "87.5"
    charge.press("Enter")
    settled(tab)
    assert charge.input_value() == "87.5"
    assert number(tab, "Capacity on the label (Ah)").input_value() == "120"
    is_ready(tab)

"""The report as a page: complete, escaped, closed to the outside, legible."""

import base64
import hashlib
import re
import struct
from dataclasses import replace
from datetime import datetime

import made_up
import pytest
from hostile import HIDDEN, NAMES, Elements
from simple_banks import affine, bank_of, steady

from bankSim.scenario.record import Assumed, Scenario
from bankSim.show.report import report_html, report_pictures
from bankSim.show.report_pictures import CAPTIONS
from bankSim.sim.result import Caution
from bankSim.sim.run import simulate
from bankSim.sim.summary import SAFETY_TEXT, program_version
from bankSim.study.blocks import threads
from bankSim.study.plan import make_plan
from bankSim.study.spread import study_spread

ALLOWED = {
    "html", "head", "meta", "title", "style", "body", "header", "main", "footer", "nav", "section",
    "h1", "h2", "h3", "p", "ul", "li", "a", "strong", "figure", "figcaption", "div", "img", "pre",
    "table", "thead", "tbody", "tr", "th", "td", "svg", "desc", "g", "rect", "path", "circle",
    "text",
}  # fmt: skip


@pytest.fixture(scope="module")
def pair():
    return made_up.pair()


@pytest.fixture(scope="module")
def pictures(pair):
    return report_pictures(pair)


@pytest.fixture(scope="module")
def page(pair, pictures):
    return report_html(pair, question="Is it safe?\nAnd for how long?", pictures=pictures)


def hostile_result():
    """A result in which every free text is hostile."""
    names = list(NAMES[:2])
    first, second = made_up.trip(names[0], 41.0, names), made_up.trip(names[1], 54.2, names, cell=1)
    made = made_up.result(
        [made_up.outcome(names[0], 100.0, first), made_up.outcome(names[1], 140.0, second)],
        [first, second],
        cautions=tuple(Caution(n, "danger", None, None, "A", n, n) for n in NAMES),
        assumed=tuple(Assumed(n, n, n, n) for n in NAMES),
        remarks=NAMES,
    )
    bank = replace(made.scenario.bank, loads=tuple(replace(steady(1.0), name=n) for n in NAMES))
    scenario = replace(
        made.scenario, title=" ".join(NAMES), notes="\n".join(NAMES), text="\n".join(NAMES),
        file=NAMES[1], tables=NAMES, bank=bank, changes=tuple((n, n) for n in NAMES),
    )  # fmt: skip
    return replace(made, scenario=scenario)


def test_it_is_well_formed_and_holds_nothing_but_our_elements(page):
    seen = Elements(page)
    assert set(seen.tags) <= ALLOWED
    assert seen.crossed == []
    assert seen.open == []
    assert page.startswith("<!DOCTYPE html>")
    named = [value for _, name, value in seen.attributes if name == "id"]
    assert len(named) == len(set(named))


def test_nothing_is_fetched_and_nothing_runs(page):
    seen = Elements(page)
    assert "script" not in seen.tags
    for tag, name, value in seen.attributes:
        assert not name.startswith("on"), (tag, name)
        assert name != "style"
        if name == "src":
            assert value.startswith("data:image/png;base64,")
        if name == "href":
            assert value.startswith("#")
    style = page.partition("<style>")[2].partition("</style>")[0]
    assert "url(" not in style
    assert "@import" not in style
    digest = base64.b64encode(hashlib.sha256(style.encode()).digest()).decode()
    rules = [rule.strip() for rule in seen.policy.split(";")]
    assert rules[0] == "default-src 'none'"
    assert f"style-src 'sha256-{digest}'" in rules
    assert "unsafe" not in seen.policy


def test_links_lead_somewhere(page):
    seen = Elements(page)
    ids = {value for _, name, value in seen.attributes if name == "id"}
    links = [value for _, name, value in seen.attributes if name == "href"]
    assert len(links) >= 6
    assert {link[1:] for link in links} <= ids


def test_everything_is_told(pair, page):
    text = " ".join(Elements(page).text.split())
    for told in (
        "Is it safe?", "And for how long?", "Made up", "DANGER 900 A flow on joining", SAFETY_TEXT,
        "its cell 3 fell to 2.50 V", "84.2", "146.8", "1.2", "Middle of published values",
        "wiring.link_mohm has no effect", "1e-06 relative", "made-up.toml", program_version(),
        "No draws were made", "Not checked:",
    ):  # fmt: skip
        assert told in text, told
    assert "made on" not in text
    dated = report_html(pair, made_on=datetime(2026, 3, 9, 7, 5), pictures={})
    assert "made on 9 March 2026, 07:05" in dated


def test_cautions_come_before_bank_and_figures(page):
    places = [page.index(f'<section id="{key}"') for key in ("answer", "cautions", "bank", "out")]
    assert places == sorted(places)
    assert page.index('class="caution danger"') < page.index('class="caution note"')


def test_figures_have_captions_and_words(page, pictures):
    seen = Elements(page)
    alts = [value for tag, name, value in seen.attributes if (tag, name) == ("img", "alt")]
    assert len(alts) == len(pictures) >= 3
    assert all(len(alt) > 20 for alt in alts)
    assert any('"old" gave 84.2 of 100 Ah' in alt for alt in alts)
    for name, picture in pictures.items():
        assert CAPTIONS[name] in seen.text
        wide, high = struct.unpack(">II", picture.png[16:24])  # PNG, ISO/IEC 15948: IHDR
        assert wide / high == pytest.approx(picture.width_px / picture.height_px, rel=0.01)
        assert wide > 1.5 * picture.width_px  # sharp in print


def test_the_same_inputs_give_the_same_page(pair, pictures, page):
    again = report_html(pair, question="Is it safe?\nAnd for how long?", pictures=pictures)
    assert again == page
    assert report_pictures(pair)["charge"].png == pictures["charge"].png


def test_hostile_texts_stay_texts(pictures):
    page = report_html(hostile_result(), question="\n".join(NAMES), pictures=pictures)
    seen, plain = Elements(page), Elements(report_html(made_up.pair(), pictures=pictures))
    assert set(seen.tags) <= ALLOWED
    assert seen.crossed == seen.open == []
    known = {(tag, name) for tag, name, _ in plain.attributes}
    more = {(tag, name) for tag, name, _ in seen.attributes} - known
    assert more <= {("svg", "viewbox")}
    assert seen.tags.count("img") == plain.tags.count("img")
    assert not any(mark in page for mark in HIDDEN)
    assert "{{ 7 * 7 }}{% raw %}" in seen.text
    assert "49" not in re.findall(r"\b\d+\b", seen.text)
    for name in (NAMES[0], NAMES[1], NAMES[2]):
        assert name in seen.text


def test_a_folder_is_not_told():
    made = made_up.pair()
    for file in ("/home/somebody/van/bank.toml", "C:\\Users\\somebody\\bank.toml"):
        page = report_html(replace(made, scenario=replace(made.scenario, file=file)), pictures={})
        assert "bank.toml" in page
        assert "somebody" not in page


def luminance(colour):
    """Relative luminance (WCAG 2.2)."""
    parts = [int(colour[k : k + 2], 16) / 255.0 for k in (1, 3, 5)]
    line = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return 0.2126 * line[0] + 0.7152 * line[1] + 0.0722 * line[2]


def contrast(one, other):
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


@pytest.mark.parametrize("place", [0, 1])
def test_colours_read_in_light_and_dark(page, place):
    roots = re.findall(r":root \{([^}]*--paper[^}]*)\}", page)
    colours = dict(re.findall(r"--(\w+): (#\w{6})", roots[place]))
    assert len(colours) >= 8
    for ink in ("ink", "quiet", "link", "danger", "warning", "note"):
        for ground in ("paper", "soft"):  # WCAG 2.2, AA: 4.5 to 1
            assert contrast(colours[ink], colours[ground]) >= 4.5, (ink, ground)


def test_print_is_black_on_white(page):
    style = page.partition("<style>")[2].partition("</style>")[0]
    assert "@media screen and (prefers-color-scheme: dark)" in style
    assert len(re.findall(r"prefers-color-scheme: dark", style)) == 1
    assert "@page" in style
    assert "table-header-group" in style


def test_a_run_that_ends_at_once_has_a_report():
    made = simulate(Scenario("At once", bank_of(affine(z=0.9), load=steady(1e6))))
    text = Elements(report_html(made)).text
    assert "At once" in text
    assert SAFETY_TEXT in text


@pytest.fixture(scope="module")
def spread():
    lead = affine("b", Ah=11.0, lead=0.002)
    bank = bank_of(affine("a", Ah=10.0), lead, load=steady(10.0), duration_s=3e4)
    scenario = Scenario("Two", bank)
    with threads(1) as workers:
        found = study_spread(make_plan(scenario, seed=7), workers, most=20, traced=5)
    return simulate(scenario), found


def test_draws_add_their_band_and_their_seed(spread):
    result, found = spread
    text = " ".join(Elements(report_html(result, spread=found)).text.split())
    assert "In " in text
    assert "20 draws, seed 7, 5 of them run in full" in text
    assert "Chances count draws of what this program knows to vary" in text
    assert CAPTIONS["shares"] in text
    assert "No draws were made" not in text
    assert "Among the draws" in text

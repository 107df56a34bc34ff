"""The drawing of the wiring: everything is on it, with the right numbers, inside its sheet."""

import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hostile import HIDDEN, NAMES, SVG, svg_tree, texts_of
from matplotlib import font_manager
from PIL import ImageFont
from random_banks import random_bank, random_battery
from random_hybrids import random_hybrid
from simple_banks import affine, bank_of, steady

from bankSim.model.bank import Layout, Wiring
from bankSim.model.charger import Charger, Stage, Sun
from bankSim.model.load import Load, Schedule
from bankSim.scenario.read import parse_scenario, read_scenario
from bankSim.show.wiring_drawing import wiring_svg, wiring_words
from bankSim.show.wiring_facts import charger_size, load_size

SCENARIOS = Path(__file__).parents[2] / "scenarios"
WAYS = (False, True)
ROWS = (Layout.SAME_END, Layout.OPPOSITE_ENDS)


def renamed(bank, names):
    batteries = tuple(replace(b, name=n) for b, n in zip(bank.batteries, names, strict=False))
    return replace(bank, batteries=batteries)


def crowd(count, layout=Layout.OPPOSITE_ENDS, loads=1):
    rng = np.random.default_rng(count)
    members = tuple(random_battery(rng, f"battery {k + 1} on a shelf") for k in range(count))
    users = tuple(replace(steady(5.0), name=f"load {k + 1}") for k in range(loads))
    bank = bank_of(*members, wiring=Wiring(layout, 2e-4, 5e-4, main_fuse_A=200.0))
    return replace(bank, loads=users)


def width_of(text, size, bold):
    """Advance in the widest usual sans-serif, from the font's own tables."""
    weight = "bold" if bold else "normal"
    file = font_manager.findfont(font_manager.FontProperties(family="DejaVu Sans", weight=weight))
    return ImageFont.truetype(file, 100).getlength(text) * size / 100.0


def reach(element):
    """Left and right end of a drawn text. [px]"""
    size, bold = float(element.get("font-size")), element.get("font-weight") == "bold"
    width, x = width_of("".join(element.itertext()), size, bold), float(element.get("x"))
    left = x - {"start": 0.0, "middle": 0.5, "end": 1.0}[element.get("text-anchor")] * width
    return left, left + width


def check_inside(root):
    wide, high = (float(part) for part in root.get("viewBox").split()[2:])
    for element in root.iter(f"{SVG}text"):
        left, right = reach(element)
        told = "".join(element.itertext())
        assert left >= 0.0, told
        assert right <= wide, told
        assert float(element.get("font-size")) < float(element.get("y")) < high, told
    for rect in root.iter(f"{SVG}rect"):
        x, y, w, h = (float(rect.get(key)) for key in ("x", "y", "width", "height"))
        assert x >= 0.0 and y >= 0.0 and x + w <= wide and y + h <= high  # noqa: PT018


def check_apart(root):
    """No text is written over another one."""
    boxes = []
    for element in root.iter(f"{SVG}text"):
        left, right = reach(element)
        size, y = float(element.get("font-size")), float(element.get("y"))
        boxes.append((left, right, y - 0.72 * size, y, "".join(element.itertext())))
    for place, one in enumerate(boxes):
        for other in boxes[place + 1 :]:
            beside = min(one[1], other[1]) - max(one[0], other[0])
            over = min(one[3], other[3]) - max(one[2], other[2])
            assert beside <= 0.5 or over <= 0.5, (one[4], other[4])


def round_to_3(value):
    return float(f"{value:.3g}")


def drawn_bank(seed):
    if seed % 2:
        return random_bank(seed)
    return random_hybrid(seed)


@pytest.mark.parametrize("narrow", WAYS)
@pytest.mark.parametrize("seed", range(12))
def test_everything_of_a_random_bank_is_drawn(seed, narrow):
    bank = drawn_bank(seed)
    root = svg_tree(wiring_svg(bank, narrow=narrow))
    told = texts_of(root)
    for one in (*bank.batteries, *bank.loads, *bank.chargers):
        assert one.name in told
    # resistances: ohm x 1000 to three digits, from the model alone
    shown = [float(n) for t in told for n in re.findall(r"([\d.]+) mohm", t)]
    wiring = bank.wiring
    ohms = [wiring.main_ohm, *(b.lead_ohm for b in bank.batteries)]
    if wiring.layout is not Layout.EQUAL_LEADS and len(bank.batteries) > 1:
        ohms += [wiring.link_ohm] * (1 if narrow else 2 * (len(bank.batteries) - 1))
    assert sorted(shown) == pytest.approx(sorted(round_to_3(1e3 * ohm) for ohm in ohms))
    marks = [
        int(path.get("data-cells")) for path in root.iter(f"{SVG}path") if path.get("data-cells")
    ]
    assert marks[::2] == [len(b.cells) for b in bank.batteries]
    check_inside(root)
    check_apart(root)


@pytest.mark.parametrize("narrow", WAYS)
@pytest.mark.parametrize("layout", list(Layout))
@pytest.mark.parametrize("count", [1, 2, 5, 6, 16, 17, 64])
def test_any_number_of_batteries_fits(count, layout, narrow):
    root = svg_tree(wiring_svg(crowd(count, layout), narrow=narrow))
    told = texts_of(root)
    assert sum(t.startswith("battery ") for t in told) == count
    check_inside(root)
    check_apart(root)


@pytest.mark.parametrize("count", [2, 4, 9, 64])
@pytest.mark.parametrize("narrow", WAYS)
def test_a_row_has_a_link_on_each_rail_between_neighbours(count, narrow):
    bars = len(resistors(crowd(count, Layout.EQUAL_LEADS), narrow))
    for layout in ROWS:
        assert len(resistors(crowd(count, layout), narrow)) - bars == 2 * (count - 1)


def resistors(bank, narrow):
    root = svg_tree(wiring_svg(bank, narrow=narrow))
    sizes = {("20.0", "8.0"), ("8.0", "20.0")}
    return [r for r in root.iter(f"{SVG}rect") if (r.get("width"), r.get("height")) in sizes]


def minus_take_off(bank, narrow):
    """Places of the large dots: where plus and minus are taken off."""
    root = svg_tree(wiring_svg(bank, narrow=narrow))
    dots = [c for c in root.iter(f"{SVG}circle") if c.get("r") == "5"]
    assert len(dots) == 2
    return {d.get("fill"): (float(d.get("cx")), float(d.get("cy"))) for d in dots}


def test_the_take_off_is_drawn_where_it_is():
    (plus, minus), along = ("#D55E00", "#0072B2"), 0
    same = minus_take_off(crowd(4, Layout.SAME_END), narrow=False)
    assert same[plus][along] == same[minus][along]
    apart = minus_take_off(crowd(4, Layout.OPPOSITE_ENDS), narrow=False)
    assert apart[plus][along] == same[plus][along]
    assert apart[minus][along] > apart[plus][along] + 300.0
    down = minus_take_off(crowd(4, Layout.OPPOSITE_ENDS), narrow=True)
    assert down[minus][1] > down[plus][1] + 150.0
    level = minus_take_off(crowd(4, Layout.SAME_END), narrow=True)
    assert level[minus][1] == level[plus][1]


CABLES = """
[surroundings]
temperature_C = 40.0
[wiring]
layout = "same end"
link = { length_m = 0.2, area_mm2 = 25, joints = 2 }
main = { length_m = 1.5, area_mm2 = 50, joints = 3, fuse_A = 200 }
[[battery]]
name = "one"
chemistry = "LFP"
cells_in_series = 4
rated_capacity_Ah = 100.0
lead = { length_m = 0.6, area_mm2 = 35, joints = 2, fuse_A = 150 }
[[battery]]
name = "two"
chemistry = "AGM"
cells_in_series = 6
rated_capacity_Ah = 80.0
lead_mohm = 3.25
[[load]]
name = "lamp"
power_W = 20.0
"""
# IEC 60228 class 5 maxima at 20 degC [ohm/km]: 25 mm2 0.780, 35 mm2 0.554, 50 mm2 0.386;
# copper 0.00393 per K; a joint 50 uohm, a fuse 80 mV at its rating (figures from memory)
WARM = 1.0 + 0.00393 * 20.0
LEAD = 2 * 0.6 * 0.554 * WARM + 4 * 0.05 + 80.0 / 150.0
LINK = 0.2 * 0.780 * WARM + 2 * 0.05
MAIN = 2 * 1.5 * 0.386 * WARM + 6 * 0.05 + 80.0 / 200.0


@pytest.mark.parametrize("narrow", WAYS)
def test_cables_are_told_with_length_size_and_resistance(tmp_path, narrow):
    made = parse_scenario(CABLES, tmp_path)
    told = " | ".join(texts_of(svg_tree(wiring_svg(made.bank, narrow=narrow, keys=made.keys))))
    for mohm in (LEAD, LINK, MAIN, 3.25):
        assert f"{mohm:.{2 - int(np.floor(np.log10(mohm)))}f} mohm" in told
    for fact in ("2 x 0.6 m, 35 mm2", "0.2 m, 25 mm2", "2 x 1.5 m, 50 mm2", "fuse 150 A",
                 "fuse 200 A", "label 100 Ah", "AGM", "20 W"):  # fmt: skip
        assert fact in told
    # AGM: more than its label, but less of it within 20 h; LFP gives all it holds
    assert re.search(r"holds 8\d\.\d\d Ah drawn slowly", told)
    assert told.count("drawn slowly") == 1
    without = " | ".join(texts_of(svg_tree(wiring_svg(made.bank, narrow=narrow))))
    assert "35 mm2" in without
    assert "0.6 m" not in without


@pytest.mark.parametrize("narrow", WAYS)
def test_hostile_names_stay_texts(narrow):
    for start in range(len(NAMES)):
        names = [*NAMES[start:], *NAMES[:start]][:4]
        bank = renamed(crowd(4), names)
        bank = replace(bank, loads=tuple(replace(steady(1.0), name=n) for n in NAMES))
        svg = wiring_svg(bank, narrow=narrow)
        root = svg_tree(svg)
        check_inside(root)
        assert not any(mark in svg for mark in HIDDEN)
        assert "<script" not in svg
        assert any(t.startswith("<script") or t == "$x$ ]]> <!-- -->" for t in texts_of(root))


def test_many_loads_are_counted_not_squeezed():
    bank = crowd(2, loads=40)
    root = svg_tree(wiring_svg(bank))
    assert "and 24 more" in texts_of(root)
    check_inside(root)
    check_apart(root)


def test_a_picked_battery_stands_out_without_colour():
    bank = crowd(4)
    plain, picked = (svg_tree(wiring_svg(bank, picked=p)) for p in (None, 2))

    def thick(root):
        return [r.get("x") for r in root.iter(f"{SVG}rect") if r.get("stroke-width") == "4"]

    assert thick(plain) == []
    assert len(thick(picked)) == 1
    assert '"battery 3 on a shelf" has a thick frame' in picked.find(f"{SVG}desc").text


def test_it_can_be_read_out_and_used_twice_on_a_page():
    bank = crowd(3)
    wide, narrow = (svg_tree(wiring_svg(bank, narrow=n)) for n in WAYS)
    for root in (wide, narrow):
        assert root.get("role") == "img"
        named = root.get("aria-labelledby").split()
        assert [e.get("id") for e in root.iter() if e.get("id")] == named
        assert root.find(f"{SVG}desc").text == " ".join(wiring_words(bank))
    assert not set(wide.get("aria-labelledby").split()) & set(narrow.get("aria-labelledby").split())


def test_words_tell_the_layout():
    assert "on common bars" in wiring_words(crowd(3, Layout.EQUAL_LEADS))[0]
    assert "minus at the last" in wiring_words(crowd(3, Layout.OPPOSITE_ENDS))[0]
    assert "both taken off at the first" in wiring_words(crowd(3, Layout.SAME_END))[0]
    assert wiring_words(bank_of(affine()))[0] == "One battery."
    assert wiring_words(bank_of(affine()))[-1] == "There is no charger."


def test_leads_that_differ_are_not_called_equal():
    bank = crowd(2, Layout.EQUAL_LEADS)
    for more_ohm, said in ((0.0, "(equal leads)"), (0.004, "(own leads, not equal)")):
        first, second = (replace(one, lead_ohm=0.002) for one in bank.batteries)
        other = replace(second, lead_ohm=0.002 + more_ohm)
        assert said in wiring_words(replace(bank, batteries=(first, other)))[0]


def test_sizes_of_loads():
    volts = 12.8
    assert load_size(steady(5.0), volts) == "5 A"
    assert load_size(steady(60.0, 0.0), volts) == "60 W"
    assert load_size(steady(1.0 / 2.4, 2.0), volts) == "2.40 ohm"
    # P = P0 (V / Vr)^n with amount = P0 / Vr^n: at Vr it is P0
    assert load_size(steady(95.0 / volts**1.2, 1.2), volts) == "95 W at 12.8 V"
    fed = Load("sun", 0.0, np.array([0.0, 9.0]), np.array([-70.0, 0.0]))
    assert load_size(fed, volts) == "feeds up to 70 W, by a table"
    both = Load("both", 1.0, np.array([0.0, 9.0]), np.array([-7.0, 3.0]))
    assert load_size(both, volts) == "feeds up to 7 A, draws up to 3 A, by a table"
    often = steady(5.0, 1.0, Schedule(duty_s=(720.0, 1080.0)))
    assert load_size(often, volts) == "5 A, 12 min on, 18 min off"


def test_sizes_of_chargers():
    stages = (Stage(14.4, tail_A=4.0), Stage(13.6))
    assert charger_size(Charger("c", stages, limit_A=30.0)) == "30 A, holds 14.40 and 13.60 V"
    sun = Charger("c", stages[:1], sun=Sun(300.0, 6e4, 7e4))
    assert charger_size(sun) == "sun, 300 W at noon, holds 14.40 V"
    daily = Charger("c", stages[:1], limit_W=500.0, schedule=Schedule(daily_s=((0.0, 60.0),)))
    assert charger_size(daily) == "500 W, holds 14.40 V, at set hours"


@pytest.mark.parametrize("narrow", WAYS)
@pytest.mark.parametrize("name", ["boat", "hut-opposite-ends", "three-days-of-sun", "winter-hut",
                                  "bench-cells"])  # fmt: skip
def test_shipped_banks_fit(name, narrow):
    made = read_scenario(SCENARIOS / f"{name}.toml")
    root = svg_tree(wiring_svg(made.bank, narrow=narrow, keys=made.keys))
    check_inside(root)
    check_apart(root)
    sizes = [float(e.get("font-size")) for e in root.iter(f"{SVG}text")]
    assert min(sizes) > 7.5

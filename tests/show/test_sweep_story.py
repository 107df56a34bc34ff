"""A sweep in sentences and rows."""

import re
from dataclasses import replace

import pytest
import told_studies as made

from bankSim.show.printing import story_text
from bankSim.show.sweep_headline import sweep_headline
from bankSim.show.sweep_story import MOST_ROWS, tell_sweep
from bankSim.sim.numbers import number
from bankSim.study.answers import CHARGED

KEY = "battery[old].lead_mohm"
LONG = tuple(f"{name} battery on the shelf" for name in "abcd")
LONG_KEYS = (
    made.swept_key("battery[1].protection[1].trips_below", (2.25, 2.75), "V, A or degC"),
    made.swept_key("battery[2].cells[3].state_of_charge", (0.9125, 0.9375), ""),
)
WORDS = made.swept_key("wiring.layout", ("same end", "opposite ends"), "")
FLAGS = made.swept_key("load[1].starts", (True, False), "")


def said(result):
    return " ".join(sweep_headline(result))


def text(result, width=300, **more):
    return story_text(tell_sweep(result, **more), width)


@pytest.mark.parametrize(
    ("medians", "words"),
    [
        ((150.0, 160.0, 170.0), "rises by 20.0 Ah (median), from 150 to 170 Ah."),
        ((170.0, 160.0, 150.0), "falls by 20.0 Ah (median), from 170 to 150 Ah."),
        ((170.0, 170.1, 169.9), "what the bank delivers changes next to nothing."),
        ((0.0, 0.0, 0.0), "what the bank delivers changes next to nothing."),
        ((0.0, 5.0, 9.0), "rises by 9.00 Ah (median), from 0 to 9.00 Ah."),
    ],
)
def test_what_a_key_of_numbers_does(medians, words):
    told = said(made.sweep(medians))
    assert told.startswith(f"From 1 mohm to 3 mohm of {KEY} ")
    assert words in told


@pytest.mark.parametrize("medians", [(100.0, 120.0, 100.0), (100.0, 120.0, 95.0)])
def test_a_hump_is_told_with_its_top(medians):
    told = said(made.sweep(medians))
    assert "120 Ah" in told
    assert "by 0 Ah" not in told


def test_most_of_it_between_two_values():
    told = said(made.sweep((150.0, 151.0, 180.0, 181.0)))
    assert "Most of it happens between 2 mohm and 3 mohm: 29.0 Ah." in told
    assert "Most of it" not in said(made.sweep((150.0, 160.0, 170.0, 180.0)))


def test_words_are_ranked():
    told = said(made.sweep((150.0, 160.0), key=WORDS))
    assert told.startswith(
        'The bank delivers most with wiring.layout = "opposite ends": 160 Ah (median); least with '
        '"same end": 150 Ah.'
    )
    same = said(made.sweep((150.0, 150.1), key=WORDS))
    assert same.startswith("wiring.layout changes next to nothing in what the bank delivers.")


def test_true_and_false_are_told_as_such():
    told = text(made.sweep((150.0, 160.0), key=FLAGS))
    assert "load[1].starts = false" in told
    assert "true" in told


@pytest.mark.parametrize(
    ("firsts", "words"),
    [
        ([(0.8, 0.2)] * 3, '"old" most often cuts out first at all values, in 80 of 100 cases.'),
        ([(0.7, 0.3), (0.8, 0.2), (0.9, 0.1)], "cuts out first at all values, in 70 to 90 of 100"),
        ([(0.1, 0.0)] * 3, "No battery cuts out in 90 of 100 cases at all values."),
        ([(0.52, 0.48)] * 3, "Who cuts out first is open at all values."),
        (
            [(0.8, 0.2), (0.2, 0.8), (0.1, 0.9)],
            'Most often cuts out first: "old" at 1 mohm, "new" from 2 mohm on. The chance that '
            '"old" is the first falls from 80 to 10 of 100 cases.',
        ),
        (
            [(0.8, 0.2), (0.0, 0.0), (0.1, 0.9)],
            'cuts out first: "old" at 1 mohm, nobody at 2 mohm, "new" at 3 mohm.',
        ),
        (
            [(0.8, 0.2), (0.5, 0.5), (0.8, 0.2)],
            'cuts out first: "old" at 1 mohm and at 3 mohm, open at 2 mohm.',
        ),
    ],
)
def test_who_cuts_out_first_along_the_way(firsts, words):
    assert words in said(made.sweep(firsts=firsts))


def test_many_with_small_chances_are_not_nobody():
    # own count: four times 19 of 100; nobody cuts out in the other 24
    names = ("a", "b", "c", "d")
    told = said(made.sweep(names=names, firsts=[(0.19,) * 4] * 3))
    assert "No battery cuts out in most cases" not in told


def test_a_tie_is_open():
    told = said(made.sweep(firsts=[(0.5, 0.5)] * 3))
    assert '"old" most probably' not in told


def test_words_have_no_order():
    told = said(made.sweep((150.0, 160.0), key=WORDS, firsts=[(0.8, 0.2), (0.2, 0.8)]))
    assert '"old" with "same end", "new" with "opposite ends".' in told


def test_a_single_battery_is_not_named_first():
    told = said(made.sweep(names=("alone",), firsts=[(1.0,)] * 3))
    assert "first" not in told


def test_two_keys():
    told = said(made.sweep_of_two((150.0, 160.0, 170.0, 140.0)))
    assert told == (
        f"The bank delivers most, 170 Ah (median), at {KEY} = 2 mohm and load[lamp].power_W = 40 W,"
        f" and least, 140 Ah, at {KEY} = 2 mohm and load[lamp].power_W = 60 W. Each alone "
        f"changes that: {KEY} by up to 20.0 Ah, load[lamp].power_W by up to 30.0 Ah."
    )
    same = said(made.sweep_of_two((150.0, 150.1, 150.0, 149.9)))
    assert same.startswith("Neither of the two keys changes")


def test_hours_that_halve_are_told():
    points = tuple(
        made.point((float(n),), 170.0, hours=hours)
        for n, hours in ((1, 20.0), (2, 15.0), (3, 10.0))
    )
    told = said(made.sweep(points=points))
    assert "20.0" in told
    assert "10.0" in told


def test_a_row_a_point():
    told = text(made.sweep())
    assert re.search(r"1 mohm +147\.0 +150\.0 +153\.0 +0\.70 +10\.0 +26\.0 +0\n", told)
    assert re.search(r"3 mohm +167\.0 +170\.0 +173\.0 +0\.70 +10\.0 +26\.0 +0\n", told)
    assert re.search(r"1 mohm +80 +20 +0\n", told)
    assert re.search(r"1 mohm +50 +50\n", told)


def test_long_tables_are_cut_on_a_terminal_only():
    many = made.sweep(tuple(150.0 + n for n in range(MOST_ROWS + 5)))
    assert text(many).count(" mohm  ") == 3 * (MOST_ROWS + 5)
    brief = text(many, briefly=True)
    assert brief.count(" mohm  ") == 3 * MOST_ROWS
    assert "5 more rows: story.txt." in brief


@pytest.mark.parametrize(
    "result",
    [
        made.sweep_of_two((150.0, 160.0, 170.0, 140.0)),
        made.sweep(names=LONG, firsts=[(0.25,) * 4] * 3),
        made.sweep_of_two(
            (1150.0, 1160.0, 1170.0, 1140.0), names=LONG, first=(0.25,) * 4, keys=LONG_KEYS
        ),
    ],
    ids=["two keys", "long names", "both"],
)  # fmt: skip
def test_nothing_of_a_table_is_cut_at_100_letters(result):
    told = text(result, 100)
    assert "\u2026" not in told
    for middle in [number(point.bank.percentiles[2].value, 4) for point in result.points]:
        assert f" {middle} " in told
    assert max(len(line) for line in told.splitlines()) <= 100


def test_a_fifth_battery_is_named_or_counted():
    names = tuple("abcdef")
    told = text(made.sweep(names=names, firsts=[(0.1,) * 6] * 3))
    assert "more" in told or "e first" in " ".join(told.split())


@pytest.mark.parametrize(
    ("value", "words"),
    [
        (None, "the file has nothing there."),
        (1.5, "the file has 1.5."),
        ("same end", 'the file has "same end".'),
    ],
)
def test_what_the_file_has(value, words):
    assert f"{KEY}: {words}" in text(made.sweep(given=(value,)))


@pytest.mark.parametrize("value", [{"value": 10.0, "sd": 0.3}, True])
def test_what_the_file_has_in_its_own_form(value):
    told = text(made.sweep(given=(value,)))
    assert "the file has { value = 10, sd = 0.3 }" in told or "the file has true" in told


def test_how_sure():
    told = " ".join(text(made.sweep()).split())
    assert "200 draws at each of 3 points, seed 7; the same draws at all of them" in told


# --- amperes, shares, dangers ---------------------------------------------------------------


def three(**changes):
    """Three points; what is given for a field is one value a point."""
    points = []
    for place in range(3):
        own = {name: values[place] for name, values in changes.items()}
        points.append(made.point((float(place + 1),), 170.0, **own))
    return made.sweep(points=tuple(points))


def test_the_share_at_the_start():
    told = said(three(shares=[(0.48, 0.52), (0.40, 0.60), (0.31, 0.69)]))
    assert 'At the start "old" carries 31 % of the current at 3 mohm and 48 % at 1 mohm.' in told
    assert "At the start" not in said(three(shares=[(0.50, 0.50), (0.49, 0.51), (0.47, 0.53)]))
    assert "At the start" not in said(three(shares=[(None, None)] * 3))


def test_where_it_gets_dangerous():
    danger = made.caution("surge", "danger", 0.4)
    rare, mild = made.caution("surge", "danger", 0.05), made.caution("fuse", "warning", 0.9)
    result = three(cautions=[(mild,), (rare, mild), (danger, mild)])
    assert "DANGER from 2 mohm on, in 1 to 8 of 20 draws: surge." in said(result)
    assert "fuse" not in said(result)
    told = " ".join(text(result).split())
    assert "danger: surge from 2 mohm on 8" in told
    assert "warning: fuse at all values 18" in told


def test_without_cautions():
    assert "DANGER" not in said(made.sweep())
    assert "may still come" in " ".join(text(made.sweep()).split())


def test_what_the_bank_takes_in():
    result = made.sweep((150.0, 160.0, 170.0), answer=CHARGED)
    assert "what the bank takes in rises by 20.0 Ah (median)" in said(result)


def of_two(dangerous):
    """Four points of two keys; a danger at some."""
    danger = (made.caution("surge", "danger", 0.4),)
    result = made.sweep_of_two((150.0, 160.0, 170.0, 140.0))
    points = tuple(
        replace(point, cautions=danger if flag else ())
        for point, flag in zip(result.points, dangerous, strict=True)
    )
    return said(replace(result, points=points))


@pytest.mark.parametrize(
    ("dangerous", "words"),
    [
        ((True, True, True, True), "DANGER at all points, in 8 of"),
        ((True, True, False, False), f"DANGER at 1 mohm of {KEY}, in 8 of"),
        ((False, True, False, True), "DANGER at 60 W of load[lamp].power_W, in 8 of"),
        (
            (False, False, True, False),
            f"DANGER at 1 of 4 points, such as {KEY} = 2 mohm and load[lamp].power_W = 40 W, in",
        ),
    ],
)
def test_where_it_gets_dangerous_with_two_keys(dangerous, words):
    assert words in of_two(dangerous)


def test_a_warning_in_place_of_a_danger_is_told_beside_it():
    # a larger fuse is no longer overloaded, and too large for its cable
    over = made.caution("fuse overloaded", "danger", 0.4)
    large = made.caution("fuse too large for its cable", "warning", 1.0)
    everywhere = made.caution("missing fuse", "warning", 1.0)

    def told(*cautions):
        result = made.sweep()
        points = tuple(
            replace(point, cautions=(*own, everywhere))
            for point, own in zip(result.points, cautions, strict=True)
        )
        return said(replace(result, points=points))

    words = ", where a danger is gone: fuse too large for its cable."
    assert words in told((over,), (large,), (large,))
    assert "where a danger is gone" not in told((over,), (), (large,))
    assert "where a danger is gone" not in told((over,), (over,), (over,))
    assert "where a danger is gone" not in told((), (), (large,))
    assert "missing fuse" not in told((over,), (large,), (large,))

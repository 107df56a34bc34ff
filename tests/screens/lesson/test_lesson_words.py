"""What the lesson says stays true wherever its sliders stand."""

import re

import numpy as np
import pytest
from lesson_grid import BY_KEY, GRID, answer, at

from bankSim.screens.charts.look import DARK, LIGHT
from bankSim.screens.lesson.circuit import circuit_svg, circuit_words
from bankSim.screens.lesson.hands import hands_words
from bankSim.screens.lesson.pictures import Bars, spec_of
from bankSim.screens.lesson.reading import amps, figures
from bankSim.screens.lesson.show_step import _said
from bankSim.screens.lesson.step import Amount, Choice
from bankSim.screens.lesson.steps import STEPS, THUMB
from bankSim.sim.numbers import number


@pytest.mark.parametrize("step", STEPS, ids=lambda step: step.key)
def test_texts_are_short_and_give_nothing_away(step):
    assert len(step.text.split()) <= 60
    truth = answer(step.key, step.slider.start).truth
    if isinstance(truth, float):
        assert not re.search(rf"\b{number(truth)}\b", step.text + step.question.text)
    else:
        assert truth in step.question.options


@pytest.mark.parametrize(("key", "value"), GRID)
def test_every_answer_is_whole(key, value):
    found = answer(key, value)
    told = " ".join((found.headline, found.why, found.reply, found.picture.words))
    assert "nan" not in told.lower()
    assert "None" not in told
    assert not re.search(r"\be[+-]?\d", told)
    step = BY_KEY[key]
    assert 0 <= step.question.group_of(found.truth) < len(step.question.groups)


def test_the_near_one_carries_more_only_if_it_does():
    for _, found in at("by-resistance"):
        near, far = found.facts["near_A"], found.facts["far_A"]
        assert ("just as much as" in found.headline) == (abs(near - far) <= 0.005 * max(near, far))
        assert ("carries more than" in found.headline) == (near > 1.005 * far)
        assert number(near) in found.headline
        assert number(far) in found.headline


def test_the_old_one_takes_less_only_if_it_does():
    for _, found in at("by-capacity"):
        gap = found.facts["late"] - found.facts["early"]
        assert ("less than before" in found.headline) == (gap < -3.0)
        assert ("more than before" in found.headline) == (gap > 3.0)
        assert (found.truth == "smaller") == (gap < -3.0)
        assert found.facts["low"] <= found.facts["late"] <= found.facts["high"]
    assert 45.0 < answer("by-capacity", 60.0).facts["early"] < 55.0  # "about half"


def test_the_low_one_is_out_first_only_if_it_is():
    for _, found in at("weakest-cell"):
        gap_s = found.facts["gap_s"]
        assert ("B is out first" in found.headline) == (gap_s > 60.0)
        assert ("A is out first" in found.headline) == (gap_s < -60.0)
        assert ("Cell 2" in found.why) == (found.facts["A_Ah"] - found.facts["B_Ah"] >= 0.5)
        assert ("nothing is stranded" in found.reply) == (found.facts["stranded_Ah"] < 0.05)


def test_one_cut_out_brings_the_next_only_if_it_does():
    for load_A, found in at("carries-all"):
        follows = bool(found.facts["follows"])
        assert ("A is out too" in found.headline) == follows
        assert ("above A's limit" in found.why) == (load_A > 120.0)
        assert found.branches[0].out == follows
        assert ("above its label" in found.reply) == (load_A > 100.0)
        assert ("below its label" in found.reply) == (load_A < 100.0)


def test_the_drawing_agrees_with_what_cut_out():
    for load_A, found in at("carries-all"):
        follows = bool(found.facts["follows"])
        assert found.branches[0].current == ("0 A" if follows else amps(load_A))
        assert found.load == ("0 A" if follows else f"{load_A:g} A")  # Kirchhoff


def test_three_digits_read_alike():
    assert [figures(value) for value in (9.9996, 10.0004, 99.96, 0.9996)] == [
        "10.0", "10.0", "100", "1.00",
    ]  # fmt: skip


def test_a_number_stays_beside_its_unit():
    assert _said("at 92 % and 60 A") == "at 92\N{NO-BREAK SPACE}% and 60\N{NO-BREAK SPACE}A"


def test_the_surge_charges_the_other_only_if_it_does():
    for _, found in at("surge"):
        assert ("charges A" in found.headline) == (found.facts["other_A"] < 0.0)
        assert ("more than the load takes" in found.headline) == (found.facts["after_A"] > 40.2)
        assert found.facts["away_s"] > 0.0


def test_a_release_near_the_limit_lets_charge_in_again_and_again():
    # by hand: a cell that has been at 3.6 V rests near 3.42 V, so that only a release above that
    # lets charge in while the charger is still on
    for release_V, found in at("surge"):
        hunts = "and blocks it again" in found.picture.told
        assert hunts == (release_V > 3.43)


def test_the_order_of_cutting_out_is_told_from_the_run():
    for _, found in at("what-comes-out"):
        order = found.headline.split("Order: ")[1]
        assert all(name in order for name in ("new", "old", "small"))
        by_current = order.startswith("small after 1.00 s")
        assert ("promises too much" in found.reply) == by_current
        assert ("Here the sum is a fair guess" in found.reply) == (not by_current)


@pytest.mark.parametrize("look", [LIGHT, DARK], ids=["light", "dark"])
@pytest.mark.parametrize("step", STEPS, ids=lambda step: step.key)
def test_pictures_hold_what_they_say(step, look):
    found = answer(step.key, step.slider.start)
    for wall in (False, True):
        spec = spec_of(found.picture, look, wall=wall)
        assert f"[{found.picture.unit}]" in spec["layout"]["yaxis"]["title"]["text"]
        assert spec["layout"]["font"]["size"] >= (24 if wall else 13)
        assert all(len(trace["x"]) == len(trace["y"]) for trace in spec["data"])
    if isinstance(found.picture, Bars):
        for value in found.picture.values:
            assert number(value) in found.picture.words
    else:
        assert np.all(np.diff(found.picture.times) >= 0.0)
        dashes = [trace["line"]["dash"] for trace in spec["data"]]
        assert len(set(dashes)) == len(dashes)  # never colour alone


@pytest.mark.parametrize("step", STEPS, ids=lambda step: step.key)
def test_the_circuit_is_drawn_and_told(step):
    found = answer(step.key, step.slider.start)
    for branches in (step.before, found.branches):
        drawing = circuit_svg(branches, step.load, LIGHT)
        words = circuit_words(branches, step.load)
        for branch in branches:
            assert f">{branch.name}</text>" in drawing
            assert branch.name in words
    assert all(not branch.current for branch in step.before)


def test_a_verdict_compares():
    amount = Amount("?", "A", 100.0, (20.0, 40.0), 3.0)
    assert amount.verdict(60.0, 71.0) == (
        "You said 60 A, the solver says 71.0 A. That is 11.0 A too low."
    )
    assert "Close" in amount.verdict(70.0, 71.0)
    assert amount.groups == ("below 20 A", "20 to 40 A", "40 A or more")
    assert [amount.group_of(value) for value in (10.0, 20.0, 39.9, 40.0)] == [0, 1, 1, 2]
    choice = Choice("?", ("more", "less"))
    assert "and so does the solver" in choice.verdict("less", "less")
    assert choice.verdict("more", "less") == 'You said "more", the solver says "less".'


def test_hands_are_counted():
    step = BY_KEY["by-capacity"]
    words = hands_words(step, (4, 5, 11), "smaller")
    assert "Right were 11 of 20 (smaller)." in words
    assert hands_words(step, (0, 0, 0), "smaller") == ""


def test_every_rule_of_thumb_says_where_it_fails():
    assert all(rule.endswith(".") and fails.endswith(".") for rule, fails in THUMB)

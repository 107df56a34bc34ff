"""The lesson's words, drawings and readings by hand, without the solver."""

from types import SimpleNamespace
from xml.etree import ElementTree

import numpy as np
import pytest
from made_results import Course, made
from pytest import approx
from simple_banks import affine, bank_of

from bankSim.kernels.arrays import AFTER
from bankSim.screens.charts.look import LIGHT
from bankSim.screens.lesson import by_capacity, carries_all, progress, reading, surge, weakest_cell
from bankSim.screens.lesson.banks import Unit, bank
from bankSim.screens.lesson.circuit import Branch, circuit_svg, circuit_words
from bankSim.screens.lesson.hands import hands_words
from bankSim.screens.lesson.step import Amount, Choice
from bankSim.screens.lesson.steps import STEPS


@pytest.mark.parametrize(
    ("load_A", "follows", "words"),
    [
        (119.0, False, "119 A are below A's limit of 120 A, so its electronics let it go on "
         "alone."),
        (120.0, False, "120 A are just A's limit of 120 A, so its electronics let it go on alone."),
        (120.0 + 1e-9, False, "120 A are just A's limit of 120 A, so its electronics let it go on "
         "alone."),
        (130.0, True, "130 A are above A's limit of 120 A, so its electronics act as well: one "
         "cut-out brings the next."),
    ],
)  # fmt: skip
def test_a_load_of_just_the_limit_is_not_below_it(load_A, follows, words):
    # the slider stands at 120 A too, where "120 A are below A's limit of 120 A" was said
    assert carries_all._why(follows, load_A).endswith(words)


@pytest.mark.parametrize(
    ("value_A", "words"),
    [(100.0, "just"), (100.0 + 1e-6, "just"), (150.0, "50 % above"), (40.0, "60 % below")],
)
def test_a_current_beside_the_label(value_A, words):
    assert carries_all._against(value_A) == words


def test_what_becomes_of_the_other_one():
    assert (
        carries_all._fate(True, 1.0, 12.34)
        == "1.00 s later A is out too, with 12.3 Ah still in it."
    )
    assert carries_all._fate(False, 1800.0, 0.0) == (
        "It carries the whole load for another 30.0 min, until it is empty."
    )


def test_a_current_around_the_cut_out_begins_on_its_line_and_ends_at_nothing():
    since_s = np.array([-100.0, -20.0, -5.0, 0.0, 8.0, 50.0])
    course = carries_all._course(since_s, np.array([10.0, 20.0, 30.0, 40.0, 50.0, 60.0]), 10.0)
    # at -10 s two thirds of the way from 20 to 30 A
    assert course == approx([20.0 + 10.0 * 10.0 / 15.0, 30.0, 40.0, 50.0, 0.0, 0.0])


@pytest.mark.parametrize(
    ("early", "late", "words"),
    [(50.0, 53.0, "about as before"), (50.0, 53.1, "more than before"),
     (50.0, 47.0, "about as before"), (50.0, 46.9, "less than before")],
)  # fmt: skip
def test_three_points_are_about_the_same(early, late, words):
    assert by_capacity._turn(early, late) == words


def test_the_part_of_the_old_one_is_straight_between_the_rows():
    times, news, olds = [0.0, 60.0, 120.0], [30.0, 10.0, 0.3], [10.0, 30.0, 0.3]
    result = made(bank_of(affine("new"), affine("old")), times, Course(A=news), Course(A=olds))
    assert by_capacity._part(result) == approx([25.0, 75.0, 0.0])  # below 1 A nobody is counted
    assert by_capacity._mean(result, 0.0, 60.0) == approx(50.0)
    assert by_capacity._range(result, 60.0) == approx((25.0, 75.0))


@pytest.mark.parametrize(
    ("after_A", "other_A", "words"),
    [(40.1, -0.1, "just as much as the load takes. The rest charges A with 0.100 A."),
     (90.0, -50.0, "more than the load takes. The rest charges A with 50.0 A."),
     (30.0, 10.0, "less than the load takes. A gives the other 10.0 A.")],
)  # fmt: skip
def test_the_surge_beside_the_load(after_A, other_A, words):
    assert f"{surge._beside_load(after_A)}. {surge._other(other_A)}" == words


@pytest.mark.parametrize(
    ("times_s", "end"),
    [([4000.0], ""), ([3600.0, 4000.0], " lets charge in once, and blocks it again."),
     ([10.0, 20.0, 3601.0], " lets charge in 2 times, and blocks it again.")],
)  # fmt: skip
def test_hunting_counts_the_returns_while_the_charger_is_on(times_s, end):
    told = surge._hunting(SimpleNamespace(returns=[SimpleNamespace(time_s=t) for t in times_s]))
    assert told.endswith(end)
    assert bool(told) == bool(end)


def weak_run(a_s, b_s, cell=2):
    outs = [None if t is None else SimpleNamespace(time_s=t, cell=cell) for t in (a_s, b_s)]
    batteries = [SimpleNamespace(first_cut_out=one) for one in outs]
    return SimpleNamespace(batteries=batteries, end_time_s=9000.0)


@pytest.mark.parametrize(
    ("a_s", "b_s", "words"),
    [(8000.0, 7940.0, "Both cut out together."), (8000.0, 7939.0, "B is out first, 1.02 min before "
     "the other."), (7000.0, 7100.0, "A is out first, 1.67 min before the other."),
     (None, 5400.0, "B is out first, 1.00 h before the other.")],
)  # fmt: skip
def test_who_is_out_first(a_s, b_s, words):
    assert weakest_cell._order(weak_run(a_s, b_s)) == words


def test_why_a_battery_gives_less_and_what_can_be_got_at():
    assert weakest_cell._why(weak_run(1.0, 1.0), 8.04).endswith("cut out the whole battery for it: "
                                                                "8.04 Ah less than A.")  # fmt: skip
    assert "Cell 2 is empty first" in weakest_cell._why(weak_run(1.0, 1.0), 0.5)
    for run, lost_Ah in ((weak_run(1.0, 1.0), 0.49), (weak_run(1.0, 1.0, cell=None), 8.0)):
        assert weakest_cell._why(run, lost_Ah).startswith("All four cells run down together")
    assert weakest_cell._reply(0.049).startswith("Here nothing is stranded")
    assert weakest_cell._reply(0.05).startswith("Not from outside. On average 0.0500 Ah a cell")


# ---------- readings


@pytest.mark.parametrize(
    ("one", "other", "word"),
    [(100.0, 99.5, "just as much"), (100.0, 99.4, "more"), (99.4, 100.0, "less"),
     (-50.0, 50.0, "less"), (0.0, 0.0, "just as much")],
)  # fmt: skip
def test_more_or_less(one, other, word):
    assert reading.more_or_less(one, other) == word


@pytest.mark.parametrize(
    ("one", "other", "part"),
    [(10.0, 20.0, 0.0), (-10.0, -20.0, 1.0), (30.0, -10.0, 0.25), (-30.0, 10.0, 0.75),
     (0.0, 0.0, 0.0), (0.0, 10.0, 0.0), (-10.0, 0.0, 1.0), (-5.0, -5.0, 1.0)],
)  # fmt: skip
def test_the_part_of_the_way_that_is_charge(one, other, part):
    assert reading._part_below_zero(one, other) == approx(part)


def test_the_path_is_cells_straps_and_lead():
    # 5 mohm of the cell, 2 mohm of the lead
    result = made(bank_of(affine(ohm=0.005, lead=0.002)), [0.0, 60.0], Course(A=10.0))
    assert reading.path_ohm(result, 0) == approx(0.007, rel=1e-3)
    assert reading.hours(5400.0) == "1.50 h"
    assert reading.drawn(np.array([1.2345678, 2.0])) == (1.23457, 2.0)


def test_rows_until_an_instant_leave_out_what_comes_after_it():
    result = made(bank_of(affine()), [0.0, 60.0, 60.0, 90.0], Course(),
                  kinds=[0.0, 0.0, AFTER, 0.0])  # fmt: skip
    assert reading.until(result, 60.0).tolist() == [True, True, False, False]
    assert reading.until(result, 59.0).tolist() == [True, False, False, False]


# ---------- drawings and hands


def test_the_circuit_in_words():
    branches = (
        Branch("A", "100 Ah", "50.0 A", long=True), Branch("B", weak=True, out=True), Branch("C"),
    )  # fmt: skip
    assert circuit_words(branches, "60 A") == (
        "Circuit: batteries in parallel on one load of 60 A: A (100 Ah, long lead, 50.0 A); "
        "B (one cell low, cut out); C."
    )


def test_the_circuit_is_sound_and_tells_apart_what_it_shows():
    def drawn(**told):
        return ElementTree.fromstring(circuit_svg([Branch("<A>", **told)], "6 & 7 A", LIGHT))

    def words(tree):
        return [one.text for one in tree.iter() if one.tag.endswith("text") and one.text]

    assert {"<A>", "load", "6 & 7 A", "+", "\N{MINUS SIGN}"} == set(words(drawn()))
    assert "low" in words(drawn(weak=True))
    assert "out" in words(drawn(out=True))
    assert "5 A" in words(drawn(current="5 A"))
    heights = [
        float(
            next(one for one in drawn(long=long).iter() if one.get("width") == "12").get("height")
        )
        for long in (False, True)
    ]
    assert heights == [24.0, 52.0]  # a long lead is drawn longer


def test_the_circuit_is_as_wide_as_its_batteries():
    widths = []
    for count in (1, 4):
        tree = ElementTree.fromstring(circuit_svg([Branch("A")] * count, "", LIGHT))
        widths.append(float(tree.get("width")))
        ends = [float(one.get("x2")) for one in tree.iter() if one.get("x2")]
        assert max(ends) < widths[-1]
    assert widths[1] - widths[0] == 3 * 88.0


AMOUNT = Amount("?", "A", 100.0, (20.0, 40.0), 3.0)


def test_hands_are_counted_in_the_group_that_is_right():
    step = SimpleNamespace(question=AMOUNT)
    assert hands_words(step, (3, 5, 1), 30.0) == (
        "Hands: below 20 A: 3, 20 to 40 A: 5, 40 A or more: 1. Right were 5 of 9 (20 to 40 A)."
    )
    assert hands_words(step, (0, 0, 0), 30.0) == hands_words(step, (), 30.0) == ""
    choice = SimpleNamespace(question=Choice("?", ("more", "less")))
    assert hands_words(choice, (1, 2), "less").endswith("Right were 2 of 3 (less).")


@pytest.mark.parametrize(
    ("guess", "word"),
    [(33.0, "Close: within 3 A."), (27.0, "Close: within 3 A."), (33.5, "That is 3.50 A too high."),
     (20.0, "That is 10.0 A too low.")],
)  # fmt: skip
def test_a_guess_is_close_up_to_its_bound_on_both_sides(guess, word):
    assert AMOUNT.verdict(guess, 30.0) == f"You said {guess:g} A, the solver says 30.0 A. {word}"


def test_progress_fills_what_is_answered_and_lifts_where_one_stands():
    way = SimpleNamespace(place=1, guesses={STEPS[0].key: 1.0})
    assert progress.told_progress(way) == f"Step 2 of {len(STEPS)}, 1 answered"
    first, second = (progress._part(way, place, LIGHT) for place in (0, 1))
    assert "height:6px" in first
    assert LIGHT.colours[0] in first
    assert "height:14px" in second
    assert LIGHT.faint in second


# ---------- the scenario files


def test_a_low_cell_is_the_second_and_a_high_one_the_third():
    low = Unit("B", weak=0.08).text()
    assert low.count("[[battery.cells]]") == 4
    assert low.split("[[battery.cells]]")[2].strip() == "state_of_charge = 0.92"
    high = Unit("B", charge=0.97, high=1.0).text().split("[[battery.cells]]")
    assert (high[2].strip(), high[3].strip()) == ("state_of_charge = 0.97", "state_of_charge = 1.0")
    assert "[[battery.cells]]" not in Unit("A").text()
    assert "protection" not in Unit("A").text()
    assert (
        "protection = [{ a = 1 }, { b = 2 }]" in Unit("A", rules=("{ a = 1 }", "{ b = 2 }")).text()
    )
    assert "active_h" not in bank([Unit("A")], 40.0, 8.0)
    assert "active_h = [[1.0, 8.0]]" in bank([Unit("A")], 40.0, 8.0, load_from_h=1.0)

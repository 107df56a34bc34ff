"""Two scenarios side by side in sentences."""

from dataclasses import replace

import numpy as np
import pytest
import told_studies as made

from bankSim.scenario.read import parse_scenario
from bankSim.show.printing import story_text
from bankSim.show.versus_story import tell_versus, versus_headline
from bankSim.study.answers import RUNTIME
from bankSim.study.happenings import FirstTimes, Happenings
from bankSim.study.statistics import Estimate
from bankSim.study.versus import HARDEST, UNTIL_OFF


def said(result):
    return " ".join(versus_headline(result))


def squeezed(result):
    return " ".join(story_text(tell_versus(result), 300).split())


def cautions(one=(), other=()):
    """Cautions of both sides, each as its severity and the part of the draws that raise it."""
    made_up = [
        tuple(made.caution(topic, severity, part) for topic, severity, part in side)
        for side in (one, other)
    ]
    return made.versus(cautions=tuple(made_up))


# --- more, less, no difference ---------------------------------------------------------------


def test_more_with_the_numbers_of_the_result():
    assert said(made.versus()) == (
        '"With a third" delivers 10.0 Ah more than "As it is" on average, in 9 of 10 cases +8.0 to '
        "+12.0 Ah; it is more in all cases. For hours it makes no practical difference: in 9 of 10 "
        "cases less than 50 s of about 15.0 h. Which to choose: for Ah "
        '"With a third"; for hours no difference.'
    )


def test_less():
    less = made.difference(gap=(-12.0, -10.0, -8.0), mean=(-10.1, -10.0, -9.9), larger=0.05)
    told = said(made.versus(less))
    assert told.startswith(
        '"With a third" delivers 10.0 Ah less than "As it is" on average, in 9 of 10 cases -12.0 '
        "to -8.0 Ah; it is less in 95 of 100 cases (93 to 96)."
    )
    assert 'Which to choose: for Ah "As it is"; for hours no difference.' in told


def test_what_is_the_same_in_every_draw_has_no_range():
    sure = made.difference(gap=(-4.0, -4.0, -4.0), mean=(-4.0, -4.0, -4.0), larger=0.0)
    assert said(made.versus(sure)).startswith(
        '"With a third" delivers 4.0 Ah less than "As it is" in every draw. For hours'
    )


def test_what_cannot_be_told_apart():
    near = made.difference(gap=(-9.0, 0.5, 11.0), mean=(-0.2, 0.5, 1.2), larger=0.52)
    told = said(made.versus(near))
    assert told.startswith(
        "In Ah the two cannot be told apart on average: in 9 of 10 cases "
        '"With a third" differs by -9.0 to +11.0 Ah; it delivers more in 52 of 100 cases (49 to 55)'
    )
    assert told.endswith("The draws do not tell them apart in Ah or hours.")


def test_a_mean_below_the_error_of_the_solver_tells_nothing():
    # of 175 Ah the error is up to 0.12 Ah, whatever the number of draws
    near = made.difference(gap=(-9.0, 0.0, 9.0), mean=(0.08, 0.09, 0.1), larger=0.53)
    assert "cannot be told apart on average" in said(made.versus(near))


def test_what_is_more_in_most_cases_only_is_chosen_with_a_doubt():
    often = made.difference(gap=(-3.0, 5.0, 13.0), mean=(4.5, 5.0, 5.5), larger=0.8)
    assert 'Which to choose: for Ah rather "With a third"' in said(made.versus(often))


@pytest.mark.parametrize(("part", "told"), [(1.0, False), (0.5, True)])
def test_ah_of_loads_that_both_feed_to_the_end_choose_nobody(part, told):
    said_ = said(made.versus(fed=(made.of(part), made.of(part))))
    assert ("Which to choose: for Ah" in said_) is told
    assert "Ah" in said_


def with_energy(result, one_Wh, other_Wh):
    """Give the loads so much energy in three draws of both."""
    got = (Happenings(loads_Wh=np.array(Wh, dtype=float)) for Wh in (one_Wh, other_Wh))
    traced = tuple(replace(t, happenings=h) for t, h in zip(result.traced, got, strict=True))
    return replace(result, traced=traced)


# constant power: a thinner cable wants more Ah for the same Wh (P = U I)
@pytest.mark.parametrize(
    ("other_Wh", "vain"), [((2000, 2100, 2205), True), ((2060, 2160, 2260), False)]
)
def test_more_ah_for_no_more_energy_of_the_loads_are_no_gain(other_Wh, vain):
    result = with_energy(made.versus(), (2000, 2100, 2200), other_Wh)
    told = said(result)
    assert 'delivers 10.0 Ah more than "As it is"' in told
    words = 'The loads get no more energy with "With a third": what it delivers more is lost in '
    assert (words in told) is vain
    assert ("for Ah" in told.split("Which to choose")[-1]) is not vain


def test_half_a_percent_more_for_as_much_more_energy_is_a_gain():
    # 1 Ah of 175 Ah, and as much of the energy: both are real
    larger = made.difference(gap=(0.8, 1.0, 1.2), mean=(0.9, 1.0, 1.1))
    told = said(with_energy(made.versus(larger), (2000, 2100, 2200), (2011, 2112, 2213)))
    assert "no more energy" not in told
    assert 'for Ah "With a third"' in told


def test_less_ah_for_no_less_energy_choose_nobody_either():
    less = made.difference(gap=(-12.0, -10.0, -8.0), mean=(-10.1, -10.0, -9.9), larger=0.0)
    told = said(with_energy(made.versus(less), (2000, 2100, 2200), (2000, 2100, 2200)))
    assert 'no more energy with "As it is"' in told
    assert "for Ah" not in told


def test_hours_that_are_never_shorter_are_no_contradiction():
    # longer in 59 of 100 cases, the same in the others: it said "longer", and then "no difference"
    hours = made.difference(RUNTIME, (0.0, 0.9, 1.5), mean=(0.6, 0.9, 1.1), larger=0.59, at=15.0)
    told = said(made.versus(hours=replace(hours, smaller=made.of(0.0))))
    assert "0.90 h longer" in told
    assert "no difference" not in told
    assert 'for hours rather "With a third"' in told.split("Which to choose")[1]


def test_what_the_draws_do_not_tell_is_not_called_no_difference():
    hours = made.difference(RUNTIME, (-2.0, 0.1, 2.5), mean=(-0.1, 0.1, 0.3), larger=0.52, at=15.0)
    assert "for hours the draws do not tell" in said(made.versus(hours=hours))


def test_the_same():
    assert said(made.versus(made.difference(**made.SAME))) == (
        "For Ah and hours it makes no practical difference: in 9 of 10 cases less than 0.2 Ah of "
        "about 170 Ah and less than 50 s of about 15.0 h."
    )


@pytest.mark.parametrize(
    ("gap", "bound"), [(0.03, "0.2 Ah"), (0.11, "0.2 Ah"), (0.3, "0.5 Ah"), (0.8, "1 Ah")]
)
def test_a_small_difference_has_a_round_bound(gap, bound):
    # half a percent of 170 Ah is 0.85 Ah; errors of the solver up to 0.12 Ah
    small = made.difference(gap=(-0.5 * gap, 0.0, gap), mean=(-0.01, 0.0, 0.01), larger=0.5)
    told = said(made.versus(small))
    assert f"no practical difference: in 9 of 10 cases less than {bound} of" in told


def test_half_a_percent_matters():
    larger = made.difference(gap=(0.8, 1.0, 1.2), mean=(0.9, 1.0, 1.1))
    assert 'delivers 1.0 Ah more than "As it is"' in said(made.versus(larger))


def test_nothing_delivered_on_either_side():
    flat = made.difference(**made.SAME, at=0.0)
    flat = replace(flat, one=made.FLAT, other=made.FLAT)
    assert said(made.versus(flat)).startswith("Neither delivers anything.")
    none = replace(flat, mean=Estimate(0.0, 0.0, 0.0))
    told = story_text(tell_versus(made.versus(none), briefly=True))  # no logarithm of nothing
    assert "Neither gives any Ah in any draw." in told


def test_longer_and_shorter():
    longer = made.difference(RUNTIME, (0.5, 1.0, 1.5), mean=(0.9, 1.0, 1.1), at=15.0)
    told = said(made.versus(hours=longer))
    assert (
        '"With a third" feeds its loads 1.00 h longer than "As it is" on average, in 9 of 10 cases '
        "+0.50 to +1.50 h; it is longer in all cases." in told
    )
    assert 'Which to choose: for Ah and for hours "With a third".' in told
    shorter = made.difference(
        RUNTIME, (-1.5, -1.0, -0.5), mean=(-1.1, -1.0, -0.9), larger=0.0, at=15.0
    )
    told = said(made.versus(hours=shorter))
    assert '1.00 h shorter than "As it is" on average, in 9 of 10' in told
    assert 'Which to choose: for Ah "With a third"; for hours "As it is".' in told


@pytest.mark.parametrize(
    ("fed", "words"),
    [
        ((0.0, 0.01), ""),
        (
            (0.1, 1.0),
            'of the run with "As it is" in 10 of 100 cases (8 to 12), with "With a third"',
        ),
        ((1.0, 1.0), "Both feed their loads to the end of the run in all cases; with a longer"),
    ],
)
def test_a_run_that_ends_too_early_hides_what_is_left(fed, words):
    told = said(made.versus(fed=tuple(made.of(part) for part in fed)))
    assert ("duration_h" in told) is bool(words)
    assert words in told
    assert ("for hours" in told) is (fed[0] < 1.0)


# --- which current is harder -----------------------------------------------------------------


@pytest.mark.parametrize(
    ("gap", "words", "choice"),
    [
        (4.0, '"With a third" works its most loaded battery harder: 10.0 A at most against 6.00 A',
         'for less current from the most loaded battery "As it is"'),
        (-2.0, '"As it is" works its most loaded battery harder: 6.00 A at most against 4.00 A',
         'for Ah and for less current from the most loaded battery "With a third"'),
    ],
)  # fmt: skip
def test_which_works_a_battery_harder(gap, words, choice):
    hardest = made.difference(HARDEST, (gap, gap, gap), mean=(gap, gap, gap), at=6.0)
    told = said(made.versus(hardest=hardest))
    assert f"{words} before the first cut-out (medians of 1000 draws)." in told
    assert choice in told


@pytest.mark.parametrize(
    ("gap", "doubt"),
    [(0.1, 0.0), (0.5, 0.6)],  # 2 % of 6 A; 8 %, but the mean is known to within 0.6 A
)
def test_currents_that_are_as_hard_are_not_told(gap, doubt):
    hardest = made.difference(HARDEST, (gap,) * 3, mean=(gap - doubt, gap, gap + doubt), at=6.0)
    told = said(made.versus(hardest=hardest))
    assert "harder" not in told
    assert "most loaded" not in told


def test_a_battery_alone_carries_everything_and_that_is_no_news():
    hardest = made.difference(HARDEST, (-3.0, -3.0, -3.0), mean=(-3.0, -3.0, -3.0), at=6.0)
    alone = made.draws(("old",), title="As it is")
    assert "harder" not in said(made.versus(hardest=hardest, one=alone))


# --- dangers and warnings --------------------------------------------------------------------


def test_a_danger_that_one_side_never_has():
    told = said(cautions([("surge", "danger", 0.5)]))
    assert (
        'DANGER only with "As it is": surge, in 50 of 100 cases (40 to 60); in 50 draws of '
        '"With a third" it never came up.' in told
    )
    assert told.count("DANGER") == 1
    assert 'for Ah and for fewer dangers "With a third"; for hours no difference. See' in told


def test_a_danger_seen_once_is_not_called_one_of_one_side_alone():
    told = said(cautions(other=[("surge", "danger", 0.02)]))
    assert 'DANGER with "With a third": surge, in 2 of 100 cases' in told
    assert 'in 50 draws of "As it is" it never came up.' in told
    assert "fewer dangers" not in told


def test_a_danger_of_both_sides_has_both_chances():
    told = said(cautions([("surge", "danger", 0.02)], [("surge", "danger", 0.04)]))
    assert (
        'DANGER with both: surge, in 2 of 100 cases (0.6 to 7) with "As it is", in 4 of 100 cases '
        '(2 to 10) with "With a third".' in told
    )
    told = said(cautions([("surge", "danger", 0.5)], [("surge", "danger", 0.5)]))
    assert "DANGER with both: surge, in 50 of 100 cases (40 to 60) with either." in told
    assert "fewer dangers" not in told


def test_a_danger_that_one_side_has_more_often():
    told = said(cautions([("surge", "danger", 0.5)], [("surge", "danger", 0.1)]))
    assert 'DANGER with both, more often with "As it is": surge, in 50 of 100 cases' in told
    assert 'for Ah and for fewer dangers "With a third"' in told


def test_dangers_that_speak_against_one_another_are_no_advice():
    against = [("surge", "danger", 0.9)], [("fire", "danger", 0.9)]
    told = said(cautions(*against))
    assert told.count("DANGER only with") == 2
    assert "fewer dangers" not in told


def test_what_is_a_danger_on_one_side_and_less_on_the_other():
    mixed = cautions([("surge", "warning", 0.5)], [("surge", "danger", 0.5)])
    assert (
        'DANGER with "With a third": surge, in 50 of 100 cases (40 to 60); with "As it is" a '
        "warning, in 50 of 100 cases (40 to 60)." in said(mixed)
    )
    assert "danger: surge 0 50" in squeezed(mixed)
    assert "warning: surge 50 0" in squeezed(mixed)


def test_warnings_that_only_one_raises():
    often, seldom = ("fuse", "warning", 0.9), ("heat", "warning", 0.3)
    told = said(cautions([often, seldom], [("cold", "warning", 1.0)]))
    assert 'Only "As it is" warns of fuse (in 90 of 100 cases).' in told
    assert 'Only "With a third" warns of cold (in all cases).' in told
    assert "heat" not in told


def test_warnings_that_one_raises_more_often():
    told = said(cautions([("fuse", "warning", 0.9)], [("fuse", "warning", 0.09)]))
    assert '"As it is" warns more often of fuse (in 90 of 100 cases against 9).' in told
    assert "Only" not in told
    near = said(cautions([("fuse", "warning", 0.9)], [("fuse", "warning", 0.6)]))
    assert "fuse" not in near


def test_severities_are_compared_together_and_told_where_they_differ():
    # one case in two a warning, the other a note: no fewer than a note in all cases
    half = [("left", "warning", 0.5), ("left", "note", 0.5)]
    told = said(cautions(half, [("left", "note", 1.0)]))
    assert "warns more often" not in told
    assert (
        '"As it is" is worse in left (a warning in 50 of 100 cases, with the other a note' in told
    )
    table = squeezed(cautions(half, [("left", "note", 1.0)]))
    assert "warning: left 50 0" in table
    assert "note: left 50 100" in table
    same = said(cautions(half, [("left", "warning", 0.5), ("left", "note", 0.4)]))
    assert "left" not in same


def test_what_a_graver_danger_takes_the_place_of_is_no_better():
    empty, left = "cell driven below empty", "left deeply discharged"
    graver = [(empty, "danger", 0.9), (left, "warning", 0.1)]
    assert "warns more often" not in said(cautions(graver, [(left, "warning", 1.0)]))
    assert "warns more often" in said(cautions([(left, "warning", 0.1)], [(left, "warning", 1.0)]))


# --- loads that cut themselves off -----------------------------------------------------------


def off_at(*hours):
    """What is told of draws in which the lamps go off for good after these hours."""
    times = np.array(hours, dtype=float)
    return Happenings(off_for_good=(FirstTimes("lamps", times),), until_off_h=times)


def test_loads_that_stay_off_are_told_and_their_hours_compared():
    lights = made.difference(
        UNTIL_OFF, (-2.2, -2.0, -1.9), mean=(-2.1, -2.0, -1.9), larger=0.0, at=9.0
    )
    result = made.versus(fed=(made.of(1.0), made.of(1.0)))
    both = tuple(
        replace(one, happenings=off)
        for one, off in zip(
            result.traced, (off_at(9.0, 9.2, 9.4), off_at(7.0, 7.1, 7.2)), strict=True
        )
    )
    result = replace(result, differences=(*result.differences, lights), traced=both)
    told = said(result)
    assert "duration_h" not in told
    assert "feed their loads to the end" not in told
    assert 'With "As it is" "lamps" cuts itself off and stays off after 9.20 h (median' in told
    assert 'With "With a third" "lamps" cuts itself off and stays off after 7.10 h' in told
    # hours in which a load is off for a while only are among them: they are not all on
    until = "Until a load stays off or the loads cannot be fed"
    assert f'{until} "With a third" lasts 2.0' in told
    assert "all loads on" not in told
    table = squeezed(result)
    assert "hours until a load stays off, As it is" in table
    assert "off for a while only does not count" in table
    assert 'for hours until a load stays off "As it is"' in told.split("Which to choose")[1]


# --- names -----------------------------------------------------------------------------------


def named(titles, files=("made-up.toml", "made-up.toml")):
    one, other = (
        made.draws(title=title, file=file) for title, file in zip(titles, files, strict=True)
    )
    return tell_versus(made.versus(one=one, other=other)).title


def test_short_titles_name_both_sides():
    assert named(("Old", "New"), ("a.toml", "b.toml")) == "Old against New"


@pytest.mark.parametrize("titles", [("Same", "Same"), ("x" * 25, "New"), (" ", "New")])
def test_files_name_both_sides_where_titles_do_not(titles):
    assert named(titles, ("in/old.toml", "in/new.toml")) == "old against new"


def test_first_and_second_where_nothing_else_tells_them_apart():
    assert (
        named(("T", "T"), ("here/bank.toml", "there/bank.toml")) == "first file against second file"
    )
    alike = ("a" * 20 + "1" + "b" * 20, "a" * 20 + "2" + "b" * 20)
    assert named(("T", "T"), alike) == "first file against second file"
    result = made.versus(one=made.draws(), other=made.draws())
    assert said(result).startswith("The second file delivers 10.0 Ah more than the first file on")


def test_names_are_clean_and_short():
    told = named(("\x1b[31mred", "\nblue"))
    assert told == "?[31mred against ?blue"
    long = named(("T", "T"), ("a" * 60 + "1.toml", "a" * 60 + "2.toml"))
    assert len(long) <= 24 + len(" against ") + 24
    assert "1 against" in long


# --- tables and how sure ---------------------------------------------------------------------


def test_which_is_which_and_in_numbers():
    told = squeezed(made.versus())
    assert "As it is: As it is (made-up.toml) With a third: With a third (made-up.toml)" in told
    assert "Ah delivered, As it is 165.0 170.0 175.0 170.0" in told
    assert "Ah delivered, With a third 173.0 180.0 187.0 180.0" in told
    assert "Ah delivered, difference +8.0 +10.0 +12.0 +10.0" in told


def test_a_battery_has_a_row_on_each_side_that_has_it():
    told = squeezed(made.versus())
    assert "old As it is 85.0 6.00 80 old With a third 85.0 6.00 10" in told
    assert "new As it is 85.0 6.00 20 third With a third 95.0 6.00 90" in told


def test_how_sure():
    told = squeezed(made.versus())
    assert (
        '1,000 pairs of draws, seed 7: 40 unknowns have the same value in both, 2 are only in "As '
        'it is" and 3 are only in "With a third".' in told
    )
    assert "The mean difference lies within +9.9 to +10.1 Ah (95 of 100 studies)" in told
    assert "known to within 0.1 Ah." in told
    assert "not reached" not in told
    assert "do not cancel" not in told
    told = squeezed(made.versus(reached=False, shared=0))
    assert "So many draws did not reach the precision wanted; ask for more with --draws." in told
    assert "do not cancel" in told


def test_where_nothing_is_unknown_nothing_can_cancel():
    told = squeezed(made.versus(shared=0, alone=(0, 0)))
    assert "do not cancel" not in told
    assert "the same name" not in told
    assert "Nothing is drawn in either file" in told


def test_a_trace_has_few_digits():
    trace = made.difference(gap=(-0.18, 0.0, 0.19), mean=(-0.00798, -0.000919, 0.00614), larger=0.5)
    told = squeezed(made.versus(trace))
    assert "0.000919" not in told
    assert "Ah delivered, difference -0.2 0.0 +0.2 0.0" in told
    assert "On average the difference is less than 0.2 Ah (95 of 100 studies)." in told


TWO = """
[simulation]
duration_h = 10.0
[[battery]]
chemistry = "LFP"
cells_in_series = 4
rated_capacity_Ah = 100.0
[[battery]]
name = "spare"
chemistry = "LFP"
cells_in_series = 4
rated_capacity_Ah = 50.0
"""


def paired(one, other):
    sides = [
        replace(made.draws(), plan=replace(made.plan(), scenario=parse_scenario(text, ".")))
        for text in (one, other)
    ]
    return squeezed(made.versus(one=sides[0], other=sides[1]))


def test_what_is_paired_by_name_or_place_is_told():
    told = paired(TWO, TWO)
    assert (
        "What has the same name in both counts as the same and has the same drawn values." in told
    )
    assert 'Batteries without a name are paired by their place: "battery 1".' in told
    assert "not the same in both files" not in told


@pytest.mark.parametrize(
    ("key", "value"),
    [("rated_capacity_Ah = 50.0", "rated_capacity_Ah = 60.0"),
     ("rated_capacity_Ah = 50.0", "rated_capacity_Ah = 50.0\ncapacity_fraction = 0.8")],
)  # fmt: skip
def test_another_battery_of_the_same_name_is_told(key, value):
    told = paired(TWO, TWO.replace(key, value))
    assert '"spare" is not the same in both files (chemistry, cells, label or age)' in told
    assert '"battery 1" is not the same' not in told


# --- charge only -----------------------------------------------------------------------------


def test_where_there_is_no_load_the_charge_taken_in_counts():
    told = said(made.charged())
    assert told == (
        '"With a third" takes in 10.0 Ah more than "As it is" on average, in 9 of 10 cases +8.0 to '
        "+12.0 Ah; it is more in all cases. Which to choose: for Ah taken in "
        '"With a third".'
    )
    told = squeezed(made.charged(fed=(made.of(1.0), made.of(1.0))))
    assert "delivered" not in told
    assert "hours" not in told
    assert "duration_h" not in told
    assert "Ah taken in, difference +8.0 +10.0 +12.0 +10.0" in told
    assert "old As it is 40.0 old With a third 40.0" in told

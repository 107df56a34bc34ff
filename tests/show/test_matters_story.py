"""What matters in sentences."""

from dataclasses import replace

import numpy as np
import pytest
import told_studies as made
from scipy.stats import binomtest

from bankSim.show.matters_headline import matters_headline
from bankSim.show.matters_story import MOST_DROPPED, tell_matters
from bankSim.show.matters_words import settled
from bankSim.show.printing import story_text
from bankSim.study.answers import RUNTIME, Answer
from bankSim.study.indices import Indices
from bankSim.study.matters import Dropped
from bankSim.study.spread import Band
from bankSim.study.statistics import Estimate, chance
from bankSim.study.unknown import Kind


def said(result):
    return " ".join(matters_headline(result))


def squeezed(result):
    return " ".join(story_text(tell_matters(result), 300).split())


def groups(count):
    return tuple(made.group(f'capacity of "b{n}"', subject=f"b{n}") for n in range(count))


def test_how_far_it_spreads_and_what_to_measure_come_first():
    # made up: 5 and 95 % points 6.58 Ah beside 170 Ah; 0.4 of these 13.16 Ah stay
    assert said(made.matters(rest=None)) == (
        "The Ah the bank delivers: 9 of 10 cases lie between 163 and 177 Ah; measure the "
        'capacity of "old", and that range becomes about 40 % as wide, some 5 Ah. 60 % (50 to 70) '
        'of the spread comes from the capacity of "old" and 30 % (20 to 40) from the '
        'load of "lamp".'
    )


def skewed(*points, unit="h", **changes):
    """Most answers small, a few large: normal ones with this mean and sd would fall below 0."""
    seen = Band("", unit, None, tuple(made.sure(point) for point in points), 128)
    return made.matters(mean=made.sure(3.73), sd=made.sure(3.15), seen=seen, **changes)


def test_a_skewed_answer_is_told_as_it_was_seen():
    # 3.73 h less 1.645 x 3.15 h lie below 0 h; by hand: 0.034 x (11.3 h - 1.4 h) = 0.34 h
    result = skewed(1.4, 2.0, 3.0, 4.5, 11.3, to_measure=made.to_measure(part=0.034, left=0.107))
    told = said(replace(result, answer=RUNTIME))
    assert "9 of 10 cases lie between 1.4 and 11.3 h; measure the" in told
    assert "that range becomes about 3 % as wide, some 0.3 h." in told
    assert "normal" not in squeezed(result)


@pytest.mark.parametrize(
    ("low", "high", "part", "now", "some"),
    [
        (155.9, 184.1, 0.256, "156 and 184 Ah", "7 Ah"),  # 0.256 x 28.2 = 7.2
        (29.2, 310.8, 0.35, "29 and 311 Ah", "99 Ah"),  # 0.35 x 281.6 = 98.6
        (1.0, 9.0, 0.003, "1.00 and 9.00 Ah", "0.02 Ah"),  # 0.003 x 8 = 0.024
        (155.9, 184.1, 0.025, "156 and 184 Ah", "0.7 Ah"),  # 0.7 would read 1
    ],
)
def test_what_is_compared_has_the_same_decimals(low, high, part, now, some):
    points = (low, low, 0.5 * (low + high), high, high)
    result = skewed(*points, unit="Ah", to_measure=made.to_measure(part=part))
    assert f"cases lie between {now}; measure" in said(result)
    left = "next to nothing of that is left" if part < 0.02 else f"as wide, some {some}."
    assert left in said(result)


def test_where_nearly_all_cases_are_the_same_no_range_is_told():
    told = said(skewed(60.0, 60.0, 60.0, 60.0, 60.0))
    assert "9 of 10 cases lie at 60.0 Ah, and the others further off; measure the" in told
    assert "about 40 % of the spread is left." in told
    assert "wide" not in told


def chance_of(part, **changes):
    """Whether "old" cuts out first: it does in so many of 1,024 cases."""
    mean = chance(round(1024 * part), 1024)
    return made.matters(
        made.FIRST_OF_OLD, mean=mean, sd=made.sure((mean.value * (1.0 - mean.value)) ** 0.5),
        **changes,
    )  # fmt: skip


def test_a_chance():
    # by hand: p = 0.8, sd^2 = 0.16; if 0.16 stay, 1 - 2 x 0.16^2 = 0.9488; a guess: 0.8; Wilson
    # (SciPy): 819 of 1,024 lie in 0.774 to 0.823, 486 of 512 in 0.927 to 0.965
    for count, of, ends in ((819, 1024, (77, 82)), (486, 512, (93, 97))):
        interval = binomtest(count, of).proportion_ci(method="wilson")
        assert (round(100 * interval.low), round(100 * interval.high)) == ends
    told = said(chance_of(0.8, rest=None, to_measure=made.to_measure(left=0.16)))
    assert told.startswith(
        'Whether "old" cuts out first: it does in 80 of 100 cases (77 to 82), so the best guess is '
        'right in 80 of 100 cases (77 to 82); measure the capacity of "old", and it is settled in '
        "at least 95 of 100 cases (93 to 97). 60 % (50 to 70) of the doubt comes from"
    )
    result = chance_of(0.8, rest=None, to_measure=made.to_measure(left=0.16))
    assert "standard deviation" not in squeezed(result).partition("What was drawn")[0]
    assert "spread" not in told


def test_a_guess_that_is_no_has_the_interval_of_no():
    # Wilson (SciPy): 123 of 1,024 lie in 0.102 to 0.141; so 901 in 0.859 to 0.898
    interval = binomtest(123, 1024).proportion_ci(method="wilson")
    guess = chance_of(0.12).guess
    assert (guess.low, guess.high) == pytest.approx((1.0 - interval.high, 1.0 - interval.low))
    assert (
        "in 12 of 100 cases (10 to 14), so the best guess is right in 88 of 100 cases (86 to"
        in (said(chance_of(0.12)))
    )


def test_all_settled_is_told_with_what_so_few_draws_allow():
    # rule of three (Hanley and Lippman-Hand, 1983, from memory), about 3 of 64; Wilson: 5.7
    result = chance_of(0.5, base=64, to_measure=made.to_measure(left=0.0, part=0.0))
    assert "and it is settled in all cases (at least 94 of 100)." in said(result)


def test_a_good_guess_needs_no_measuring():
    told = said(chance_of(0.03, to_measure=None))
    assert "right in 97 of 100 cases (96 to 98): nothing needs measuring for this question." in told
    assert "Too few" not in told
    assert "What to measure next" not in squeezed(chance_of(0.03, to_measure=None))
    assert "nothing needs measuring" not in said(chance_of(0.06))


@pytest.mark.parametrize(("part", "few"), [(0.018, True), (0.03, False)])
def test_what_a_few_cases_hang_on_is_not_told(part, few):
    # 18 and 31 of 1,024
    told = said(chance_of(part, to_measure=None))
    assert ("Only 18 of 1,024 cases are otherwise: too few" in told) == few
    assert ("of the doubt comes from" in told) != few


def test_without_anything_sure_more_draws_are_asked_for():
    told = said(made.matters(to_measure=None))
    assert "; so few draws do not tell what to measure: nothing surely moves it." in told
    assert told.endswith("give --draws 2048.")


@pytest.mark.parametrize("part", [0.02, 0.3, 0.5, 0.97])
def test_settled_is_never_less_than_a_guess_and_never_too_much(part):
    # one thing x makes yes with chance q(x), even over (0, 2 part): what the best guess hits is
    # E max(q, 1 - q), by hand from many x
    x = np.linspace(0.0, 1.0, 100_001)
    q = np.clip(2.0 * part * x, 0.0, 1.0)
    result = made.matters(
        made.FIRST_OF_OLD,
        mean=made.sure(float(q.mean())),
        sd=made.sure(float(np.sqrt(q.mean() * (1.0 - q.mean())))),
    )
    told = settled(result, float(np.sqrt((q * (1.0 - q)).mean())))
    guess = max(q.mean(), 1.0 - q.mean())
    assert guess - 1e-9 <= told.value <= np.maximum(q, 1.0 - q).mean() + 1.0 / result.base
    assert told.low <= told.value <= told.high


def test_what_acts_together_is_said_so_where_it_is_clear():
    both = (made.matter(0.6, 0.3), made.matter(0.35, 0.3, **made.LOAD))
    assert "of the spread hangs on the capacity" in said(made.matters(matters=both))
    assert "they act together with others" in said(made.matters(matters=both))
    unclear = (made.matter(0.6, 0.41), made.matter(0.35, 0.3, **made.LOAD))
    assert "together" not in said(made.matters(matters=unclear, rest=None))


def test_what_cannot_be_ranked_is_not_ranked():
    near = (made.matter(0.5, 0.5), made.matter(0.4, 0.4, **made.LOAD))
    told = said(made.matters(matters=near))
    assert "it is open which weighs more." in told
    assert "Too few draws to rank surely" not in told  # intervals are narrow: they are alike
    both = made.to_measure(made.group(), made.group(**made.LOAD))
    assert "In no order where" in squeezed(made.matters(matters=near, to_measure=both))
    far = (made.matter(0.7, 0.7), made.matter(0.2, 0.2, **made.LOAD))
    assert "open which" not in said(made.matters(matters=far))
    assert "In no order" not in squeezed(made.matters(matters=far, to_measure=both))


@pytest.mark.parametrize(
    ("base", "total", "draws"),
    [(64, 0.2, 512), (127, 0.2, 512), (128, 0.2, None), (256, 0.4, 512), (512, 0.4, None)],
)
def test_too_few_draws_are_told_with_the_option_that_helps(base, total, draws):
    two = (made.matter(0.5, 0.5), made.matter(total, total, **made.LOAD))
    told = said(made.matters(matters=two, base=base))
    asked = f"Too few draws to rank surely: give --draws {draws}."
    assert told.endswith(asked) if draws else "Too few" not in told


def test_wide_intervals_ask_for_more_than_usual():
    wide = tuple(replace(made.matter(), total=Estimate(total, 0.1, 0.9)) for total in (0.5, 0.4))
    assert said(made.matters(matters=wide)).endswith("give --draws 2048.")


def test_the_rest_is_told_when_it_adds_up():
    assert "Another 10 % comes from all the rest (1 group), where none stood out." in said(
        made.matters()
    )
    small = Indices(made.sure(0.04), made.sure(0.04))
    assert "Another" not in said(made.matters(rest=small))
    assert "moved the answer each little and were drawn together: 10 %." in squeezed(made.matters())


def test_a_spread_like_the_solvers_own_error_is_next_to_nothing():
    # 0.115 Ah are 6.8e-4 of 170 Ah, 0.121 Ah are 7.1e-4
    told = squeezed(made.matters(sd=made.sure(0.115)))
    assert "170 Ah in all cases, but for less than 0.12 %." in told  # 1.645 x 0.115 / 170: 0.111 %
    assert "next to nothing" in told
    assert "rounding of the solver" in told
    assert "What to measure next" not in told
    assert "next to nothing" not in squeezed(made.matters(sd=made.sure(0.121)))
    chance = made.matters(made.FIRST_OF_OLD, mean=made.sure(1.0), sd=made.sure(1e-5))
    assert "rounding" not in squeezed(chance)


def test_nothing_moves_the_answer():
    told = said(made.still())
    assert told == "Nothing that was drawn changes the Ah the bank delivers: 170 Ah in all cases."
    assert "What to measure" not in squeezed(made.still())
    assert "What moves the answer" not in squeezed(made.still())


@pytest.mark.parametrize(("mean", "word"), [(1.0, "always"), (0.0, "never")])
def test_nothing_moves_a_chance(mean, word):
    told = said(replace(made.still(made.FIRST_OF_OLD), mean=made.sure(mean)))
    assert told == f'Nothing that was drawn changes whether "old" cuts out first: it {word} does.'


def test_nothing_moved_is_not_called_little():
    told = squeezed(made.still())
    assert "moved the answer little" not in told
    assert "points of each" not in told
    assert 'without any effect on it: capacity of "old" and lead of "old".' in told
    assert "rare cases only may have been missed" in told


def test_many_small_things():
    # by hand: 0.62 x 13.16 Ah = 8.2 Ah
    result = made.matters(
        matters=(made.matter(0.3, 0.3, name="b0"), made.matter(0.3, 0.3, name="b1")),
        to_measure=made.to_measure(
            made.group("b0"), made.group("b1"), part=0.62, halves=False, left=3.9
        ),
    )
    told = said(result)
    assert "even with the b0 and the b1 known exactly, that range stays about 62 % as wide" in told
    assert "as wide, some 8 Ah: much comes from many small things." in told
    # 1 - 2 x 0.4^2 = 0.68
    left = made.to_measure(part=0.8, halves=False, left=0.4)
    one = (made.matter(0.3, 0.3),)
    assert "it is settled in hardly more than 68 of 100 cases (64 to 72): much comes from many" in (
        said(chance_of(0.5, matters=one, to_measure=left))
    )


def test_what_could_not_be_ranked_is_not_called_small():
    left = made.to_measure(part=0.8, halves=False)
    assert "what so few draws cannot tell surely." in said(made.matters(to_measure=left))


def test_many_small_things_that_make_much_are_not_filed_under_little():
    much = made.matters(rest=Indices(made.sure(0.1), Estimate(0.36, 0.17, 0.6)))
    assert "Another 36 % (17 to 60) comes from many small things together (1 group)" in said(much)
    assert "What matters little here" not in squeezed(much)
    assert "Many small things together" in squeezed(much)
    assert "What matters little here" in squeezed(made.matters())


def many(count, first):
    """So many groups that are to be measured, each with such a part."""
    names = [f"b{place}" for place in range(count)]
    return {
        "matters": tuple(made.matter(0.3, first, name=name) for name in names),
        "to_measure": made.to_measure(*(made.group(name) for name in names)),
    }


def test_more_than_three_groups_only_together():
    told = said(made.matters(**many(4, 0.2)))
    assert "; to halve that it takes all of these: the b0, the b1, the b2 and the b3; then" in told
    told = said(made.matters(**many(7, 0.2)))
    assert "and 3 others; then that range becomes about 40 % as wide, some 5 Ah." in told


def test_how_to_measure_each_and_what_it_does_alone():
    # by hand: sqrt(1 - 0.6) = 0.632 of 13.16 Ah: 8.3 Ah; sqrt(1 - 0.3) = 0.837: 11.0 Ah
    result = made.matters(to_measure=made.to_measure(made.group(), made.group(**made.LOAD)))
    told = squeezed(result)
    assert '1. The capacity of "old" (this alone: about 63 % as wide, some 8 Ah): charge "old"' in (
        told
    )
    assert '2. The load of "lamp" (this alone: about 84 % as wide, some 11 Ah): ' in told
    assert "this alone" not in squeezed(made.matters())


def test_what_does_not_help_alone_is_said_so():
    # sqrt(1 - 0.05) = 0.97 of the spread stays
    two = (made.matter(0.6, 0.6), made.matter(0.4, 0.05, **made.LOAD))
    both = made.to_measure(made.group(), made.group(**made.LOAD))
    told = squeezed(made.matters(matters=two, to_measure=both))
    assert 'The load of "lamp" (helps only together with the others): ' in told
    assert "None of these helps alone" not in told


def test_where_nothing_helps_alone_it_is_said_once():
    # guess: 88 of 100; with a tenth of the doubt gone: 1 - 2 x 0.12 x 0.88 x 0.9 = 0.81
    told = squeezed(chance_of(0.12, **many(3, 0.1)))
    assert "What to measure next, and how None" not in told.split("---")[0]
    assert "None of these helps alone, only all together. 1. The b0: " in told
    assert "this alone" not in told
    # four fifths gone: 0.96
    assert "(this alone settles at least 96 of 100 cases (94 to 97)): " in squeezed(
        chance_of(0.12, **many(3, 0.8))
    )


def test_no_list_where_neither_one_nor_all_help():
    found = many(6, 0.01)
    far = replace(found["to_measure"], halves=False)
    told = squeezed(chance_of(0.12, **{**found, "to_measure": far}))
    assert "No short list: none of what is named above helps alone" in told
    assert "1. The b0" not in told


def test_the_ranking_in_percent_with_intervals():
    told = squeezed(made.matters())
    assert 'capacity of "old" 60 50-70 60 50-70' in told
    assert 'load of "lamp" 30 20-40 30 20-40' in told
    assert "all the rest 10 10-10 10 10-10" in told
    assert "all the rest" not in squeezed(made.matters(rest=None))
    assert "Parts of the spread, as variance of the answer" in told
    assert "Parts of the doubt, as variance of yes and no" in squeezed(
        made.matters(made.FIRST_OF_OLD, mean=made.sure(0.8), sd=made.sure(0.4))
    )


def test_parts_stay_between_0_and_100():
    result = made.matters(matters=(made.matter(1.08, -0.05),))
    assert 'capacity of "old" 0 0-5 100 98-100' in squeezed(result)
    assert "100 % (98 to 100) of the spread hangs on the capacity" in said(result)


def test_dropped_ones_are_counted_when_there_are_many():
    many = tuple(Dropped(one, 0.0) for one in groups(MOST_DROPPED + 3))
    told = squeezed(made.matters(dropped=many))
    assert 'capacity of "b7" and 3 others.' in told
    assert "matters little" not in squeezed(made.matters(dropped=()))


def test_how_sure():
    told = squeezed(made.matters())
    assert "5,000 draws, seed 7, in all: 10 walks" in told
    assert "then 512 points of each of two sets (--draws)" in told
    assert "its interval reaches" not in told
    wide = made.matters(to_measure=made.to_measure(high=0.62))
    assert "its interval reaches from 30 % to 62 % of the present" in squeezed(wide)


def test_nothing_that_remains_is_said_so():
    told = said(made.matters(to_measure=made.to_measure(left=0.0, part=0.0)))
    assert "about 0" not in told
    assert 'measure the capacity of "old", and next to nothing of that is left.' in told


def test_a_key_that_is_given_is_told_in_words():
    own = replace(
        made.group('cell.state_of_charge of "old"', Kind.KEY),
        labels=("label",) * 4,
        keys=("battery[1].cell.state_of_charge",),
    )
    result = made.matters(
        to_measure=made.to_measure(own), matters=(replace(made.matter(), group=own),),
        dropped=(Dropped(own, 0.1),),
    )  # fmt: skip
    assert 'measure the state of charge of each cell of "old", and' in said(result)
    assert "cell.state_of_charge of" not in squeezed(result)
    assert "then narrow battery[1].cell.state_of_charge in the file" in squeezed(result)


def test_no_group_worth_a_sentence_still_names_the_first():
    small = tuple(made.matter(0.04, 0.04, name=f"thing {n}") for n in range(3))
    assert "4 % (0 to 14) of the spread comes from the thing 0." in said(
        made.matters(matters=small)
    )


def test_a_name_of_several_lines_stays_on_its_line():
    hostile = Answer("Ah:x", 'Ah that "a\nb" delivers', "Ah", "x")
    result = replace(made.matters(hostile), to_measure=made.to_measure(made.group('of "a\nb"')))
    assert "\n" not in said(result)

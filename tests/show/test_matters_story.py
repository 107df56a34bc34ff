"""What matters in sentences."""

from dataclasses import replace

import numpy as np
import pytest
import told_studies as made

from bankSim.show.matters_story import MOST_DROPPED, matters_headline, tell_matters
from bankSim.show.matters_words import settled
from bankSim.show.printing import story_text
from bankSim.study.answers import Answer
from bankSim.study.indices import Indices
from bankSim.study.matters import Dropped
from bankSim.study.statistics import Estimate
from bankSim.study.unknown import Kind


def said(result):
    return " ".join(matters_headline(result))


def squeezed(result):
    return " ".join(story_text(tell_matters(result), 300).split())


def groups(count):
    return tuple(made.group(f'capacity of "b{n}"', subject=f"b{n}") for n in range(count))


def test_how_far_it_spreads_and_what_to_measure_come_first():
    # own count: 1.645 x 4 Ah = 6.58 Ah; 1.645 x 2.5 Ah = 4.11 Ah
    assert said(made.matters(rest=None)) == (
        "The Ah the bank delivers: 9 of 10 cases lie within about 6.6 Ah of 170.0 Ah; measure the "
        'capacity of "old", and that becomes about 4.1 Ah. 60 % (50 to 70) of the spread comes '
        'from the capacity of "old" and 30 % (20 to 40) from the load of "lamp".'
    )


@pytest.mark.parametrize(
    ("sd", "left", "now", "then"),
    [
        (8.56, 2.19, "14.1 Ah of 170.0 Ah", "3.6 Ah"),  # 14.08 and 3.60
        (85.6, 30.0, "141 Ah of 170 Ah", "49 Ah"),
        (0.0856, 0.03, "0.141 Ah of 170.000 Ah", "0.049 Ah"),
    ],
)
def test_what_is_compared_has_the_same_decimals(sd, left, now, then):
    result = made.matters(sd=made.sure(sd), to_measure=made.to_measure(left=left))
    assert f"within about {now}; measure" in said(result)
    decimals = len(now.split()[0].partition(".")[2])
    told = said(result).partition("that becomes about ")[2].split(" Ah")[0]
    assert float(told) == pytest.approx(float(then.split()[0]), abs=0.5 * 10.0**-decimals)
    assert len(told.partition(".")[2]) == decimals


def test_a_chance():
    # by hand: p = 0.8, sd^2 = 0.16; if 0.16 stay, 1 - 2 x 0.16^2 = 0.9488; a guess: 0.8
    result = made.matters(
        made.FIRST_OF_OLD, mean=made.sure(0.8), sd=made.sure(0.4), rest=None,
        to_measure=made.to_measure(left=0.16),
    )  # fmt: skip
    told = said(result)
    assert told.startswith(
        'Whether "old" cuts out first: it does in 80 of 100 cases, so the best guess is right in '
        '80; measure the capacity of "old", and it is settled in 95 of 100 or more. '
        "60 % (50 to 70) of the doubt comes from"
    )
    assert "standard deviation" not in squeezed(result).partition("What was drawn")[0]
    assert "spread" not in told


@pytest.mark.parametrize("chance", [0.02, 0.3, 0.5, 0.97])
def test_settled_is_never_less_than_a_guess_and_never_too_much(chance):
    # one thing x makes yes with chance q(x), even over (0, 2 chance): what the best guess hits is
    # E max(q, 1 - q), by hand from many x
    x = np.linspace(0.0, 1.0, 100_001)
    q = np.clip(2.0 * chance * x, 0.0, 1.0)
    result = made.matters(
        made.FIRST_OF_OLD,
        mean=made.sure(float(q.mean())),
        sd=made.sure(float(np.sqrt(q.mean() * (1.0 - q.mean())))),
    )
    told = float(settled(result, float(np.sqrt((q * (1.0 - q)).mean()))))
    guess = 100.0 * max(q.mean(), 1.0 - q.mean())
    assert guess - 0.5 <= told <= 100.0 * np.maximum(q, 1.0 - q).mean() + 0.5


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
    # 0.05 Ah are 2.9e-4 of 170 Ah, 0.052 Ah are 3.1e-4
    told = squeezed(made.matters(sd=made.sure(0.05)))
    assert "170 Ah in all cases, but for less than 0.05 %." in told  # 1.645 x 0.05 / 170: 0.048 %
    assert "next to nothing" in told
    assert "rounding of the solver" in told
    assert "What to measure next" not in told
    assert "next to nothing" not in squeezed(made.matters(sd=made.sure(0.052)))
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
    assert 'without any effect on it: capacity of "old", lead of "old".' in told
    assert "rare cases only may have been missed" in told


def test_many_small_things():
    result = made.matters(to_measure=made.to_measure(*groups(2), part=0.62, halves=False, left=3.9))
    told = said(result)
    assert 'even with the capacity of "b0" and the capacity of "b1" known exactly, about' in told
    assert "about 6.4 Ah stays: much comes from many small things." in told
    chance = made.matters(
        made.FIRST_OF_OLD, mean=made.sure(0.5), sd=made.sure(0.5),
        to_measure=made.to_measure(part=0.8, halves=False, left=0.4),
    )  # fmt: skip
    assert "it is settled in hardly more than 68 of 100: much comes from" in said(chance)


def test_more_than_three_groups_only_together():
    told = said(made.matters(to_measure=made.to_measure(*groups(4))))
    assert '; to halve that it takes all of these: the capacity of "b0", the capacity' in told
    told = said(made.matters(to_measure=made.to_measure(*groups(7))))
    assert "and 3 others; then that becomes about 4.1 Ah." in told


def test_how_to_measure_each_and_what_it_does_alone():
    # by hand: 1.645 x 4 Ah x sqrt(1 - 0.6) = 4.16 Ah, sqrt(1 - 0.3): 5.51 Ah
    result = made.matters(to_measure=made.to_measure(made.group(), made.group(**made.LOAD)))
    told = squeezed(result)
    assert '1. The capacity of "old" (this alone leaves about 4.2 Ah): charge "old"' in told
    assert '2. The load of "lamp" (this alone leaves about 5.5 Ah): ' in told
    assert "this alone" not in squeezed(made.matters())


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
    assert 'capacity of "b7" and 3 more.' in told
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

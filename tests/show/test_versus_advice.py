"""Which of two scenarios is chosen for what, on draws and dangers written by hand."""

import re
from dataclasses import replace

import pytest
import told_studies as made

from bankSim.show.versus_advice import advice, harder, told_differences
from bankSim.show.versus_cautions import dangers, topics_of, warnings
from bankSim.show.versus_names import Side
from bankSim.sim.cautions.cells import BELOW_EMPTY, BEYOND_FULL
from bankSim.sim.cautions.fuses import WOULD_BLOW
from bankSim.sim.cautions.unguarded import UNGUARDED
from bankSim.study.happenings import Happenings
from bankSim.study.statistics import chance
from bankSim.study.versus import CHARGING, HARDEST

SIDES = (Side("one", '"one"'), Side("two", '"two"'))
SAME_AH = made.difference(**made.SAME)


def raised(one=(), other=(), **changes):
    """Neither gives more; topics of both sides, each with its severity and part of the draws."""
    found = tuple(
        tuple(made.caution(topic, severity, part) for topic, severity, part in side)
        for side in (one, other)
    )
    return made.versus(SAME_AH, cautions=found, **changes)


def chosen(result):
    return " ".join(advice(result, SIDES))


def for_dangers(one, other):
    """Who is chosen for fewer dangers: "one", "two" or nobody; told in both directions."""
    found = []
    for pair, swapped in (((one, other), False), ((other, one), True)):
        told = re.search('for fewer dangers "(one|two)"', chosen(raised(*pair)))
        names = {"one": "two", "two": "one"} if swapped else {"one": "one", "two": "two"}
        found.append(told and names[told[1]])
    assert found[0] == found[1]  # by what they raise, not by their place
    return found[0]


SURGE = ("surge", "danger", 0.9)
BLOWN, EMPTY = (WOULD_BLOW, "danger", 1.0), (BELOW_EMPTY, "danger", 1.0)
BARE = (UNGUARDED, "warning", 1.0)


def test_fewer_dangers_are_chosen():
    assert for_dangers([SURGE], []) == "two"
    assert for_dangers([SURGE], [("surge", "danger", 0.1)]) == "two"
    assert for_dangers([SURGE], [("surge", "warning", 0.9)]) == "two"
    assert for_dangers([SURGE], [("fire", "danger", 0.9)]) is None
    assert for_dangers([("surge", "warning", 0.9)], []) is None
    assert chosen(raised([SURGE], [])) == (
        'Which to choose: for Ah and for hours no difference; for fewer dangers "two". See to the '
        "dangers first."
    )


def test_a_side_whose_fuse_blows_is_not_called_safer():
    # its other dangers would come, too, if the fuse did not end the run before
    assert for_dangers([BLOWN, SURGE], [BLOWN]) is None
    assert (
        for_dangers([BLOWN, SURGE], [(WOULD_BLOW, "danger", 0.1)]) == "two"
    )  # seldom: not on paper
    assert for_dangers([EMPTY, SURGE], [EMPTY]) == "two"


def test_a_side_that_nothing_guards_is_not_safer_than_one_that_cuts_out():
    # the guarded one surges when it comes back; the other one never leaves and is ruined
    assert for_dangers([SURGE, EMPTY], [EMPTY, BARE]) is None
    assert for_dangers([SURGE, EMPTY, BARE], [EMPTY, BARE]) == "two"
    assert for_dangers([SURGE, EMPTY, BARE], [EMPTY]) == "two"
    high = (BEYOND_FULL, "danger", 1.0)
    assert for_dangers([SURGE, high], [high, BARE]) == "two"


def test_what_is_on_paper_only_is_not_chosen():
    more = made.difference()  # the second gives 10 Ah more
    on_paper = made.versus(more, cautions=((), (made.caution(BELOW_EMPTY, "danger", 1.0),)))
    told = chosen(on_paper)
    assert "for Ah" not in told.split("No choice")[0]
    assert 'No choice for Ah and for hours: on paper only with "two", in truth cells dr' in told
    # of the one that gives less the numbers may be on paper: the other one still gives more
    other = made.versus(more, cautions=((made.caution(BELOW_EMPTY, "danger", 1.0),), ()))
    assert 'for Ah and for fewer dangers "two"' in chosen(other)


def loaded(one_A, other_A):
    gap = other_A - one_A
    hardest = made.difference(HARDEST, (gap,) * 3, mean=(gap,) * 3, at=one_A)
    return harder(made.versus(hardest=hardest))


@pytest.mark.parametrize(
    ("one_A", "other_A", "place"),
    [
        (100.0, 97.0, None),  # 3 % of the larger one are as hard
        (100.0, 96.9, 0),
        (100.0, 103.0, None),
        (100.0, 103.2, 1),
        (0.0, 0.0, None),
    ],
)
def test_three_percent_of_the_current_are_as_hard(one_A, other_A, place):
    assert loaded(one_A, other_A) == place


@pytest.mark.parametrize(("parts", "told"), [((0.0, 0.0), True), ((0.0, 0.6), False)])
def test_hours_of_charging_are_not_compared_while_one_still_charges(parts, told):
    # 0.5 of the cases and more are most of them
    result = made.charged()
    both = tuple(
        replace(one, happenings=replace(Happenings(), still_charging=chance(round(50 * part), 50)))
        for one, part in zip(result.traced, parts, strict=True)
    )
    hours = made.difference(CHARGING, (-2.0, -2.0, -2.0), mean=(-2.0,) * 3, larger=0.0, at=6.0)
    found = replace(result, traced=both, differences=(*result.differences, hours))
    assert (CHARGING in [one.answer for one in told_differences(found)]) == told
    # what is sooner in is better
    assert (
        'for hours of charging "two"' in chosen(found).replace("for Ah taken in and ", "")
    ) == told


def test_dangers_of_each_side_are_named_by_their_place():
    never = "in 50 draws of {} it never came up."
    here = "in 90 of 100 cases (83 to 94)"
    assert dangers(raised([SURGE], []), SIDES) == [
        f'DANGER only with "one": surge, {here}; {never.format(chr(34) + "two" + chr(34))}'
    ]
    assert dangers(raised([], [SURGE]), SIDES) == [
        f'DANGER only with "two": surge, {here}; {never.format(chr(34) + "one" + chr(34))}'
    ]
    both = raised([SURGE], [("surge", "note", 0.2)])
    assert dangers(both, SIDES)[0].startswith(
        f'DANGER with "one": surge, {here}; with "two" a note, in 20 of 100'
    )


def test_warnings_are_worse_on_either_side():
    warned, noted = [("left", "warning", 0.6)], [("left", "note", 1.0)]
    assert warnings(raised(warned, noted), SIDES)[0].startswith('"one" is worse in left')
    assert warnings(raised(noted, warned), SIDES)[0].startswith('"two" is worse in left')
    half = [("left", "warning", 0.5)]
    assert warnings(raised(half, noted), SIDES)
    assert not warnings(raised([("left", "warning", 0.49)], noted), SIDES)
    assert not warnings(raised(half, []), SIDES)  # in half of the cases: not often
    assert warnings(raised([("left", "warning", 0.51)], []), SIDES)


@pytest.mark.parametrize(("beside", "told"), [(0.50, True), (0.51, False)])
def test_a_warning_of_both_is_told_where_they_are_far_apart(beside, told):
    both = raised([("fuse", "warning", 0.9)], [("fuse", "warning", beside)])
    assert bool(warnings(both, SIDES)) == told


def test_a_topic_counts_with_all_its_severities():
    # of 50 draws each: 0.3 and 0.9 are at most all of them
    one = [("x", "danger", 0.3), ("x", "warning", 0.2)]
    result = raised(one, [("x", "warning", 0.3), ("x", "note", 0.9)])
    (topic,) = topics_of(result)
    assert topic.severities == ("danger", "warning")
    assert [one.value for one in topic.chances] == [0.3, 0.3]
    assert [one.value for one in topic.whole] == [0.5, 1.0]
    assert topic.worst == "danger"

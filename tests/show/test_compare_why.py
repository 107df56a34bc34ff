"""What would explain a difference, on moves written by hand."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np

from bankSim.measured.compare_moves import Explained, Explanation, Move
from bankSim.show.compare_why import best_words, explanations, telling_apart
from bankSim.study.unknown import Kind

NONE = np.empty(0)


def moved(name="old", kind=Kind.CAPACITY, *, after=0.94, sds=-2.0, removed=0.92, word="capacity"):
    """Capacity of a battery, 6 % less."""
    move = Move(f'{word} of "{name}"', kind, name, "battery[1].x", "", 1.0, after, sds, "")
    return Explanation((move,), removed, 10.0, 14.0, True, NONE)


def pair(*parts, removed=0.99):
    return Explanation(tuple(one.moves[0] for one in parts), removed, 1.0, 5.0, True, NONE)


def of(*ranked, pairs=(), alike=(0,), exact=(), misfit=1e6, tried=40):
    explained = Explained(misfit, 10, ranked, tuple(pairs), tuple(alike), tried)
    return SimpleNamespace(
        explained=explained, exact=tuple(SimpleNamespace(label=label) for label in exact)
    )


ALONE = (
    "So much rarely has one cause: test each battery alone (capacity, resistance), put what was "
    "measured into the scenario, and compare again."
)
LESS = 'The capacity of "{}" would have to be 6.0 % smaller ({} sd) - that removes {} of the '


def test_nothing_to_explain():
    assert best_words(of(moved(), misfit=0.0)) == [
        "What is left between both is no more than meters and the model leave anyway."
    ]
    assert explanations(of(moved(), misfit=0.0)) is None
    assert telling_apart(of(moved(), misfit=0.0)) is None


def test_nothing_that_explains_it():
    none = "No single value within its plausible range removes a tenth of the difference."
    assert best_words(of()) == [none]
    far = moved(after=1.36, sds=6.0)  # more capacity: no ageing does that
    assert best_words(of(far)) == [none]
    assert explanations(of()) is None
    assert telling_apart(of()) is None


def test_one_value_that_explains_it():
    assert best_words(of(moved())) == [LESS.format("old", "2.0", "92 %") + "difference: plausible."]
    assert telling_apart(of(moved())).title == "What would confirm it"
    assert telling_apart(of(moved())).lines == (
        'Capacity of "old": a capacity test of "old" alone.',
    )


def test_less_than_nine_tenths_or_beyond_four_sd_has_several_causes():
    assert best_words(of(moved(removed=0.9)))[-1] != ALONE
    assert best_words(of(moved(removed=0.89)))[-1] == ALONE
    assert best_words(of(moved(sds=-4.0)))[-1] != ALONE
    assert best_words(of(moved(sds=-4.1)))[-1] == ALONE


def test_others_that_explain_as_much_are_named():
    lead = moved(kind=Kind.RESISTANCE, after=1.2, sds=2.0, word="resistance")
    told = best_words(of(moved(), lead, alike=(0, 1)))
    assert told[1] == (
        'The test cannot tell this from resistance of "old": each explains about as much. See '
        "below which measurement would."
    )
    assert telling_apart(of(moved(), lead, alike=(0, 1))).title == (
        "Which measurement would tell them apart"
    )
    absurd = moved(kind=Kind.RESISTANCE, after=1.9, sds=9.0, word="resistance")
    assert len(best_words(of(moved(), absurd, alike=(0, 1)))) == 1


def test_the_same_of_another_battery_moved_further():
    other = moved("new", after=0.9, sds=-3.0, removed=0.88)  # 4 % less is as much
    told = best_words(of(moved(), other))
    assert told[1] == 'Moved further, the capacity of "new" would do as well.'
    assert len(best_words(of(moved(), replace(other, removed=0.86)))) == 1
    lead = moved("new", Kind.LEAD, after=1.5, sds=3.0, removed=0.92, word="lead")
    assert len(best_words(of(moved(), lead))) == 1  # of another kind


def test_two_together_that_do_better():
    two = pair(moved(), moved("new", after=0.97, sds=-1.0))
    told = best_words(of(moved(removed=0.5), pairs=[two]))
    assert told[1].startswith(
        'Two together do better: the capacity of "old" would have to be 6.0 % smaller (2.0 sd) and '
        'the capacity of "new" would have to be 3.0 % smaller (1.0 sd) - that removes 99 % of'
    )
    assert ALONE not in told  # together they remove nearly all
    absurd = pair(moved(), moved("new", after=0.5, sds=-9.0))
    assert len(best_words(of(moved(), pairs=[absurd]))) == 1


def test_what_the_file_gives_exactly_is_blamed_on_neither():
    twin = moved("new", after=0.8, sds=-7.0, removed=0.9)
    told = best_words(of(moved(), twin, exact=['capacity of "new"']))
    assert told[0] == (
        'Either the capacity of "old" would have to be 6.0 % smaller (2.0 sd) or the capacity of '
        '"new" would have to be 20 % smaller (7.0 sd): each removes about 92 % of the difference, '
        "and this log cannot tell which of them; test both."
    )
    assert told[1] == ('The file gives the capacity of "new" exactly, so its sd is our own choice.')
    # not exact: seven sd off is not believed, unless the first is beyond the usual itself
    assert len(best_words(of(moved(), twin))) == 1
    beyond = best_words(of(moved(sds=-3.5), twin))
    assert beyond[0].startswith("Either the capacity")
    # more capacity instead of less, or much less removed, is no twin
    for other in (moved("new", after=1.2, sds=7.0), replace(twin, removed=0.87)):
        assert not best_words(of(moved(), other, exact=['capacity of "new"']))[0].startswith("Ei")


def test_three_that_a_log_cannot_part():
    twins = [moved(name, after=0.8, sds=-7.0, removed=0.9) for name in ("b", "c")]
    exact = ['capacity of "b"', 'capacity of "c"']
    told = best_words(of(moved(), *twins, exact=exact))
    assert told[0].endswith("cannot tell which of them; test all.")
    assert 'gives the capacity of "b" and capacity of "c" exactly' in told[1]


AGED = (
    'The capacity of "old" would have to be 40 % smaller (12.0 sd) - that removes 95 % of the '
    "difference: more than the spread of that value allows, but so it is if the value was only "
    'taken from a label or a guess. To know: a capacity test of "old" alone.'
)


def test_age_beyond_its_spread_is_told_where_it_does_best_by_far():
    aged = moved(after=0.6, sds=-12.0, removed=0.95)
    little = moved("new", Kind.LEAD, after=1.2, sds=1.0, removed=0.3, word="lead")
    assert AGED in best_words(of(aged, little))
    assert best_words(of(aged))[1] == AGED
    # a tenth more than what is believed, and half of it at least
    near = replace(little, removed=0.86)
    assert AGED not in best_words(of(aged, near))
    assert len(best_words(of(replace(aged, removed=0.5)))) == 1
    assert len(best_words(of(replace(aged, removed=0.51)))) == 2
    # more capacity, or less resistance, is no age
    young = moved(after=1.4, sds=12.0, removed=0.95)
    assert not any("label or a guess" in one for one in best_words(of(young, little)))


def test_several_aged_ones_are_all_to_be_measured():
    aged = moved(after=0.6, sds=-12.0, removed=0.95)
    second = moved("new", Kind.RESISTANCE, after=3.0, sds=12.0, removed=0.91, word="resistance")
    told = best_words(of(aged, second))[-1]
    assert 'The resistance of "new" would do as well: which it is, this test does not' in told
    assert told.endswith(
        'To know: a capacity test of "old" alone; the voltage step of "new" alone when a known '
        "load is switched on."
    )


def rows(found):
    return explanations(found).grid.rows


def test_the_table_ranks_them_and_ends_with_a_pair():
    two = pair(moved(), moved("new", after=0.97, sds=-1.0), removed=0.997)
    many = [moved(f"b{n}", removed=0.9 - 0.1 * n) for n in range(7)]
    found = of(*many, pairs=[two])
    told = rows(found)
    assert [row[0] for row in told] == ["1", "2", "3", "4", "5", "6", "pair"]
    assert told[0][1:] == ('capacity of "b0"', "-6.0 %", "2.0", "90 %", "plausible")
    assert told[-1][1:] == (
        'capacity of "old" + capacity of "new"', "-6.0 % / -3.0 %", "2.0 / 1.0", "more than 99 %",
        "plausible",
    )  # fmt: skip
    lines = explanations(found).lines
    assert len(lines) == 1
    assert lines[0].startswith("Each of 40 values was moved alone; the best 7 were run again")


def test_the_table_says_what_is_not_believed_and_what_is_exact():
    twin = moved("new", after=0.8, sds=-7.0, removed=0.9)
    found = of(moved(), twin, exact=['capacity of "new"'])
    assert [row[-1] for row in rows(found)] == ["plausible", 'as much as capacity of "old"']
    lines = explanations(found).lines
    assert lines[1].startswith("What must be moved by 6 sd or more explains nothing, unless")
    assert lines[2].startswith('The file gives exactly: capacity of "new". A usual spread was')
    assert rows(of(moved(), twin))[1][-1] == "not plausible"


def test_what_would_tell_them_apart_is_told_once_each():
    two = pair(moved(), moved("new", after=0.97, sds=-1.0))
    found = of(moved(), moved("new", after=0.97, sds=-1.0), alike=(0, 1), pairs=[two])
    assert telling_apart(found).lines == (
        'Capacity of "old": a capacity test of "old" alone.',
        'Capacity of "new": a capacity test of "new" alone.',
    )
    only_absurd = of(moved(after=1.5, sds=9.0))
    assert telling_apart(only_absurd) is None


def test_a_pair_is_told_beside_twins_only_where_it_does_clearly_better():
    twin = moved("new", after=0.8, sds=-7.0, removed=0.9)
    exact = ['capacity of "new"']
    two = pair(moved(), moved("new", after=0.97, sds=-1.0), removed=0.98)
    told = best_words(of(moved(), twin, pairs=[two], exact=exact))
    assert told[2].startswith("Two together do better")
    near = replace(two, removed=0.96)  # less than 5 % more
    assert not any("Two together" in one for one in best_words(
        of(moved(), twin, pairs=[near], exact=exact)))  # fmt: skip


def test_what_is_hardly_believed_gives_way_to_age():
    # 3.5 sd off and 30 %: hardly better than twelve sd off, and far less of the difference
    aged = moved(after=0.6, sds=-12.0, removed=0.95)
    far = moved("new", Kind.LEAD, after=1.5, sds=3.5, removed=0.3, word="lead")
    told = best_words(of(aged, far))
    assert told[0] == AGED
    assert not any("lead" in one for one in told)
    near = best_words(of(aged, moved("new", Kind.LEAD, after=1.5, sds=3.0, removed=0.3,
                                     word="lead")))  # fmt: skip
    assert near[0].startswith('The lead of "new" would have to be 50 % larger (3.0 sd)')


def test_what_is_beyond_its_spread_is_to_be_measured_too():
    aged = moved(after=0.6, sds=-12.0, removed=0.95)
    found = of(aged, moved("new", Kind.LEAD, after=1.2, sds=1.0, removed=0.3, word="lead"))
    assert telling_apart(found).lines == ('Capacity of "old": a capacity test of "old" alone.',)

"""Guesses, still answers and runs in full of `study matters`, on records written by hand."""

from types import SimpleNamespace

import numpy as np
import pytest
from pytest import approx

from bankSim.errors import ParameterError
from bankSim.study import matters as question
from bankSim.study.answers import BANK, Answer
from bankSim.study.happenings import Happenings
from bankSim.study.indices import Indices
from bankSim.study.matters import MattersResult, _is_still, _Known, _Study, study_matters
from bankSim.study.plan import DEFAULT_SEED
from bankSim.study.spread import band
from bankSim.study.statistics import Estimate

FIRST = Answer("first:a", "whether a is first", "", "first_cut_out", 1)


def result_of(mean, answer=FIRST):
    seen = band("", "", np.zeros(2), None)
    nothing = Estimate(0.0, 0.0, 0.0)
    return MattersResult(None, answer, 8, 1, 8, 2, None, mean, nothing, seen, (), None, (), None)


def test_a_guess_is_the_more_probable_of_two():
    # the chance of "not first" is 1 less that of "first", its ends in the other order
    assert result_of(Estimate(0.7, 0.6, 0.8)).guess == Estimate(0.7, 0.6, 0.8)
    assert result_of(Estimate(0.5, 0.4, 0.6)).guess == Estimate(0.5, 0.4, 0.6)
    other = result_of(Estimate(0.2, 0.125, 0.25)).guess
    assert (other.value, other.low, other.high) == (0.8, 0.75, 0.875)


@pytest.mark.parametrize(
    ("chance", "sure"), [(0.95, True), (0.94, False), (0.05, True), (0.06, False), (1.0, True)]
)
def test_a_guess_that_is_right_19_times_in_20_is_sure(chance, sure):
    assert result_of(Estimate(chance, 0.0, 1.0)).is_sure is sure
    assert not result_of(Estimate(chance, 0.0, 1.0), BANK).is_sure  # no guess of 0 or 1


def test_rounding_moves_no_answer():
    # a part in a thousand million of the largest, whatever its sign
    assert _is_still(np.zeros(3))
    assert _is_still(np.array([-100.0, -100.0 + 0.9e-7]))
    assert not _is_still(np.array([-100.0, -100.0 + 1.1e-7]))
    assert not _is_still(np.array([0.0, 1e-12]))


@pytest.mark.parametrize(
    ("cuts", "fed", "asked"),
    [(True, 50, [20]), (True, 49, []), (False, 100, []), (True, 100, [20])],
)
def test_draws_are_run_in_full_where_loads_that_cut_off_count_as_fed(cuts, fed, asked, monkeypatch):
    # of 100 draws half must be fed, and 20 are run
    runs, seen = [], Happenings(charging_h=np.ones(1))

    def trace(_plan, draws, _workers):
        runs.append(draws)
        return SimpleNamespace(happenings=seen)

    monkeypatch.setattr(question, "trace_draws", trace)
    loads = [SimpleNamespace(name="lamp", cut_off=object() if cuts else None)]
    scenario = SimpleNamespace(bank=SimpleNamespace(loads=loads))
    plan = SimpleNamespace(scenario=scenario, unknowns=())
    passes = SimpleNamespace(plan=plan, workers=None, fed=fed, draws=100)
    found = _Study(passes, 1, 8, 2).happenings()
    assert runs == asked
    assert (found is seen) is bool(asked)


def test_an_answer_that_is_the_same_but_for_rounding_has_no_spread(monkeypatch):
    # of 40 draws 30 are fed; the first answer stands for all
    plan = SimpleNamespace(scenario=None, unknowns=())
    passes = SimpleNamespace(
        plan=plan, answer=BANK, workers=None, fed=30, draws=40, central=lambda: 7.0
    )
    monkeypatch.setattr(_Study, "happenings", lambda _: Happenings())
    study = _Study(passes, 1, 8, 2)
    found = study.still(SimpleNamespace(mu_star=np.empty(0)), np.array([7.0, 7.0 + 1e-12, 7.0]))
    assert (found.sd, found.mean) == (Estimate(0.0, 0.0, 0.0), Estimate(7.0, 7.0, 7.0))
    assert found.nothing_moves
    assert (found.fed, found.draws, found.central) == (0.75, 40, 7.0)
    assert found.seen.percentiles[0].value == approx(7.0, abs=0.0)
    assert found.to_measure is None


def asked_of(monkeypatch, answer=BANK, design=SimpleNamespace(seed=7), **more):
    """Seed, points and walks that a study is made with."""
    made = []

    def study(_passes, seed, base, walks):
        made.append((seed, base, walks))
        return SimpleNamespace(result=lambda: "found")

    monkeypatch.setattr(question, "_Study", study)
    plan = SimpleNamespace(unknowns=("one",), design=design)
    assert study_matters(plan, None, answer, **more) == "found"
    return made[0]


def test_an_answer_of_0_and_1_takes_four_times_the_walks(monkeypatch):
    assert asked_of(monkeypatch, base=8, trajectories=2) == (7, 8, 2)
    assert asked_of(monkeypatch, FIRST, base=8, trajectories=2) == (7, 8, 8)
    assert asked_of(monkeypatch, seed=0, base=8, trajectories=2)[0] == 0
    assert asked_of(monkeypatch, design=object(), base=8, trajectories=2)[0] == DEFAULT_SEED


@pytest.mark.parametrize("few", [{"base": 7}, {"trajectories": 1}])
def test_fewer_points_or_walks_are_refused(few):
    ((name, got),) = few.items()
    with pytest.raises(ParameterError, match=rf"^{name} = {got}; expected {got + 1} or more"):
        study_matters(SimpleNamespace(unknowns=("one",)), None, BANK, **few)


def exactly(value):
    return Estimate(value, value, value)


def study_of(names, answer=FIRST):
    """A study of groups of one unknown each."""
    plan = SimpleNamespace(unknowns=())
    passes = SimpleNamespace(
        plan=plan, answer=answer, workers=None, fed=8, draws=16, central=lambda: 1.0
    )
    study = _Study(passes, 1, 8, 2)
    study.groups = tuple(SimpleNamespace(name=name, columns=(n,)) for n, name in enumerate(names))
    study.labels = tuple(names)
    return study


def test_what_matters_most_comes_first_and_so_does_what_was_dropped(monkeypatch):
    monkeypatch.setattr(_Study, "happenings", lambda _: Happenings())
    indices = [Indices(exactly(first), exactly(total)) for first, total in
               ((0.1, 0.2), (0.4, 0.6), (0.05, 0.1))]  # fmt: skip
    swapped = SimpleNamespace(a=np.ones(8), b=np.ones(8), indices=lambda: indices,
                              sd=lambda: exactly(0.0))  # fmt: skip
    effects = SimpleNamespace(mu_star=np.array([1.0, 4.0, 0.2, 0.3]))
    found = study_of("pqrs").found(effects, [0, 1], swapped)
    told = [(one.group.name, one.first.value, one.total.value, one.mu_star)
            for one in found.matters]  # fmt: skip
    assert told == [("q", 0.4, 0.6, 4.0), ("p", 0.1, 0.2, 1.0)]
    assert [(one.group.name, one.mu_star) for one in found.dropped] == [("s", 0.3), ("r", 0.2)]
    assert found.rest == indices[2]
    assert found.to_measure is None  # all 16 answers are 1: a sure guess
    assert found.fed == 0.5


def known_of(order, kept, columns):
    """What is known of some groups of 4 points, and the swaps that were asked for."""
    asked = []

    def answers(name, design, points, *, mark):
        asked.append((name, design.swaps, points, len(mark)))
        return np.full((points, 1), 2.0)

    study = SimpleNamespace(labels=("p", "q", "r"), seed=1, base=4,
                            passes=SimpleNamespace(answers=answers))  # fmt: skip
    ab = np.arange(float(columns)) + 10.0 * np.ones((4, 1))
    swapped = SimpleNamespace(a="a", b="b", ab=ab, remaining=lambda one, other: (one, other[0]))
    groups = [SimpleNamespace(columns=(place,)) for place in order]
    return _Known(study, swapped, groups, order, kept), asked


def test_swaps_that_were_made_are_not_made_again():
    # of kept groups 0, 1, 2 two are worth it, 2 before 0: B shares 2 with its own swap, in ab
    known, asked = known_of([2, 0], 3, columns=4)
    assert known.remaining(1) == ("b", 12.0)
    assert asked == []
    assert known.remaining(2) == ("b", 2.0)
    assert known.remaining(2) == ("b", 2.0)
    assert asked == [("check", ((0, 2),), 4, 9)]  # a dash and eight digits


@pytest.mark.parametrize(("columns", "other"), [(4, 13.0), (3, "a")])
def test_all_that_was_kept_is_known_from_the_swap_of_the_rest(columns, other):
    # A shares all but the rest with the swap of the rest; without a rest, everything: A itself
    known, asked = known_of([1, 2, 0], 3, columns)
    assert known.remaining(3) == ("a", other)
    assert known.remaining(1) == ("b", 11.0)
    assert asked == []

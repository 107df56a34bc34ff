"""Guesses, still answers and runs in full of `study matters`, on records written by hand."""

from types import SimpleNamespace

import numpy as np
import pytest
from pytest import approx

from bankSim.study import matters as question
from bankSim.study.answers import BANK, Answer
from bankSim.study.happenings import Happenings
from bankSim.study.matters import MattersResult, _is_still, _Study
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

"""Walks through the cube of chances, and which groups they find to matter."""

import numpy as np
import pytest
from closed_indices import Ishigami, answers_of
from pytest import approx

from bankSim.study.designs import STEP, Trajectories
from bankSim.study.screening import Effects, elementary_effects
from bankSim.study.uniforms import RandomDraws

LABELS = ("p", "q", "r", "s", "t")
SINGLES = ((0,), (1,), (2,), (3,), (4,))
PAIRS = ((0, 3), (1,), (2, 4))
SLOPES = np.array([3.0, -2.0, 0.0, 0.5, 1.0])


def straight(chances):
    return chances @ SLOPES


def effects_of(function, design, walks):
    return elementary_effects(design, answers_of(function, design, walks))


def test_each_step_moves_one_group_by_the_step():
    design = Trajectories(LABELS, 4, PAIRS)
    walks = design.chances(0, 20 * 4).reshape(20, 4, 5)
    assert 0.0 < walks.min() < 0.05
    assert 0.95 < walks.max() < 1.0
    moves = np.diff(walks, axis=1)
    for walk, order in zip(moves, design.order(20), strict=True):
        for step, group in zip(walk, order, strict=True):
            others = np.setdiff1d(range(5), PAIRS[group])
            assert np.abs(step[list(PAIRS[group])]) == approx(STEP, rel=1e-12)
            assert not step[others].any()
    ups = (moves > 0.0).sum(axis=(0, 1))
    assert ((ups > 2) & (ups < 18)).all()  # both directions, for every unknown
    assert len({tuple(order) for order in design.order(20)}) == 6  # of three groups


@pytest.mark.filterwarnings("error")
def test_chances_do_not_depend_on_portions_but_on_the_seed():
    design = Trajectories(LABELS, 4, PAIRS)
    whole = design.chances(0, 50)
    parts = [design.chances(first, min(first + 7, 50)) for first in range(0, 50, 7)]
    assert np.array_equal(np.vstack(parts), whole)
    assert not np.isclose(Trajectories(LABELS, 5, PAIRS).chances(0, 50), whole).any(axis=1).all()


def test_a_straight_answer_has_its_slopes_as_effects():
    # definition: the elementary effect of c x is c, wherever it is taken
    effects = effects_of(straight, Trajectories(LABELS, 1, SINGLES), 5)
    assert effects.mu_star == approx(np.abs(SLOPES), rel=1e-9, abs=1e-12)
    assert effects.square == approx(SLOPES**2, rel=1e-9, abs=1e-12)


def test_the_members_of_a_group_move_in_their_own_directions():
    # |+-c +-d| is max(|c|, |d|) on average and its square c^2 + d^2
    effects = effects_of(straight, Trajectories(LABELS, 1, PAIRS), 2000)
    assert effects.mu_star == approx([3.0, 2.0, 1.0], rel=0.02)
    assert effects.square == approx([9.25, 4.0, 1.0], rel=0.04)


def test_an_answer_that_repeats_itself_after_half_the_range_is_seen():
    # sin^2 of Ishigami's x2 does so: steps of one half would find nothing
    effects = effects_of(Ishigami(), Trajectories(("1", "2", "3"), 1, SINGLES[:3]), 50)
    assert (effects.mu_star > 2.0).all()


@pytest.mark.parametrize(
    ("square", "kept"),
    [
        ([1.0, 100.0, 0.5, 20.0], [1, 3, 0]),  # 121 of 121.5: enough
        ([1.0, 1.0, 1.0, 1.0], [0, 1, 2]),  # three at most
        ([0.0, 5.0, 0.0, 0.0], [1]),
        ([0.0, 0.0, 0.0, 0.0], []),
    ],
)
def test_kept_are_those_that_make_nearly_all_of_the_effect(square, kept):
    effects = Effects(np.sqrt(square), np.array(square))
    assert effects.kept(most=3, effect=0.99) == kept


def test_usually_a_hundredth_is_left_out_and_twelve_groups_are_the_most():
    # docs/theory.md, below eq. 23.5: 99 % of the sum of squared effects, twelve at most
    square = np.array([98.9, 0.2, 0.9])
    assert Effects(np.sqrt(square), square).kept() == [0, 2]
    enough = np.array([99.0, 0.4, 0.6])
    assert Effects(np.sqrt(enough), enough).kept() == [0]
    even = np.ones(30)
    assert Effects(even, even).kept() == list(range(12))  # as large: in the order of the groups


def test_effects_by_hand():
    # two walks of two groups: what a step changes, over 0.6, for the group that moves in it
    design = Trajectories(("p", "q"), 4, SINGLES[:2])
    answers = np.array([[0.0, 0.6, 0.3], [1.0, 1.3, -0.5]])
    sizes = np.array([[1.0, 0.5], [0.5, 3.0]])
    first = design.order(2) == 0
    p, q = sizes[first], sizes[~first]
    found = elementary_effects(design, answers)
    assert found.mu_star == approx([p.mean(), q.mean()])
    assert found.square == approx([(p**2).mean(), (q**2).mean()])


@pytest.mark.parametrize("end", [0.0, 1.0])
def test_walks_from_the_ends_stay_off_0_and_1(end, monkeypatch):
    # a chance of 0 or 1 has no value where a spread is without end
    even = lambda self, low, high: np.full((high - low, len(self.labels)), end)  # noqa: E731
    monkeypatch.setattr(RandomDraws, "chances", even)
    walks = Trajectories(("p", "q"), 4, SINGLES[:2]).chances(0, 6)
    assert ((walks > 0.0) & (walks < 1.0)).all()
    assert np.abs(np.ptp(walks, axis=0)) == approx([STEP, STEP])

"""Which value explains a difference: on differences that are straight lines, by hand.

What rests is base + sum of column x move; single moves are then known in closed form, and pairs by
the normal equations with 1 on their diagonal.
"""

from concurrent.futures import Future
from types import SimpleNamespace

import numpy as np
import pytest
from pytest import approx
from simple_banks import affine_cell, bank_of, battery

from bankSim.measured.compare_course import Course
from bankSim.measured.compare_explain import Misfit, Slope, cost, explain
from bankSim.measured.compare_frame import Frame, Meter
from bankSim.measured.compare_moves import METER_CURRENT, METER_VOLTAGE
from bankSim.model.spread import Shape, Spread
from bankSim.study.blocks import Workers
from bankSim.study.fields import Field
from bankSim.study.unknown import Effect, Kind, Unknown

BANK = bank_of(battery("a", affine_cell()), battery("b", affine_cell()))
WIDE = Spread(Shape.NORMAL, 1.0, 0.1)  # up to 12 sd each way


def unknown(name, spread=WIDE):
    """A resistance of a battery of that name."""
    effect = Effect(Field.LEAD, (0,))
    return Unknown(f"lead of {name}", Kind.LEAD, name, "key", "", spread, (effect,), "choice")


class Straight(Misfit):
    """Differences on straight lines; the last two columns are those of the meters."""

    def __init__(self, base, columns, spreads=None, bend=0.0):
        count = len(columns) - 2
        spreads = spreads or [WIDE] * count
        unknowns = tuple(unknown(f"u{n}", one) for n, one in enumerate(spreads))
        self.base, self.columns, self.bend = np.array(base), np.array(columns), bend
        runs = SimpleNamespace(
            unknowns=unknowns, scenario=SimpleNamespace(bank=BANK), meter=None,
            courses=lambda values, workers, tell: values, course=lambda values: values,
        )  # fmt: skip
        frame = SimpleNamespace(meter=Meter(0.5, 0.1), values=lambda course: np.zeros(1))
        super().__init__(runs, frame, None, np.ones(len(base)))

    def values(self, moves):
        return moves

    def rest(self, course, moves):
        bent = self.bend * moves.get(0, 0.0) * abs(moves.get(0, 0.0))
        return self.base + sum(x * self.columns[n] for n, x in moves.items()) + bent


class Here:
    """Does at once what it is given."""

    def submit(self, function, one):
        done = Future()
        done.set_result(function(one))
        return done


def explained(*given, **more):
    return explain(Straight(*given, **more), None, Workers(Here(), 1, lambda *_: None))


NONE = [0.0, 0.0, 0.0]


def test_one_value_that_explains_all():
    # 100 of 100: moved by 10 x 5 / (25 + 0.05)
    found = explained([10.0, 0.0, 0.0], [[-5.0, 0, 0], [0, -1.0, 0], NONE, NONE])
    best = found.ranked[0]
    (move,) = best.moves
    far = 50.0 / 25.05
    assert (move.label, move.sds) == ("lead of u0", approx(far, abs=1e-3))
    assert move.after == approx(1.0 + 0.1 * far, abs=1e-3)
    assert best.left == approx((10.0 - 5.0 * far) ** 2, abs=1e-4)
    assert best.removed == approx(1.0, abs=1e-4)
    assert best.rank_by == approx(best.left + move.sds**2)
    assert (found.misfit, found.count, found.tried) == (100.0, 3, 4)
    assert found.pairs == ()  # one is enough
    assert found.alike == (0,)
    assert len(found.ranked) == 1  # the other moves nothing of it


@pytest.mark.parametrize("way", [1.0, -1.0])
@pytest.mark.parametrize(("part", "told"), [(0.32, True), (0.31, False)])
def test_what_removes_less_than_a_tenth_is_not_told(way, part, told):
    # a strong column along `part` of the difference removes its square: 0.102 and 0.096
    column = way * 20.0 * np.array([part, np.sqrt(1.0 - part**2), 0.0])
    found = explained([100.0, 0.0, 0.0], [column, NONE, NONE])
    assert [one.moves[0].label for one in found.ranked] == (["lead of u0"] if told else [])
    if told:
        assert found.ranked[0].moves[0].sds * way < 0.0


def test_two_values_of_which_each_explains_half():
    # single ones leave 100 of 200; both together by the normal equations, apart as they are:
    # 10 x 5 / (25 + 1) each
    columns = [[-5.0, 0, 0], [0, 5.0, 0], NONE, NONE]
    found = explained([10.0, 10.0, 0.0], columns)
    assert [one.moves[0].label for one in found.ranked] == ["lead of u0", "lead of u1"]
    assert found.alike == (0, 1)
    best = found.pairs[0]
    far = 50.0 / 26.0
    assert {move.label: move.sds for move in best.moves} == {
        "lead of u0": approx(far, abs=0.02), "lead of u1": approx(-far, abs=0.02)
    }  # fmt: skip
    assert best.removed > 0.99
    assert best.rank_by == approx(best.left + 2.0 * far**2, rel=0.02)


@pytest.mark.parametrize(
    ("base", "told"),
    [
        ([20.0, 5.0, 0.0], True),  # the first leaves 25, both hardly anything
        ([20.0, 2.9, 0.0], False),  # 8.4 more are no clear gain: 9 are
        ([1.2, 1.2, 0.0], False),  # 2.88 in three differences are what tolerances leave anyway
    ],
)
def test_pairs_are_told_where_they_do_clearly_better(base, told):
    found = explained(base, [[-20.0, 0, 0], [0, -5.0, 0], NONE, NONE])
    assert bool(found.pairs) is told
    for pair in found.pairs:
        assert pair.rank_by < found.ranked[0].rank_by - 9.0


def test_a_pair_stays_within_its_ends():
    # both would go to 50 / 26; the second ends at 1 sd
    spread = Spread(Shape.NORMAL, 1.0, 0.1, 0.9, 1.1)
    found = explained([10.0, 10.0, 0.0], [[-5.0, 0, 0], [0, -5.0, 0], NONE, NONE], [WIDE, spread])
    moves = {move.label: move for move in found.pairs[0].moves}
    assert moves["lead of u1"].sds == approx(1.0)
    assert moves["lead of u1"].at_limit
    assert not moves["lead of u0"].at_limit
    assert found.pairs[0].left == approx((10.0 - 5.0 * 50.0 / 26.0) ** 2 + 25.0, abs=0.1)


def test_values_stay_within_their_ends():
    # 1 to 1.1 is one sd up, none down; 6 sd would be needed down
    spread = Spread(Shape.NORMAL, 1.0, 0.1, 1.0, 1.1)
    up = explained([4.0, 0.0, 0.0], [[-1.0, 0, 0], NONE, NONE], [spread])
    (move,) = up.ranked[0].moves
    assert (move.sds, move.at_limit) == (approx(1.0), True)
    assert up.ranked[0].left == approx(9.0)
    down = explained([4.0, 0.0, 0.0], [[1.0, 0, 0], NONE, NONE], [spread])
    assert down.ranked == ()


def test_meters_explain_as_well():
    # +0.5 % of current and -0.1 % of voltage a deviation
    found = explained([10.0, 20.0, 0.0], [NONE, [-5.0, 0, 0], [0, 5.0, 0]])
    moves = {one.moves[0].label: one.moves[0] for one in found.ranked}
    assert moves[METER_CURRENT].after == approx(1.0 + 0.005 * 50.0 / 25.05, abs=1e-5)
    assert moves[METER_VOLTAGE].after == approx(1.0 - 0.001 * 100.0 / 25.05, abs=1e-5)
    assert moves[METER_CURRENT].source == "0.5 % of the reading (standard deviation)"
    assert moves[METER_CURRENT].kind is None
    assert found.ranked[0].moves[0].label == METER_VOLTAGE  # 400 of 500


@pytest.mark.parametrize(("other", "alike"), [(9.65, True), (9.5, False)])
def test_explanations_of_about_the_same_worth_are_alike(other, alike):
    # no further apart than 8 % of the misfit of 400, 32: with a column along (o, sqrt(100 - o^2))
    # of 10, 400 (1 - o^2 / 100) of 400 stays, 27.5 and 39
    side = np.sqrt(100.0 - other**2)
    found = explained([20.0, 0.0, 0.0], [[-10.0, 0, 0], [-other, side, 0], NONE, NONE])
    left = 400.0 * (1.0 - other**2 / 100.0)
    assert found.ranked[1].left == approx(left, abs=0.1)
    assert found.alike == ((0, 1) if alike else (0,))


def test_a_bent_course_is_settled_by_runs():
    # base 6, -2 x + 0.5 x |x|: least where it has its foot at x = 2, of 4
    found = explained([6.0], [[-2.0], [0.0], [0.0]], bend=0.5)
    (move,) = found.ranked[0].moves
    assert move.sds == approx(2.0, abs=0.05)
    assert found.ranked[0].left == approx(16.0, abs=0.05)


def test_nothing_differs():
    found = explained(NONE, [[-5.0, 0, 0], NONE, NONE])
    assert (found.ranked, found.pairs, found.alike, found.matters) == ((), (), (), False)


@pytest.mark.parametrize(
    ("base", "far"),
    [([10.0], 10.0 * 5.0 / 25.05), ([-10.0], -10.0 * 2.0 / 4.05), ([100.0], 4.0)],
)
def test_slopes_of_two_sides(base, far):
    # below -2 a sd, above -5, from -6 to 4 sd
    slope = Slope(0, np.array([-2.0]), np.array([-5.0]), -6.0, 4.0)
    assert slope.best(np.array(base)) == approx(far)
    assert slope.at(-2.0) == approx([4.0])
    assert slope.at(3.0) == approx([-15.0])


def test_cost_counts_what_rests_and_how_far():
    assert cost(np.array([3.0, 4.0]), (1.0, -2.0)) == 30.0


TIME = np.arange(0.0, 7201.0, 60.0)
COURSE = Course(TIME, np.full(TIME.size, 13.0), np.full(TIME.size, 10.0), np.empty((0, TIME.size)))


def test_meters_that_read_too_much_make_what_was_measured_less():
    # two sd of 0.5 % and three of 0.1 %: 20 Ah read are 20 / 1.01, 13 V are 13 / 1.003
    frame = Frame((), (), 9000.0, 0.2, np.empty(0), 60.0, np.linspace(0.0, 4800.0, 9),
                  Meter(0.5, 0.1), np.array([0.1]))  # fmt: skip
    runs = SimpleNamespace(unknowns=(1, 2, 3), meter=None)
    misfit = Misfit(runs, frame, COURSE, np.full(11, 2.0))
    assert (misfit.amps_at, misfit.volts_at) == (3, 4)
    aim = misfit.aim({3: 2.0, 4: 3.0})
    assert aim[0] == approx(20.0 / 1.01)
    assert aim[2:10] == approx(np.full(8, 13.0 / 1.003))
    assert misfit.rest(COURSE, {3: 2.0})[0] == approx((20.0 / 1.01 - 20.0) / 2.0)
    assert misfit.ends(3) == misfit.ends(4) == (-40.0, 40.0)
    assert [misfit.needs_run(n) for n in range(5)] == [True, True, True, False, False]
    # where the current drives the bank, its reading moves the run
    runs.meter, runs.values = 1, lambda moves: np.array([moves.get(n, 0.0) for n in range(3)])
    assert misfit.needs_run(3)
    assert misfit.values({0: 7.0, 3: 2.0}) == approx([7.0, 1.0 / 1.01, 0.0])

"""What an explanation says of its moves: by hand."""

import numpy as np
import pytest

from bankSim.measured.compare_moves import Explained, Explanation, Move
from bankSim.study.unknown import Kind


def move(sds=1.0, *, kind=Kind.LEAD, unit="", before=1.0):
    return Move("label", kind, "a", "key", unit, before, before + 0.1 * sds, sds, "choice")


@pytest.mark.parametrize(
    ("given", "ratio"),
    [
        ({}, True),
        ({"kind": None}, True),
        ({"unit": "V"}, False),
        ({"before": 0.9}, False),
        ({"kind": Kind.CHARGE}, False),  # a state of charge of 1 is no factor
    ],
)
def test_a_factor_around_one_is_a_ratio(given, ratio):
    assert move(**given).is_ratio is ratio


@pytest.mark.parametrize(
    ("sds", "farthest", "absurd"),
    [
        ((1.0,), 1.0, False),
        ((2.0, -3.0), 3.0, False),
        ((-5.9,), 5.9, False),
        ((5.96,), 5.96, True),  # told as 6.0
        ((0.1, -6.0), 6.0, True),
    ],
)
def test_what_must_be_moved_by_six_deviations_explains_nothing(sds, farthest, absurd):
    found = Explanation(tuple(map(move, sds)), 0.5, 1.0, 2.0, True, np.zeros(1))
    assert found.farthest == farthest
    assert found.absurd is absurd


@pytest.mark.parametrize(("misfit", "matters"), [(15.1, True), (14.9, False)])
def test_a_misfit_of_one_and_a_half_a_difference_matters(misfit, matters):
    assert Explained(misfit, 10, (), (), (), 3).matters is matters

"""The smallest set of groups that halves the spread, from made-up parts of the variance."""

import numpy as np
import pytest

from bankSim.study.groups import Group
from bankSim.study.indices import Indices
from bankSim.study.statistics import Estimate
from bankSim.study.to_measure import by_promise, choose, is_worth_it, lengths_between
from bankSim.study.unknown import Kind


def exactly(value):
    return Estimate(value, value, value)


def indices(*pairs):
    return [Indices(exactly(first), exactly(total)) for first, total in pairs]


def groups(count):
    return [Group(str(n), Kind.KEY, "", (str(n),), (str(n),), (n,)) for n in range(count)]


class Known:
    """What remains after so many groups; keeps what it was asked."""

    def __init__(self, explained):
        self.explained, self.asked = explained, []

    def __call__(self, length):
        self.asked.append(length)
        part = np.sqrt(1.0 - self.explained[length - 1])
        return exactly(10.0 * part), exactly(part)


def test_parts_that_only_add_up_need_no_search():
    # 0.5 + 0.32 is clearly over three quarters, 0.5 clearly below
    parts = [0.5, 0.32, 0.05, 0.05, 0.03]
    known = Known(np.cumsum(parts))
    found = choose(groups(5), indices(*[(p, p) for p in parts]), indices((0.05, 0.05)), known)
    assert [one.name for one in found.groups] == ["0", "1"]
    assert found.halves
    assert found.is_verified
    assert found.remaining_sd.value == pytest.approx(10.0 * np.sqrt(0.18))
    assert set(known.asked) == {2, 5}


def test_what_works_together_is_found_by_asking():
    # no first-order part at all: only what is known of the sets can tell
    explained = [0.1, 0.2, 0.4, 0.6, 0.8, 0.9, 0.95, 0.97]
    known = Known(explained)
    found = choose(groups(8), indices(*[(0.0, 0.2)] * 8), (), known)
    assert len(found.groups) == 5
    assert len(set(known.asked)) <= 5


def test_a_bound_that_was_too_hopeful_is_passed():
    # the indices, with their noise, promise that one is enough
    found = choose(groups(3), indices((0.85, 0.85), (0.1, 0.1), (0.1, 0.1)), (),
                   Known([0.7, 0.74, 0.9]))  # fmt: skip
    assert len(found.groups) == 3
    assert found.halves


def test_when_all_do_not_halve_it_that_is_said():
    known = Known([0.3, 0.5])
    found = choose(groups(2), indices((0.3, 0.3), (0.2, 0.2)), indices((0.5, 0.5)), known)
    assert not found.halves
    assert len(found.groups) == 2
    assert found.part.value == pytest.approx(np.sqrt(0.5))
    assert known.asked == [2]


def test_a_half_within_the_noise_is_not_verified():
    part = Estimate(0.48, 0.44, 0.53)
    found = choose(groups(1), indices((0.77, 0.77)), (), lambda length: (part, part))
    assert found.halves
    assert not found.is_verified


def test_order_takes_the_middle_of_first_and_total():
    assert by_promise(indices((0.3, 0.3), (0.0, 0.8), (0.1, 0.1))) == [1, 0, 2]


def test_bounds_on_how_many_are_enough():
    # two factors |4 x - 2|, by hand: variances 1/3, 1/3 and 1/9 together of 7/9; none is enough
    assert lengths_between(indices((3 / 7, 4 / 7), (3 / 7, 4 / 7))) == (2, 2)
    # eight that only work together: known but one, a fifth of the variance may stay; from
    # 1 - 0.2 (8 - n) > 0.8 seven surely are enough
    assert lengths_between(indices(*[(0.0, 0.19)] * 8)) == (1, 7)
    # the rest, unmeasured, keeps 0.4 of it: all are looked at
    assert lengths_between(indices((0.5, 0.5), (0.1, 0.1)), indices((0.4, 0.4))) == (2, 2)
    # knowing the first alone leaves at least the 0.8 of which the second has a part
    assert lengths_between(indices((0.1, 0.9), (0.0, 0.8), (0.0, 0.1))) == (2, 2)
    # 0.72 is near enough to 0.75 to be tried, 0.78 too near to be trusted
    assert lengths_between(indices((0.72, 0.72), (0.28, 0.28))) == (1, 2)
    assert lengths_between(indices((0.78, 0.78), (0.22, 0.22))) == (1, 2)


@pytest.mark.parametrize(
    ("low", "total", "worth"), [(0.0, 0.51, False), (0.02, 0.3, False), (0.05, 0.1, True)]
)
def test_what_may_have_no_effect_is_not_worth_a_measurement(low, total, worth):
    found = Indices(exactly(0.0), Estimate(total, low, 1.0))
    assert is_worth_it(found) == worth


def test_what_is_not_worth_it_counts_as_all_else():
    # by hand: 0.5 left to all others in one or in two parts, none of which can be measured
    one, two = indices((0.5, 0.5)), indices((0.3, 0.3), (0.2, 0.2))
    assert lengths_between(indices((0.5, 0.5)), one) == lengths_between(indices((0.5, 0.5)), two)

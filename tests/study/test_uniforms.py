"""Random numbers of draws: from the seed, the label and the number of the draw alone."""

import itertools
import warnings

import numpy as np
import pytest
from pytest import approx
from scipy import stats

from bankSim.study.uniforms import RandomDraws, Sampling, uniforms

LABELS = ('capacity of "a"', 'charge of cell 1 of "a"', 'power of load "pump"', "é 電池")
MANY = 20_000


@pytest.mark.parametrize("cuts", [(0, 1, 2, 3, 5, 11, 64), (0, 4, 64), (0, 63, 64), range(65)])
def test_any_portions_give_the_same_numbers(cuts):
    whole = uniforms(LABELS, 7, 0, 64)
    parts = [uniforms(LABELS, 7, first, end) for first, end in itertools.pairwise(cuts)]
    assert np.concatenate(parts).tobytes() == whole.tobytes()


def test_any_order_gives_the_same_numbers():
    late, early = uniforms(LABELS, 7, 1_000_003, 1_000_005), uniforms(LABELS, 7, 0, 3)
    assert uniforms(LABELS, 7, 1_000_000, 1_000_005)[3:].tobytes() == late.tobytes()
    assert uniforms(LABELS, 7, 0, 5)[:3].tobytes() == early.tobytes()


def test_other_labels_change_nothing():
    all_of_them = uniforms(LABELS, 7, 5, 40)
    backwards = uniforms(LABELS[::-1], 7, 5, 40)
    assert backwards[:, ::-1].tobytes() == all_of_them.tobytes()
    assert uniforms(LABELS[2:3], 7, 5, 40)[:, 0].tobytes() == all_of_them[:, 2].tobytes()


def test_no_label_no_numbers():
    assert uniforms((), 7, 3, 8).shape == (5, 0)
    assert uniforms(LABELS, 7, 3, 3).shape == (0, len(LABELS))


def test_seed_label_and_draw_all_matter():
    numbers = [
        uniforms((label,), seed, first, first + 50).ravel()
        for label in LABELS
        for seed in (0, 1, 2**63 - 1)
        for first in (0, 50)
    ]
    assert len(np.unique(np.concatenate(numbers))) == 50 * len(numbers)


def test_numbers_stay_as_they_are():
    # kept studies must go on with the same numbers; these are of this program, and the next test
    # makes them another way
    found = uniforms(("capacity",), 1, 0, 3).ravel()
    assert found.tolist() == [0.191513505608281, 0.6031260234645266, 0.31193916758892465]


def test_words_of_the_published_generator():
    # NumPy's own Philox 4x64: key = (seed, first 8 bytes of SHA-256 of the label, little endian)
    import hashlib

    label = int.from_bytes(hashlib.sha256(b"capacity").digest()[:8], "little")
    words = np.random.Philox(key=np.array([1, label], dtype=np.uint64)).random_raw(8)
    exact = ((words >> np.uint64(11)).astype(float) + 0.5) / 2.0**53
    assert uniforms(("capacity",), 1, 0, 8).ravel().tobytes() == exact.tobytes()


@pytest.mark.parametrize("label", LABELS)
def test_numbers_are_even(label):
    numbers = uniforms((label,), 3, 0, MANY).ravel()
    assert 0.0 < numbers.min() < numbers.max() < 1.0
    # mean and variance of an even distribution: 1/2 and 1/12, within 4 standard errors
    assert numbers.mean() == approx(0.5, abs=4.0 * np.sqrt(1.0 / 12.0 / MANY))
    assert numbers.var() == approx(1.0 / 12.0, abs=4.0 * np.sqrt(1.0 / 180.0 / MANY))
    assert stats.kstest(numbers, "uniform").pvalue > 1e-3
    # neighbours in the row of draws have nothing to do with each other
    assert abs(np.corrcoef(numbers[:-1], numbers[1:])[0, 1]) < 4.0 / np.sqrt(MANY)


def test_labels_and_seeds_have_nothing_to_do_with_each_other():
    columns = np.hstack([uniforms(LABELS, seed, 0, MANY) for seed in (1, 2, 3)])
    together = np.corrcoef(columns.T)[np.triu_indices(columns.shape[1], 1)]
    assert np.abs(together).max() < 4.5 / np.sqrt(MANY)  # the largest of 66


def even(labels, first, end, beside=(), seed=5):
    return RandomDraws(labels, seed, Sampling.EVEN, beside).chances(first, end)


@pytest.mark.parametrize("cuts", [(0, 1, 2, 3, 5, 11, 64), (0, 32, 64), (0, 63, 64)])
def test_any_portions_give_the_same_even_numbers(cuts):
    parts = [even(LABELS, first, end) for first, end in itertools.pairwise(cuts)]
    assert np.concatenate(parts).tobytes() == even(LABELS, 0, 64).tobytes()


def test_even_numbers_do_not_depend_on_the_order_of_labels():
    assert (even(LABELS[::-1], 0, 16)[:, ::-1] == even(LABELS, 0, 16)).all()


def test_even_numbers_of_two_scenarios_agree_where_both_know_of_each_other():
    one = even(LABELS[:3], 0, 16, beside=LABELS[3:])
    other = even(LABELS[1:], 0, 16, beside=LABELS[:1])
    assert (one[:, 1:] == other[:, :2]).all()


def test_even_numbers_change_with_the_seed():
    assert not (even(LABELS, 0, 16) == even(LABELS, 0, 16, seed=6)).any()


def test_even_numbers_are_even():
    numbers = even(LABELS, 0, 1024)
    assert 0.0 < numbers.min() < numbers.max() < 1.0
    for column in numbers.T:  # one in each of 1024 slots: what makes them even
        assert (np.bincount((1024 * column).astype(int)) == 1).all()


def integral(sampling, seed, draws):
    """Mean of exp(x1 + x2 + x3 + x4) over the unit cube; (e - 1)^4 exactly."""
    chances = RandomDraws(LABELS, seed, sampling).chances(0, draws)
    return np.exp(chances.sum(axis=1)).mean() / (np.e - 1.0) ** 4 - 1.0


def test_even_numbers_integrate_a_smooth_function_much_better():
    draws = 2048
    errors = {
        sampling: np.sqrt(np.mean([integral(sampling, seed, draws) ** 2 for seed in range(10)]))
        for sampling in Sampling
    }
    # standard error of random draws, closed form: sqrt(((e^2 - 1) / 2)^4 / (e - 1)^8 - 1) / sqrt n
    exact = np.sqrt(((np.e**2 - 1) / 2) ** 4 / (np.e - 1) ** 8 - 1.0) / np.sqrt(draws)
    assert errors[Sampling.RANDOM] == approx(exact, rel=0.6)
    assert errors[Sampling.EVEN] < 0.05 * errors[Sampling.RANDOM]


def test_even_numbers_come_without_a_warning():
    # SciPy warns of a first portion that is no power of 2; blocks of draws hardly ever are one
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        RandomDraws(LABELS, 5, Sampling.EVEN).chances(0, 100)


def test_even_numbers_of_one_label_of_none_and_of_no_draw():
    # of 8 even points of one unknown each eighth holds one
    assert sorted((8 * even(("p",), 0, 8)[:, 0]).astype(int)) == list(range(8))
    assert even((), 3, 8).shape == (5, 0)
    assert even(LABELS, 6, 6).shape == (0, 4)


def test_even_points_on_the_ends_stay_inside(monkeypatch):
    # scrambled points may be 0 and, once rounded, 1, where a normal spread is without end
    class AtEnds:
        """Sobol' points that all lie in the corners."""

        def __init__(self, count, **_):
            self.count = count

        def random(self, portion):
            return np.tile([0.0, 1.0], (portion, self.count // 2))

    monkeypatch.setattr(stats.qmc, "Sobol", AtEnds)
    ends = even(("p", "q"), 0, 3)
    assert (ends > 0.0).all()
    assert (ends < 1.0).all()
    assert ends[:, 0].max() < 1e-15
    assert ends[:, 1].min() > 1.0 - 1e-15

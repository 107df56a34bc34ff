"""Unbroken stretches of rows, counted by hand."""

import numpy as np
import pytest

from bankSim.model.runs import longest_run, runs_of


@pytest.mark.parametrize(
    ("rows", "found"),
    [
        ("", []), ("....", []), ("#", [(0, 0)]), ("####", [(0, 3)]), ("#..#", [(0, 0), (3, 3)]),
        (".##.###", [(1, 2), (4, 6)]), ("##.#.", [(0, 1), (3, 3)]),
    ],
)  # fmt: skip
def test_first_and_last_row_of_each(rows, found):
    flags = [row == "#" for row in rows]
    assert runs_of(flags) == found
    assert runs_of(np.array(flags, dtype=bool)) == found


def test_the_longest_is_that_of_the_longest_time():
    flags = np.array([True, True, True, False, True, True, False, True])
    assert longest_run(np.array([0.0, 1.0, 2.0, 3.0, 4.0, 9.0, 10.0, 11.0]), flags) == (4, 5)
    assert longest_run(np.arange(8.0), flags) == (0, 2)
    # of two alike the first
    assert longest_run(np.arange(5.0), np.array([True, True, False, True, True])) == (0, 1)
    assert longest_run(np.arange(8.0), np.zeros(8, dtype=bool)) == (0, 0)

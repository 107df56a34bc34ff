"""How many rows are told, and which: exact sentences."""

import numpy as np
import pytest

from bankSim.measured.log import NOTE, WARNING, Finding
from bankSim.measured.noted import Noted, above_table, by_rows, left_out, rows_told


@pytest.mark.parametrize(
    ("rows", "count", "told"),
    [
        ([5], 1, "Row 5"),
        ([5, 7], 2, "2 rows (5, 7)"),
        ([5, 7], 3, "3 rows (5, 7, ...)"),
        ([5, 7], 1200, "1,200 rows (5, 7, ...)"),
    ],
)
def test_rows_told(rows, count, told):
    assert rows_told(rows, count) == told


def test_many_rows_keep_the_first_eight():
    noted = Noted("odd.", WARNING)
    noted.add([3, 4, 5])
    noted.add(np.array([10, 11, 12, 13, 14, 15, 16]))
    noted.add([20])
    found = noted.finding()
    assert found.rows == (3, 4, 5, 10, 11, 12, 13, 14)
    assert (found.count, found.severity) == (11, WARNING)
    assert found.text == "11 rows (3, 4, 5, 10, 11, 12, 13, 14, ...): odd."


def test_findings_stand_in_the_order_of_rows():
    found = [Finding("b", (9,)), Finding("none"), Finding("a", (2, 30))]
    assert [one.text for one in by_rows(found)] == ["none", "a", "b"]


@pytest.mark.parametrize(("count", "severity"), [(15, NOTE), (16, WARNING)])
def test_more_than_fifteen_rows_above_a_table_may_be_a_part_of_it(count, severity):
    (found,) = above_table(count + 1, ["x"] * (count + 3))
    assert (found.count, found.severity, found.rows) == (count, severity, tuple(range(1, 9)))
    assert found.text == f"{count} rows (1, 2, 3, 4, 5, 6, 7, 8, ...): above the table, left out."


def test_blank_rows_above_a_table_are_not_told():
    (found,) = above_table(4, ["", "title", "  ", "a,b"])
    assert (found.text, found.rows) == ("Row 2: above the table, left out.", (2,))
    assert above_table(1, ["a,b"]) == []
    assert above_table(3, ["", " ", "a,b"]) == []


def test_what_lacks_a_reading_is_told_by_its_kind():
    nan, inf = float("nan"), float("inf")
    rows = np.array([2, 3, 5, 8])
    found = left_out(
        rows, np.array([0.0, 1, nan, 3]), np.array([12.0, 12, 12, 12]), np.array([nan, 5, 5, inf])
    )
    assert [(one.text, one.rows, one.count, one.severity) for one in found] == [
        ("Row 5: no readable time; left out.", (5,), 1, WARNING),
        ("2 rows (2, 8): no readable current; left out.", (2, 8), 2, WARNING),
    ]

"""What stands between digits: decimal marks, and marks between thousands."""

import pytest
from measured.log_texts import comma, falling, read, volts

from bankSim.measured.layout import marks_of
from bankSim.measured.numerals import COMMA, POINT, Marks


def marks(*columns):
    """Of a table given by its columns, words with spaces between."""
    return marks_of(list(zip(*(one.split() for one in columns), strict=True)), ";")


@pytest.mark.parametrize(
    ("columns", "found"),
    [
        (["12.81 12.8", "1 2"], Marks(POINT, groups=True)),
        (["12,81 12,8", "1 2"], Marks(COMMA, groups=True)),  # a later 1.020 is a thousand
        (["1.234,5 3,1"], Marks(COMMA, groups=True)),
        (["1,234.5 3.1"], Marks(POINT, groups=True)),
        (["1 2", "3 4"], Marks(POINT)),
        # three decimals all over are decimals, in whatever unit
        (["3.312 3.311", "0 60"], Marks(POINT)),
        (["3,312 3,311", "0 60"], Marks(COMMA, groups=True)),
        (["3,312 3,311", "5.125 5.120"], Marks(COMMA)),
        (["12,81 12,8", "3.312 3.311"], Marks(COMMA)),
        (["0 5.125", "12.800 12.790"], Marks(POINT)),
        # a column that goes from 980 on to 1.020 counts in thousands
        (["980 1.000 1.020", "12,81 12,8 12,7"], Marks(COMMA, groups=True)),
        (["980 1.000 1.020", "12.810 12.800 12.790"], Marks(COMMA, groups=True)),
        (["980 1,000 1,020", "12,810 12,800 12,790"], Marks(POINT, groups=True)),
        (["980 1.000 1.020", "12.81 12.8 12.79"], Marks(POINT, groups=True)),  # points are decimals
        (["980 1,000 1,020", "12,81 12,8 12,79"], Marks(COMMA, groups=True)),
        # with 1020 in it too, it does not
        (["980 1.000 1020", "12.810 12.800 12.790"], Marks(POINT)),
    ],
)
def test_marks(columns, found):
    assert marks(*columns) == found


# Known by making: 200 rows, a minute each, 5 A: 199 minutes of 5 A
GIVEN_AH = 5.0 * 199 / 60.0


@pytest.mark.parametrize("step", [60, 3600])  # 3.600 s follow upon 0: no 980 between
def test_seconds_with_points_between_thousands(tmp_path, step):
    def row(i):
        return f"{format(step * i, ',').replace(',', '.')};{comma(volts(i))};5,0"

    log = read(tmp_path, falling("Zeit (s);Spannung (V);Strom (A)\n", row, 200))
    assert log.time_s[-1] == 199 * step
    assert log.counted_Ah()[-1] == pytest.approx(GIVEN_AH * step / 60, rel=1e-12)
    assert log.findings == ()


def test_milliamperes_that_pass_a_thousand_late(tmp_path):
    # the first 2,000 rows, which are looked at, stay below
    def row(i):
        return f"{i};{12.8 - 0.0001 * i:.3f};{950 if i < 2100 else '1.050'}".replace("12.", "12,")

    log = read(tmp_path, falling("Zeit (s);Spannung (V);Strom (mA)\n", row, 2200))
    assert log.current_A[[0, -1]] == pytest.approx([0.95, 1.05], rel=1e-12)

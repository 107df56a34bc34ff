"""What stands between digits: decimal marks, and marks between thousands."""

import pytest
from measured.log_texts import comma, falling, read, volts

from bankSim.measured.layout import find_layout, is_comment, marks_of, split_line
from bankSim.measured.log import LogError
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


ROWS = ["0,12.8,5", "60,12.7,5", "120,12.6,5"]
HEAD = "Time,Voltage,Current"


def laid_out(*lines):
    """What is found: separator, headers, units, and where both begin."""
    found = find_layout("a.csv", lines)
    return found.separator, found.headers, found.units, found.first_row, found.header_row


@pytest.mark.parametrize(
    ("above", "headers", "units", "first_row", "header_row"),
    [
        ([HEAD], ("Time", "Voltage", "Current"), ("", "", ""), 2, 1),
        ([HEAD, "s,V,A"], ("Time", "Voltage", "Current"), ("s", "V", "A"), 3, 1),
        ([HEAD, "[s],[V],[A]"], ("Time", "Voltage", "Current"), ("[s]", "[V]", "[A]"), 3, 1),
        (["# " + HEAD], ("Time", "Voltage", "Current"), ("", "", ""), 2, 1),
        (["A test", "", "Name,AGM", HEAD, ""], ("Time", "Voltage", "Current"), ("", "", ""), 6, 4),
        (["# a remark", HEAD, "# another"], ("Time", "Voltage", "Current"), ("", "", ""), 4, 2),
        (["# Time,Voltage,Current", "# a remark"], ("Time", "Voltage", "Current"), ("",) * 3, 3, 1),
        (["s,V,A"], ("s", "V", "A"), ("", "", ""), 2, 1),  # units alone are the headers
        (["Time,Voltage,Current,Note"], ("Time", "Voltage", "Current", "Note"), ("",) * 4, 2, 1),
        (["Time"], ("", "", ""), ("", "", ""), 2, 0),
        ([], ("", "", ""), ("", "", ""), 1, 0),
        ([HEAD, "0,,"], ("Time", "Voltage", "Current"), ("", "", ""), 2, 1),  # a sample with gaps
    ],
)
def test_what_stands_above_the_rows(above, headers, units, first_row, header_row):
    assert laid_out(*above, *ROWS) == (",", headers, units, first_row, header_row)


@pytest.mark.parametrize("mark", [";", "\t", "|", ","])
def test_separators(mark):
    lines = [HEAD.replace(",", mark), *(row.replace(",", mark) for row in ROWS)]
    assert laid_out(*lines)[0] == mark
    # with decimal commas, but between commas
    if mark != ",":
        german = [lines[0], *(row.replace(".", ",") for row in lines[1:])]
        assert laid_out(*german)[0] == mark


def test_spaces_between_columns():
    lines = ["Time Voltage  Current", "0 12.8   5", "60   12.7 5"]
    assert laid_out(*lines) == (" ", ("Time", "Voltage", "Current"), ("", "", ""), 2, 1)
    assert split_line(" 0  12.8\t5 ", " ") == ["0", "12.8", "5"]


def test_date_and_time_under_one_header_are_two_columns():
    lines = ["Time;V;A", "2024-03-04;12:00:00;12.8;5", "2024-03-04;12:01:00;12.7;5"]
    assert laid_out(*lines)[1] == ("Date", "Time", "V", "A")


def test_separators_at_the_end_of_rows_make_no_column_of_their_own():
    found = laid_out(HEAD, *(row + "," for row in ROWS))
    assert found[1] == ("Time", "Voltage", "Current", "")


def test_decimal_commas_between_commas_are_refused():
    with pytest.raises(LogError) as error:
        laid_out(HEAD, "0,12,8,5,0", "60,12,7,5,0")
    assert str(error.value).startswith(
        "a.csv: row 2 holds 5 fields, but there are 3 headers; decimal commas between commas cannot"
    )
    # a few rows with a remark behind are none
    assert laid_out(HEAD, *ROWS, *ROWS, "180,12.5,5,note")[1] == ("Time", "Voltage", "Current")


@pytest.mark.parametrize("lines", [[], ["", "abc"], ["1", "2"], ["a,b", "c,d"]])
def test_no_table(lines):
    with pytest.raises(LogError, match="no rows with two or more numbers; expected a table"):
        laid_out(*lines)


@pytest.mark.parametrize(
    ("line", "separator", "told"),
    [
        ("# x", ",", True), ("  // x", ",", True), ('"# x"', ",", True), ("%x", ",", True),
        ("; x", ",", True), (";1;2", ";", False), ("x # y", ",", False), ("", ",", False),
    ],
)  # fmt: skip
def test_remarks(line, separator, told):
    assert is_comment(line, separator) is told


def test_fields_in_quotes():
    assert split_line('"1,5", "2",x', ",") == ["1,5", "2", "x"]
    assert split_line("1,,2", ",") == ["1", "", "2"]

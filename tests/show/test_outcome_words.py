"""The tables of what each battery gave and of what switched, on outcomes written by hand."""

import made_up
import pytest

from bankSim.show.outcomes import MORE_THAN_LABEL, charge_table, event_rows, event_table
from bankSim.sim.result import RELEASE


def table(*outcomes):
    return charge_table(made_up.result(list(outcomes)))


@pytest.mark.parametrize(("left_Ah", "told"), [(100.4, False), (100.6, True)])
def test_more_than_the_label_that_is_left_is_explained(left_Ah, told):
    # half a percent above the 100 Ah of a label is rounding
    one = made_up.outcome("a", delivered_Ah=0.0, remaining_Ah=left_Ah)
    assert (MORE_THAN_LABEL in table(one, made_up.outcome("b")).lines) == told


@pytest.mark.parametrize(
    ("charged_Ah", "peak_A", "columns"),
    [
        (0.0, 0.0, ["Given Ah", "Stranded Ah", "Left Ah", "Peak out A"]),
        (4e-4, 4e-4, ["Given Ah", "Stranded Ah", "Left Ah", "Peak out A"]),
        (6e-4, 4e-4, ["Given Ah", "Taken Ah", "Stranded Ah", "Left Ah", "Peak out A"]),
        (0.0, 6e-4, ["Given Ah", "Stranded Ah", "Left Ah", "Peak out A", "Peak in A"]),
        (2.0, 5.0, ["Given Ah", "Taken Ah", "Stranded Ah", "Left Ah", "Peak out A", "Peak in A"]),
    ],
)
def test_charge_has_columns_where_there_is_any(charged_Ah, peak_A, columns):
    made = table(made_up.outcome("a", charged_Ah=charged_Ah, peak_charge_A=peak_A))
    assert list(made.grid.columns) == ["Battery", "Label Ah", *columns, "Share at start"]
    (row,) = made.grid.rows
    assert len(row) == len(made.grid.columns)
    assert made.lines[0].startswith("Given and taken" if charged_Ah > 5e-4 else "Given: charge out")


def test_every_ah_has_the_decimals_of_the_largest_label():
    # 3 digits behind the hundreds: one decimal for 140 Ah, in all rows
    rows = table(
        made_up.outcome("a", 7.0, delivered_Ah=6.954, stranded_Ah=0.0, remaining_Ah=0.06),
        made_up.outcome("b", 140.0, delivered_Ah=133.33, stranded_Ah=2.25, remaining_Ah=10.0),
    ).grid.rows
    assert [row[:5] for row in rows] == [
        ("a", "7", "7.0", "0.0", "0.1"), ("b", "140", "133.3", "2.2", "10.0")
    ]  # fmt: skip


def what(**changes):
    event = made_up.trip("a", 1.0, ["a"], **changes)
    result = made_up.result([made_up.outcome("a")], [event])
    return event_rows(result, [event]).rows[0]


def test_a_row_tells_who_what_why_and_when():
    assert what() == ("a", "cut out: its cell 3 fell to 2.50 V", "1.000 h", "11.46", "11.43")
    charge = {"watches": "highest cell voltage", "value": 3.65, "threshold": 3.65}
    assert what(blocks="charge", **charge)[1] == "blocks charging: its cell 3 rose to 3.65 V"
    assert what(blocks="both", **charge)[1] == "cut out: its cell 3 rose to 3.65 V"
    back = {"what": RELEASE, "threshold": 3.0, "value": 3.0}
    assert what(**back)[1] == "allows discharge again: its cell 3 is back at 3.00 V"
    assert what(blocks="both", **back)[1].startswith("allows both ways again: ")
    assert what(battery=None, source="tv")[0] == "tv"
    assert what(battery=None)[0] == "the bank"
    assert what(battery_voltage_V=None)[3] == "-"


@pytest.mark.parametrize(("count", "hidden"), [(70, 0), (71, 1)])
def test_of_many_events_seventy_are_shown(count, hidden):
    events = [made_up.trip("a", 1.0 + k, ["a"]) for k in range(count)]
    made = event_table(made_up.result([made_up.outcome("a")], events))
    assert len(made.grid.rows) == 70
    assert made.lines == ((f"{hidden} more are in events.csv.",) if hidden else ())

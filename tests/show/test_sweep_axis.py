"""A swept key along an axis."""

import pytest
from matplotlib.figure import Figure
from told_studies import swept_key

from bankSim.show.sweep_axis import along, in_cells, told, value_text, write_cells


def key(*values, unit="mohm", name="battery[old].lead_mohm"):
    return swept_key(name, values, unit)


def test_numbers_stand_where_they_are():
    axis = along(key(4.0, 1.0, 2.5), 3.0)
    assert list(axis.at) == [4.0, 1.0, 2.5]
    assert (axis.given, axis.value, axis.in_cells) == (3.0, 3.0, False)


def test_words_stand_one_after_the_other_in_their_order():
    axis = along(key("row", "star", unit=""), "star")
    assert list(axis.at) == [0.0, 1.0]
    assert (axis.given, axis.value, axis.in_cells) == (1.0, "star", True)
    assert along(key("row", "star"), "else").given is None
    assert along(key(True, False), True).in_cells  # yes and no are no numbers


def test_a_number_of_the_file_between_cells_is_pointed_at_only_where_cells_are_in_order():
    assert in_cells(key(1.0, 2.0, 4.0), 3.0).given == 1.5
    assert in_cells(key(4.0, 2.0, 1.0), 3.0).given == 0.5  # falling
    assert in_cells(key(4.0, 1.0, 2.0), 3.0).given is None
    assert in_cells(key(1.0, 2.0, 4.0), 4.0).given == 2.0  # one of them
    assert in_cells(key(4.0, 1.0, 2.0), 1.0).given == 1.0


@pytest.mark.parametrize("beyond", [0.5, 4.5])
def test_a_number_of_the_file_outside_is_told_and_not_pointed_at(beyond):
    axis = in_cells(key(1.0, 2.0, 4.0), beyond)
    assert axis.given is None
    assert axis.value == beyond
    assert axis.label().endswith(f"in the file: {beyond:g}")


def test_the_label_has_the_unit_and_the_value_of_the_file():
    assert along(key(1.0, 2.0), 1.5).label() == "battery[old].lead_mohm [mohm]; in the file: 1.5"
    assert along(key(1.0, 2.0), None).label() == "battery[old].lead_mohm [mohm]"
    assert along(key("a", "b", unit=""), "a").label(between=", ") == (
        "battery[old].lead_mohm, in the file: a"
    )
    short = along(key(1.0, 2.0, name="x" * 30), None).label(12)
    assert len(short) == 12 + len(" [mohm]")


def test_a_table_of_the_file_is_no_value():
    assert told({"low": 1.0, "high": 2.0}) is None
    assert told([1.0]) is None
    assert [told(one) for one in (0, 0.0, "", False)] == [0, 0.0, "", False]
    assert along(key(1.0, 2.0), {"low": 1.0}).value is None


def test_values_as_they_stand_at_a_tick():
    assert [value_text(one) for one in (2.0, 2.5, 1234.0, True, False, "row")] == [
        "2", "2.5", "1234", "true", "false", "row",
    ]  # fmt: skip
    assert len(value_text("w" * 40)) == 16


def test_of_many_cells_every_second_or_third_is_named():
    for count, names in ((12, 12), (13, 7), (24, 12), (25, 9)):
        axis = Figure().subplots().xaxis
        write_cells(axis, in_cells(key(*(float(n) for n in range(count))), None))
        assert len(axis.get_ticklabels()) == names
        assert axis.get_ticklabels()[1].get_text() == str(round(axis.get_ticklocs()[1]))

import numpy as np
import pytest
from pytest import approx

from bankSim.errors import ParameterError
from bankSim.measured.log import LogError
from bankSim.measured.typical_tables import TABLES, line_table, typical_resistance, typical_table
from bankSim.measured.voltage_table import VoltageTable, read_table, straight_line


def written(tmp_path, text):
    file = tmp_path / "table.csv"
    file.write_text(text, encoding="utf-8")
    return file


def test_reads_a_table_in_any_order_of_rows_and_columns(tmp_path):
    text = "state_of_charge_percent,voltage_V\n100,13.6\n0,10.0\n\n50,13.1\n"
    table = read_table(written(tmp_path, text))
    assert table.voltage_V.tolist() == [10.0, 13.1, 13.6]
    # straight line between rows: 13.35 V is half-way between 13.1 and 13.6 V
    assert table.reading(np.array([13.35, 9.0, 15.0])) == approx([75.0, 0.0, 100.0])
    assert not table.has_spread


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("volts,percent\n1,2\n", "header 'volts,percent'; expected voltage_V,state_of_charge_perc"),
        ("", "is empty; expected voltage_V,state_of_charge_percent"),
        ("voltage_V,state_of_charge_percent\n12.0,50\n", "1 rows of numbers; expected 2 to"),
        ("voltage_V,state_of_charge_percent\n12,0\nx,50\n", "row 3: voltage_V = 'x'; expected a"),
        ("voltage_V,state_of_charge_percent\n12,0\n13,120\n", "row 3: state_of_charge_percent ="),
        ("voltage_V,state_of_charge_percent\n12,0\nnan,50\n", "row 3: voltage_V = 'nan'"),
        ("voltage_V,state_of_charge_percent\n0,0\n13,50\n", "row 2: voltage_V = '0'"),
        ("voltage_V,state_of_charge_percent\n12,0\n13\n", "row 3: 1 values; expected 2"),
        ("voltage_V,state_of_charge_percent\n12,0\n12,50\n", "more volts for more percent"),
        ("voltage_V,state_of_charge_percent\n12,50\n13,50\n", "one row for each percentage"),
    ],
)
def test_a_wrong_table_is_told_on_one_line(tmp_path, text, told):
    with pytest.raises(LogError) as caught:
        read_table(written(tmp_path, text))
    assert told in str(caught.value)
    assert "table.csv" in str(caught.value)
    assert "\n" not in str(caught.value)


def test_a_missing_file_and_one_of_bytes(tmp_path):
    with pytest.raises(LogError, match=r"nothing.csv: cannot be read \(no such file"):
        read_table(tmp_path / "nothing.csv")
    (tmp_path / "bytes.csv").write_bytes(b"\xff\xfe\x00\x81")
    with pytest.raises(LogError, match="no text in UTF-8"):
        read_table(tmp_path / "bytes.csv")


def test_the_band_turns_a_spread_of_voltage_into_one_of_charge():
    # V = 10 + 4 z with tables 0.2 V below and above: z is off by 0.2 / 4 = 5 points
    ends = np.array([10.0, 14.0])
    table = VoltageTable("t", np.array([0.0, 100.0]), ends, ends - 0.2, ends + 0.2)
    low, high = table.band(np.array([12.0]))
    assert (low[0], high[0]) == (approx(45.0), approx(55.0))
    assert table.points_per_V(12.0) == approx(25.0)


def test_rising_rows_are_asked_for():
    with pytest.raises(ParameterError, match="voltage_V"):
        straight_line(12.0, 12.0, "none")


@pytest.mark.parametrize("word", TABLES)
def test_every_typical_table_rises_and_lies_within_its_spread(word):
    table = typical_table(word, 4)
    assert np.all(np.diff(table.low_V) > 0.0)
    assert np.all(np.diff(table.high_V) > 0.0)
    assert np.all(table.low_V <= table.voltage_V)
    assert np.all(table.voltage_V <= table.high_V)
    assert table.sources


def test_flooded_table_gives_published_voltages():
    # widely reprinted table of a 12 V flooded battery: 12.65, 12.45, 12.24, 12.06, 11.89 V
    table = typical_table("flooded", 6)
    volts = np.array([12.65, 12.45, 12.24, 12.06, 11.89])
    assert table.reading(volts) == approx([100.0, 75.0, 50.0, 25.0, 0.0])


def test_lfp_band_holds_an_independent_full_cell_curve():
    # Safari and Delacourt half cells over the windows of Schimpe et al.: 3.3023 V at 40 %, 3.2518 V
    # at 20 %, 3.3381 V at 80 %
    table = typical_table("LFP", 1)
    low, high = table.band(np.array([3.2518, 3.3023, 3.3381]))
    assert np.all(low <= [20.0, 40.0, 80.0])
    assert np.all(high >= [20.0, 40.0, 80.0])


def test_no_table_for_an_unknown_chemistry():
    with pytest.raises(LogError, match="'sodium-ion'; expected one of: LFP, NMC, AGM"):
        typical_table("sodium-ion", 4)
    assert typical_resistance("sodium-ion", 4, 100.0) is None
    assert line_table("LFP", 4).voltage_V == approx([10.0, 13.6])


def test_typical_resistance_scales_with_label_and_cells():
    one = typical_resistance("LFP", 4, 100.0)
    # published fit, 0.119 ohm Ah a cell: 4.8 mohm for four cells of 100 Ah, and 0.5 to 3 mohm of
    # electronics (from memory)
    assert 0.0048 + 0.0005 <= one <= 0.0048 + 0.003
    assert typical_resistance("LFP", 4, 200.0) == approx(one / 2.0)


def rows_of(count, top_V=100.0):
    """As many even rows up to 100 %."""
    lines = (f"{top_V * n / count},{100.0 * n / count}\n" for n in range(1, count + 1))
    return "voltage_V,state_of_charge_percent\n" + "".join(lines)


@pytest.mark.parametrize(
    ("count", "told"), [(2, None), (1000, None), (1, "1 rows"), (1001, "1001 rows")]
)
def test_from_two_to_a_thousand_rows(tmp_path, count, told):
    file = written(tmp_path, rows_of(count))
    if told is None:
        assert read_table(file).percent.size == count
        return
    with pytest.raises(LogError, match=f"{told} of numbers; expected 2 to 1000"):
        read_table(file)


def test_voltages_up_to_a_thousand(tmp_path):
    assert read_table(written(tmp_path, rows_of(2, 1000.0))).voltage_V.tolist() == [500.0, 1000.0]
    with pytest.raises(
        LogError, match=r"row 3: voltage_V = '1001.0'; expected a voltage above 0 and"
    ):
        read_table(written(tmp_path, rows_of(2, 1001.0)))


def test_order_is_told_with_both_rows(tmp_path):
    text = "voltage_V,state_of_charge_percent\n12.5,40\n12.4,60\n"
    with pytest.raises(LogError) as error:
        read_table(written(tmp_path, text))
    assert "12.5 V at 40 % and 12.4 V at 60 %; expected one row for each percentage, and" in str(
        error.value
    )


def test_the_band_needs_both_sides():
    volts, percent = np.array([12.0, 13.0]), np.array([0.0, 100.0])
    lone = VoltageTable("t", percent, volts, low_V=volts - 0.1)
    assert not lone.has_spread
    assert [float(one[0]) for one in lone.band(np.array([12.5]))] == [50.0, 50.0]
    both = VoltageTable("t", percent, volts, volts - 0.1, volts + 0.2)
    assert both.has_spread
    # 12.5 V: 30 % of the higher table (12.2 to 13.2), 60 % of the lower (11.9 to 12.9)
    assert [float(one[0]) for one in both.band(np.array([12.5]))] == approx([30.0, 60.0])


def test_points_for_a_volt():
    # 100 points a volt; at the upper end half of them, since a gauge stays at full
    table = straight_line(12.0, 13.0, "test")
    assert table.points_per_V(12.5) == approx(100.0)
    assert table.points_per_V(13.0) == approx(50.0)
    bent = VoltageTable("t", np.array([0.0, 50.0, 100.0]), np.array([12.0, 12.015, 13.0]))
    # 10 mV both ways of 12.01 V: 0 at 12.00 V, 50 points at 12.015 V and 5 mV of 985 more
    assert bent.points_per_V(12.01) == approx((50.0 + 50.0 * 5.0 / 985.0) / 0.02)

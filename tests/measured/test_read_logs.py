"""Logs of many forms that all hold the same samples: read as those, to the last digit."""

import numpy as np
import pytest
from measured.log_texts import COUNT, amps, comma, falling, meanings, read, told, volts, write

from bankSim.measured.log import CHARGE_POSITIVE, DISCHARGE_POSITIVE, LogError
from bankSim.measured.read import read_log

V = np.array([round(volts(place), 2) for place in range(COUNT)])
A = np.array([amps(place) for place in range(COUNT)])
# Closed form: trapezoids of 5 A over 29 s, 5.5 A over 1 s and 6 A over 29 s.
GIVEN_AH = (29 * 5.0 + 5.5 + 29 * 6.0) / 3600.0

FORMS = {
    "plain": ("Time [s],Voltage (V),Current (A)\n", lambda i: f"{i},{volts(i):.2f},{amps(i)}"),
    "letters": ("t,U[V],I[A]\n", lambda i: f"{i},{volts(i):.2f},{amps(i)}"),
    "German": ("Zeit;Spannung;Strom\n", lambda i: f"{i};{comma(volts(i))};{comma(amps(i))}"),
    "French": ("temps\tTension\tcourant\n", lambda i: f"{i}\t{comma(volts(i))}\t{comma(amps(i))}"),
    "Spanish": ("Tiempo;Voltaje;Corriente\n", lambda i: f"{i};{volts(i):.2f};{amps(i)}"),
    "pipes": ("s|Volts|Amps\n", lambda i: f"{i}|{volts(i):.2f}|{amps(i)}"),
    "spaces": ("time  voltage  current\n", lambda i: f" {i}   {volts(i):.2f}  {amps(i)}"),
    "quotes": (
        '"Time","Volts","Amps"\n',
        lambda i: f'"{i},0","{comma(volts(i))}","{comma(amps(i))}"',
    ),
    "thousands": (
        "Time,Pack V,I[A]\n",
        lambda i: f'"{1000 + i:,}",{volts(i):.2f},{amps(i)}',
    ),
    "milli": (
        "t[ms],U[mV],I[mA]\n",
        lambda i: f"{1000 * i},{12800 - 10 * i},{1000 * amps(i):.0f}",
    ),
    "glued": ("Elapsed,Volts,Amps\n", lambda i: f"{i} s,{volts(i):.2f}V,{1000 * amps(i):.0f} mA"),
    "minutes": ("Time (min),V,A\n", lambda i: f"{i / 60!r},{volts(i):.2f},{amps(i)}"),
    "hours": ("Time / h,V,A\n", lambda i: f"{i / 3600!r},{volts(i):.2f},{amps(i)}"),
    "elapsed": ("Time,V,A\n", lambda i: f"1:02:{i:02d},{volts(i):.2f},{amps(i)}"),
    "ISO": ("timestamp,V,A\n", lambda i: f"2024-03-04T10:00:{i:02d}Z,{volts(i):.2f},{amps(i)}"),
    "zone": ("when,V,A\n", lambda i: f"2024-03-04 10:00:{i:02d}+02:00,{volts(i):.2f},{amps(i)}"),
    "dots": ("Datum;U;I\n", lambda i: f"13.03.2024 10:00:{i:02d};{comma(volts(i))};{amps(i):.0f}"),
    "month first": (
        "Date,V,A\n",
        lambda i: f"3/14/2024 2:00:{i:02d} PM,{volts(i):.2f},{amps(i)}",
    ),
    "unix ms": ("ts,V,A\n", lambda i: f"{1700000000000 + 1000 * i},{volts(i):.2f},{amps(i)}"),
    "unix": ("unix time,V,A\n", lambda i: f"{1700000000 + i},{volts(i):.2f},{amps(i)}"),
    "two columns": (
        "Date,Time,V,A\n",
        lambda i: f"04/03/2024,10:00:{i:02d},{volts(i):.2f},{amps(i)}",
    ),
    "units below": ("Time,Voltage,Current\ns,V,A\n", lambda i: f"{i},{volts(i):.2f},{amps(i)}"),
    "preamble": (
        "Report\nOperator;Miller\nStart;2024-03-01 10:00\n\nNr;Zeit;Spannung;Strom\n",
        lambda i: f"{i};{i};{volts(i):.2f};{amps(i)}",
    ),
    "comment": ("# time, voltage, current\n", lambda i: f"{i},{volts(i):.2f},{amps(i)}"),
    "trailing": ("Time,V,A,\n", lambda i: f"{i},{volts(i):.2f},{amps(i)},"),
    "no headers": ("", lambda i: f"{i},{volts(i):.2f},{amps(i)}"),
    "others": (
        "Step Time(s),Test Time(s),Current(A),Voltage(V),Power(W),Capacity(Ah),SOC\n",
        lambda i: f"{i % 7},{i},{amps(i)},{volts(i):.2f},60,{i / 100},99",
    ),
}


@pytest.mark.parametrize("form", FORMS)
def test_one_log_in_many_forms(tmp_path, form):
    log = read(tmp_path, falling(*FORMS[form]))
    assert log.voltage_V == pytest.approx(V, abs=1e-12)
    assert log.current_A == pytest.approx(A, abs=1e-12)
    assert log.time_s == pytest.approx(np.arange(COUNT), abs=1e-9)
    assert log.counted_Ah()[-1] == pytest.approx(GIVEN_AH, rel=1e-9)
    assert log.sign == DISCHARGE_POSITIVE
    assert log.rows[0] == log.rows[-1] - COUNT + 1


@pytest.mark.parametrize("ends", ["\r\n", "\r"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "latin-1"])
def test_letters_and_line_ends(tmp_path, encoding, ends):
    text = falling("Zeit;Spannung [V];Strom [A];T [°C]\n", lambda i: f"{i};{comma(volts(i))};-5;20")
    log = read(tmp_path, text.replace("\n", ends), encoding)
    assert log.voltage_V == pytest.approx(V, abs=1e-12)
    assert log.sign == CHARGE_POSITIVE
    assert log.current_A == pytest.approx(5.0)
    assert log.temperature_C == pytest.approx(20.0)


@pytest.mark.parametrize(
    ("content", "why"),
    [
        (b"", "is empty"),
        (b"\n\n\n", "no rows|is empty"),
        (bytes(range(256)) * 20, "no text file"),
        (b"hello\nworld of words\n", "no rows"),
        (b"t,V,A\n0,12.8,5\n", "expected at least 2"),
        (b"x" * 3_000_000, "no rows"),
        (b"t,U,I\n" + b"".join(b"%d,12,8%d,5,0\n" % (i, i) for i in range(9)), "decimal commas"),
        (b"Time,Voltage,Power\n" + b"1,12.8,60\n2,12.7,60\n" * 5, "1 Time, 2 Voltage, 3 Power"),
        (b"Time,Voltage,Power\n" + b"1,12.8,60\n2,12.7,60\n" * 5, "--current"),
        (b"Time,V,A\n" + b"1,12.8,\n2,12.7,\n" * 5, '"A" is empty'),
        (b"Time,V,A\n" + b"7,12.8,5\n7,12.7,6\n" * 5, '"Time" stands still'),
    ],
)
def test_refused_on_one_line(tmp_path, content, why):
    with pytest.raises(LogError, match=why) as caught:
        read(tmp_path, content)
    assert "\n" not in str(caught.value)
    assert "log.csv" in str(caught.value)


def test_folder_and_nothing_are_refused(tmp_path):
    with pytest.raises(LogError, match="folder"):
        read_log(tmp_path)
    with pytest.raises(LogError, match="no such file"):
        read_log(tmp_path / "none.csv")


def test_asked_columns_win(tmp_path):
    text = falling(
        "Time,V load,V pack,A,Cell 1,Cell 2\n",
        lambda i: f"{i},{volts(i) - 1:.2f},{volts(i):.2f},{amps(i)},3.{i + 10},3.2",
    )
    assert meanings(read(tmp_path, text))["voltage"] == "V pack"
    log = read(tmp_path, text, voltage="v LOAD", cells=("6", "cell 1"))
    assert meanings(log)["voltage"] == "V load"
    assert meanings(log)["cell 1"] == "Cell 2"
    assert [use.asked for use in log.uses] == [False, True, False, False, True, True]
    with pytest.raises(LogError, match="several columns fit"):
        read(tmp_path, text, voltage="v")
    with pytest.raises(LogError, match=r"no such column; expected one of: 1 Time"):
        read(tmp_path, text, current="watts")


def test_of_very_many_columns_some_are_named_and_the_rest_counted(tmp_path):
    names = [f"a long heading that says little {number}" for number in range(1, 61)]
    file = tmp_path / "wide.csv"
    file.write_text(f"{','.join(names)}\n{','.join(['1'] * 60)}\n{','.join(['2'] * 60)}\n")
    with pytest.raises(LogError, match=r"among: 1 a long .* 20 a long .*, 4\d more; say") as caught:
        read_log(file)
    assert len(str(caught.value)) < 1000 + len(str(file))


def test_battery_is_the_sum_of_its_cells(tmp_path):
    row = "{0},3.2,3.{0},3.3,{1:.3f},{2:.2f},-5"
    text = falling(
        "t,V1,V2,V3,V4,V5,I\n",
        lambda i: row.format(i + 10, 6.5 + float(f"3.{i + 10}"), 14.1 - 0.001 * i),
    )
    log = read(tmp_path, text.replace("V4", "Total V").replace("V5", "Supply V"))
    assert meanings(log)["voltage"] == "Total V"
    assert log.cells_V.shape == (COUNT, 3)
    assert log.voltage_V == pytest.approx(log.cells_V.sum(axis=1))


def test_cells_alone_are_summed_and_it_is_said(tmp_path):
    log = read(
        tmp_path, falling("t,C1,C2,A\n", lambda i: f"{i},3.3,{3.3 - 0.01 * i:.2f},{amps(i)}")
    )
    assert log.voltage_V[1] == pytest.approx(6.59)
    assert "sum of 2 cells" in told(log)


def test_ties_are_told(tmp_path):
    text = falling("t,B1 V,B2 V,B1 A,B2 A\n", lambda i: f"{i},{volts(i):.2f},12.0,{amps(i)},4")
    log = read(tmp_path, text)
    assert '"B1 V" and "B2 V"' in told(log)
    assert '"B1 A" and "B2 A"' in told(log)
    bank = read(tmp_path, text.replace("B1 A", "Bank A"))
    assert meanings(bank)["current"] == "Bank A"


def test_odd_rows_are_left_out_and_named(tmp_path):
    lines = falling("Time,Volt,Amp\n", lambda i: f"{i},{volts(i):.2f},{amps(i)}").splitlines()
    lines[5:5] = [
        "Time,Volt,Amp",
        "# pause",
        "",
        "7,oops,5",
        "8,NaN,5",
        "9,12.1,5,6,7",
        "1" * 200_000,
    ]
    log = read(tmp_path, "\n".join(lines) + "\n")
    assert log.count == COUNT
    assert log.current_A == pytest.approx(A)
    for text in (
        "Row 6: the headers once more",
        "Row 7: a comment",
        "Row 8: empty",
        'Row 9: no number in column "Volt" (such as "oops")',
        "2 rows (9, 10): no readable voltage; left out",
        "Row 11: more than the 3 fields",
        "Row 12: far too long",
    ):
        assert text in told(log)
    assert 12 not in log.rows
    assert log.rows[4] == 13


def test_other_columns_are_kept_when_asked_for(tmp_path):
    text = falling("t,V,A,W,W,note\n", lambda i: f"{i},{volts(i):.2f},{amps(i)},{i},{2 * i},x")
    assert not read(tmp_path, text).others
    others = read(tmp_path, text, keep_others=True).others
    assert list(others) == ["W", "W (2)"]
    assert others["W (2)"][7] == 14.0


def test_temperatures_in_degrees_celsius(tmp_path):
    for unit, value in (("F", 77), ("K", 298.15), ("°C", 25)):
        log = read(
            tmp_path,
            falling(f"t,V,A,Temp ({unit})\n", lambda i: f"{i},{volts(i):.2f},5,{value}"),  # noqa: B023
        )
        assert log.temperature_C == pytest.approx(25.0)


def test_portions_join_seamlessly(tmp_path, monkeypatch):
    from bankSim.measured import source

    text = falling("t;V;A\n", lambda i: f"{i};{comma(volts(i))};{'x' if i == 40 else amps(i)}")
    whole = read(tmp_path, text)
    monkeypatch.setattr(source, "PORTION", 37)
    parts = read_log(write(tmp_path, text))
    assert np.array_equal(whole.voltage_V, parts.voltage_V)
    assert np.array_equal(whole.rows, parts.rows)
    assert told(whole) == told(parts)


def test_a_column_that_is_the_sum_is_the_battery(tmp_path):
    text = falling(
        "Time,CellA,CellB,Total,Current,Ah\n",
        lambda i: f"{i},3.3,{3.3 - 0.01 * i:.2f},{6.6 - 0.01 * i:.2f},{amps(i)},{i}",
    )
    found = meanings(read(tmp_path, text))
    assert (found["voltage"], found["cell 1"], found["cell 2"]) == ("Total", "CellA", "CellB")


def test_thousands_of_millivolts(tmp_path):
    text = falling("Zeit;Spannung mV;Strom mA\n", lambda i: f"{i};12.{800 - i};-5.{100 + i}")
    log = read(tmp_path, text)
    assert log.voltage_V[:2] == pytest.approx([12.8, 12.799])
    assert log.current_A[:2] == pytest.approx([5.1, 5.101])
    assert "between thousands" in told(log)
    commas = read(tmp_path, text.replace(".", ",").replace("mV", "V").replace("mA", "A"))
    assert commas.voltage_V[:2] == pytest.approx([12.8, 12.799])


def test_what_stands_above_the_table_is_told(tmp_path):
    log = read(tmp_path, "sep=;\n" + falling("s;V;A\n", lambda i: f"{i};{volts(i):.2f};{amps(i)}"))
    assert "Row 1: above the table" in told(log)
    mixed = falling("s,V,A\n", lambda i: f"{i},{volts(i):.2f},5", 30)
    mixed += falling("", lambda i: f"{i + 30};{comma(volts(i + 30))};{amps(30)}", 30)
    assert "31 rows (1, 2, 3" in told(read(tmp_path, mixed))


def test_no_time_header_is_guessed_and_told(tmp_path):
    log = read(tmp_path, falling("x,V,A\n", lambda i: f"{i},{volts(i):.2f},{amps(i)}"))
    assert meanings(log)["time"] == "x"
    assert "column x was taken as time; --time" in told(log)


def test_bytes_of_zero_are_told(tmp_path):
    text = falling("s,V,A\n", lambda i: ("\0" * 50 if i == 8 else "") + f"{i},{volts(i):.2f},5")
    log = read(tmp_path, text)
    assert log.count == COUNT
    assert "Row 10: bytes of value 0" in told(log)


@pytest.mark.parametrize("encoding", ["utf-8", "utf-16", "utf-8-sig"])
@pytest.mark.parametrize("tail", ["", ";", ",,"])
@pytest.mark.parametrize(
    ("head", "row"),
    [('"Time [s];V;A"', lambda i: f'"{i};{volts(i):.2f};{amps(i)}"'),
     ('"Zeit;Spannung;Strom"', lambda i: f'"{i};{comma(volts(i))};{comma(amps(i))}"'),
     ("Time [s],V,A", lambda i: f'"{i},{volts(i):.2f},{amps(i)}"'),
     ('"Time [s],""V"",A"', lambda i: f'"{i},""{volts(i):.2f}"",{amps(i)}"')],
)  # fmt: skip
def test_lines_quoted_as_a_whole(tmp_path, encoding, tail, head, row):
    text = falling(f"{head}{tail}\n", lambda i: row(i) + tail)
    log = read(tmp_path, text, encoding=encoding)
    assert log.voltage_V == pytest.approx(V, abs=1e-12)
    assert log.current_A == pytest.approx(A, abs=1e-12)
    assert log.rows[0] == 2
    assert "in quotes as a whole" in told(log)


def test_fields_quoted_one_by_one_are_no_whole_lines(tmp_path):
    log = read(tmp_path, falling('"Time [s]","V","A"\n', lambda i: f'"{i}","{V[i]}","{A[i]}"'))
    assert log.voltage_V == pytest.approx(V, abs=1e-12)
    assert "as a whole" not in told(log)


def test_gaps_in_the_first_rows_hide_no_headers(tmp_path):
    text = "Time [s],V,A\n0,,\n1,,-\n" + "".join(f"{i},{V[i]},{A[i]}\n" for i in range(2, 60))
    log = read(tmp_path, text)
    assert meanings(log) == {"time": "Time [s]", "voltage": "V", "current": "A"}
    assert log.count == 58
    assert "2 rows (2, 3): no readable voltage" in told(log)
    assert "Guessed" not in told(log)


def test_current_without_unit_beside_millivolts(tmp_path):
    log = read(tmp_path, falling("t;U;I\n", lambda i: f"{i};{1000 * V[i]:.0f};{1000 * A[i]:.0f}"))
    assert log.voltage_V == pytest.approx(V)
    assert log.current_A == pytest.approx(A)
    assert "beside mV it was taken as mA" in told(log)
    assert {use.unit for use in log.uses} == {"s", "mV", "mA"}

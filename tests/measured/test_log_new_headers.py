"""Files put together from logs of different form, all of the same samples."""

import numpy as np
import pytest
from measured.log_texts import COUNT, amps, comma, falling, read, told, volts

V = np.array([round(volts(place), 2) for place in range(COUNT)])
A = np.array([amps(place) for place in range(COUNT)])


def plain(i):
    return f"{i},{volts(i):.2f},{amps(i)}"


HEAD = "Time [s],Voltage [V],Current [A]\n"
SECOND = {
    "order": ("Current [A],Time [s],Voltage [V]\n", lambda i: f"{amps(i)},{i},{volts(i):.2f}"),
    "separator": (HEAD.replace(",", ";"), lambda i: plain(i).replace(",", ";")),
    "tabs": (HEAD.replace(",", "\t"), lambda i: plain(i).replace(",", "\t")),
    "commas": (HEAD.replace(",", ";"), lambda i: f"{i};{comma(volts(i))};{comma(amps(i))}"),
    "both": ("Voltage [V];Current [A];Time [s]\n",
             lambda i: f"{comma(volts(i))};{comma(amps(i))};{i}"),
    "one more": ("Time [s],Flags,Voltage [V],Current [A]\n",
                 lambda i: f"{i},7,{volts(i):.2f},{amps(i)}"),
    "units": ("Time [ms],Voltage [mV],Current [A]\n",
              lambda i: f"{1000 * i},{1000 * volts(i):.0f},{amps(i)}"),
    "all": ("Current [mA];Voltage [V];Time [min]\n",
            lambda i: f"{comma(1000 * amps(i))};{comma(volts(i))};{comma(i / 60, 12)}"),
    "quotes": ('"Current [A]","Time [s]","Voltage [V]"\n',
               lambda i: f'"{amps(i)}","{i}","{volts(i):.2f}"'),
}  # fmt: skip


def joined(head, row, at, back):
    """The first form up to `at`, then another one, then, at `back`, the first again."""
    text = falling(HEAD, plain, at) + head
    text += "".join(row(i) + "\n" for i in range(at, back))
    return (
        text + (HEAD if back < COUNT else "") + "".join(plain(i) + "\n" for i in range(back, COUNT))
    )


@pytest.mark.parametrize("form", SECOND)
@pytest.mark.parametrize(("at", "back"), [(30, COUNT), (10, COUNT), (20, 40)])
def test_rows_below_new_headers(tmp_path, form, at, back):
    log = read(tmp_path, joined(*SECOND[form], at, back))
    assert log.time_s == pytest.approx(np.arange(COUNT), abs=1e-9)
    assert log.voltage_V == pytest.approx(V, abs=1e-12)
    assert log.current_A == pytest.approx(A, abs=1e-12)
    assert f"Row {at + 2}: the headers once more, " in told(log)
    assert "read by these" in told(log)
    assert log.rows[at] == at + 3


def test_new_headers_beyond_the_first_lines(tmp_path):
    count, at = 6000, 5000

    def row(i):
        return f"{i},{13 - i / 6000:.4f},5"

    def other(i):
        return f"5;{13 - i / 6000:.4f};{i}".replace(".", ",")

    text = falling(HEAD, row, at) + "Current [A];Voltage [V];Time [s]\n"
    log = read(tmp_path, text + "".join(other(i) + "\n" for i in range(at, count)))
    assert log.time_s == pytest.approx(np.arange(count))
    assert log.voltage_V == pytest.approx(13 - np.arange(count) / 6000, abs=6e-5)


def test_dates_below_new_headers_stay(tmp_path):
    def stamp(i):
        return f"13.03.2024 10:00:{i:02d}"

    text = falling("Date,V,A\n", lambda i: f"{stamp(i)},{volts(i):.2f},{amps(i)}", 30)
    text += "Date;A;V\n" + "".join(
        f"{stamp(i)};{comma(amps(i))};{comma(volts(i))}\n" for i in range(30, COUNT)
    )
    log = read(tmp_path, text)
    assert log.time_s == pytest.approx(np.arange(COUNT))
    assert log.voltage_V == pytest.approx(V, abs=1e-12)


def test_the_same_headers_again_are_only_told(tmp_path):
    log = read(tmp_path, joined(HEAD, plain, 30, COUNT))
    assert log.voltage_V == pytest.approx(V, abs=1e-12)
    assert "Row 32: the headers once more, left out." in told(log)
    assert "read by these" not in told(log)


def test_headers_with_a_unit_of_one(tmp_path):
    log = read(tmp_path, falling("Time [s],V,A,gain 1)\n", lambda i: f"{plain(i)},1"))
    assert log.voltage_V == pytest.approx(V, abs=1e-12)


@pytest.mark.parametrize("first", ["degC", "degF", "K"])
@pytest.mark.parametrize("then", ["degC", "degF", "K"])
def test_a_temperature_in_another_unit(tmp_path, first, then):
    # 25 degC are 77 degF and 298.15 K; -40 is both
    warm, cold = {"degC": 25, "degF": 77, "K": 298.15}, {"degC": -40, "degF": -40, "K": 233.15}
    text = falling(f"Time [s],V,A,Temp [{first}]\n", lambda i: f"{plain(i)},{warm[first]}", 30)
    text += f"Time [s],V,A,Temp [{then}]\n" + "".join(
        f"{plain(i)},{(warm if i < 50 else cold)[then]}\n" for i in range(30, COUNT)
    )
    log = read(tmp_path, text)
    expected = np.where(np.arange(COUNT) < 50, 25.0, -40.0)
    assert log.temperature_C == pytest.approx(expected, abs=1e-9)
    assert log.voltage_V == pytest.approx(V, abs=1e-12)
    assert ("in another order or unit" in told(log)) is (first != then)

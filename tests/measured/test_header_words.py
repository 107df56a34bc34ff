"""Headers of banks and of their single batteries: which is whose."""

import pytest
from measured.log_texts import amps, falling, read, volts

from bankSim.errors import SimulationError
from bankSim.measured.header_words import CURRENT, VOLTAGE, means, read_header
from bankSim.measured.log import Asked
from bankSim.measured.read import read_log


def log_of(tmp_path, headers, rows, asked=Asked()):
    """Read a file of these headers and numbers."""
    file = tmp_path / "bank.csv"
    mark = ";"
    lines = [mark.join(headers), *(mark.join(f"{x:.3f}" for x in row) for row in rows)]
    file.write_text("\n".join(lines) + "\n")
    return read_log(file, asked)


# Two batteries give 12 and 8 A for a minute: the bank gives 20 A.
ROWS = [(t, 13.0 - 0.01 * t, 20.0, 12.0, 8.0) for t in range(60)]


@pytest.mark.parametrize(
    "headers",
    [
        ("Zeit", "Bank Spannung", "Bank Strom", "Strom pack A", "Strom pack B"),
        ("Time", "Bank voltage", "Bank current", "Current pack A", "Current pack B"),
        ("Zeit", "Spannung", "Strom", "Strom pack A", "Strom pack B"),
        ("Time", "Bus V", "Total A", "pack A A", "pack B A"),
        ("Time", "Voltage", "Current", "pack A current", "pack B current"),
        ("Time", "Voltage", "Current", "Battery 1 current", "Battery 2 current"),
        ("Zeit", "Spannung", "Strom gesamt", "Strom Akku C", "Strom Akku D"),
        ("Time", "Voltage [V]", "Current [A]", "String B [A]", "String C [A]"),
        ("Temps", "Tension", "Courant", "Courant batterie A", "Courant batterie B"),
    ],
    ids=lambda headers: headers[2] + ", " + headers[3],
)
@pytest.mark.parametrize("order", [(0, 1, 2, 3, 4), (0, 1, 3, 4, 2), (0, 3, 4, 2, 1)])
def test_the_bank_is_not_one_of_its_batteries(tmp_path, headers, order):
    rows = [[row[place] for place in order] for row in ROWS]
    log = log_of(tmp_path, [headers[place] for place in order], rows)
    taken = {use.meaning: use.column for use in log.uses}
    assert (taken["voltage"], taken["current"]) == headers[1:3]
    assert abs(log.current_A).max() == pytest.approx(20.0)


@pytest.mark.parametrize("name", ["Strom Akku A", "pack A current", "Battery 1 current"])
def test_a_battery_alone_in_its_log_is_taken(tmp_path, name):
    log = log_of(tmp_path, ("Time", "Voltage", name), [row[:3] for row in ROWS])
    assert abs(log.current_A).max() == pytest.approx(20.0)


@pytest.mark.parametrize(
    ("text", "unit", "index", "meaning"),
    [
        ("Battery A", "A", -1, CURRENT),  # amperes: nothing else says what it is
        ("Pack V", "V", -1, VOLTAGE),
        ("Pack I", "", -1, CURRENT),
        ("Battery current A", "A", -1, CURRENT),
        ("Current battery A", "", 1, CURRENT),
        ("pack B A", "A", 2, CURRENT),
        ("Akku B (A)", "A", 2, CURRENT),
        ("Spannung pack D", "", 4, VOLTAGE),
    ],
)
def test_a_letter_is_a_name_or_a_unit(text, unit, index, meaning):
    header = read_header(text)
    assert (header.unit, header.index, list(header.scores)) == (unit, index, [meaning])


def test_words_of_other_languages():
    assert means(["strom", "old"], CURRENT)
    assert means(["zellspannung"], VOLTAGE)
    assert not means(["leistung"], CURRENT)


@pytest.mark.parametrize(
    ("asked", "told"),
    [
        (
            Asked(current="Power [W]"),
            '--current = "Power [W]" is in W; expected a column in A',
        ),
        (Asked(voltage="Charge [Ah]"), "is in Ah; expected a column in V or mV"),
        (Asked(temperature="SOC [%]"), "is in %; expected a column in degC, degF or K"),
        (Asked(time="Power [W]"), "is in W; expected a column in s, min or h"),
    ],
)
def test_watts_are_no_amperes_whoever_asks(tmp_path, asked, told):
    headers = ("Time", "Voltage", "Power [W]", "Charge [Ah]", "SOC [%]")
    with pytest.raises(SimulationError) as error:
        log_of(tmp_path, headers, ROWS, asked)
    assert told in str(error.value)


@pytest.mark.parametrize("mean", ["avg", "mean", "average", "Mittel"])
def test_of_least_most_and_mean_the_mean_is_taken(tmp_path, mean):
    def row(i):
        return f"{60 * i},{volts(i):.2f},{amps(i) - 1},{amps(i) + 1},{amps(i)}"

    head = f"Time (s),Voltage (V),Current min (A),Current max (A),Current {mean} (A)\n"
    log = read(tmp_path, falling(head, row))
    assert log.current_A.tolist() == [amps(i) for i in range(60)]
    assert log.findings == ()
    # a plain one goes first
    plain = read(tmp_path, falling(head.replace("Current max", "Current"), row))
    assert plain.current_A.tolist() == [amps(i) + 1.0 for i in range(60)]

"""Rows of several batteries in turn are refused; states of a tester are not taken for batteries."""

import pytest
from measured.log_texts import amps, falling, read, volts

from bankSim.cli.main import main
from bankSim.measured.log import LogError

COUNT = 120


def mixed(tmp_path, header, words, *, count=COUNT, **asked):
    def row(i):
        return f"{10 * (i // 2)},{volts(i):.2f},{amps(i):.1f},{words(i)}"

    return read(tmp_path, falling(f"time_s,voltage_V,current_A,{header}\n", row, count), **asked)


@pytest.mark.parametrize(
    ("header", "words"),
    [("battery", "AB"), ("Battery", ("house", "spare")), ("device_id", "12"), ("Kanal", "12"),
     ("Gerät", ("links", "rechts")), ("unit", "XYZ"), ("name", ("C", "D")), ("channel", "12")],
)  # fmt: skip
def test_rows_in_turn_are_refused(tmp_path, header, words):
    with pytest.raises(LogError, match=r"in turn.*one file per battery") as refused:
        mixed(tmp_path, header, lambda i: words[i % len(words)])
    text = str(refused.value)
    assert "log.csv" in text
    assert f'"{header}"' in text
    assert all(f'"{word}"' in text for word in words)
    assert "\n" not in text


def test_unequal_turns_of_words(tmp_path):
    # One battery is read every row, the other every third.
    with pytest.raises(LogError, match="several batteries"):
        mixed(tmp_path, "battery", lambda i: "B" if i % 3 == 2 else "A")


@pytest.mark.parametrize(
    ("header", "words"),
    [("state", lambda i: ("CC", "Rest")[i // 30 % 2]),
     ("mode", lambda i: ("pulse", "rest")[i % 2]),
     ("step name", lambda i: ("pulse", "rest")[i % 2]),
     ("battery state", lambda i: ("charge", "discharge")[i // 10 % 2]),
     ("name", lambda i: ("charge", "discharge")[i % 2]),
     ("battery", lambda i: "A"),
     ("battery", lambda i: ("A", "B")[i // 60]),
     ("battery", lambda i: 99 - i // 40 - i * 7 % 3 // 2),
     ("Battery SoC (%)", lambda i: 90 + i % 2),
     ("id", lambda i: i),
     ("unit", lambda i: ("on", "off")[i // 20 % 2]),
     ("battery temp", lambda i: (21, 22)[i * 5 % 7 // 4])],
)  # fmt: skip
def test_states_and_readings_go_on(tmp_path, header, words):
    assert mixed(tmp_path, header, words).count == COUNT


def test_exit_code_and_one_line(tmp_path, capsys):
    file = tmp_path / "two.csv"
    head = "time_s,voltage_V,current_A,battery\n"
    text = falling(head, lambda i: f"{i},{volts(i):.2f},{amps(i)},{'AB'[i % 2]}", COUNT)
    file.write_text(text)
    for command in (["log"], ["test", "--rated-Ah", "100"]):
        assert main([*command, str(file)]) == 2
        told = capsys.readouterr()
        assert (told.out, told.err.count("\n")) == ("", 1)
        assert "two.csv" in told.err
        assert '"A" and "B"' in told.err

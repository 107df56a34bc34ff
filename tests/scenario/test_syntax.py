"""Files that are not TOML, or not files: one line each."""

import os

import pytest
from scenario_texts import faults_of

from bankSim.errors import ScenarioError
from bankSim.scenario.read import read_scenario


@pytest.mark.parametrize(
    ("text", "start", "hint"),
    [
        ("a = 1\nx = 120 Ah", "2:9: not valid TOML", "its unit is the end of the key"),
        ("x = 1,5", "1:6: not valid TOML", "a decimal point, not a comma"),
        ("x = 7:30", "1:6: not valid TOML", 'in quotes: "18:00"'),
        ("x = .5\ny = 1", "1:5: not valid TOML", "both sides of the decimal point"),
        ("x = True", "1:5: not valid TOML", "small letters"),
        ("x = 007", "1:6: not valid TOML", "without leading zeros"),
        ('x = "C:\\data"', "1:", "with / instead of"),
        ("x = LFP", "1:5: not valid TOML", "words in quotes"),
        ("x = \ny = 1", "1:5: not valid TOML", "a value is missing"),
        ("x\ny = 1", "1:2: not valid TOML", "expected key = value"),
        ("x = 1\nx = 2\n", "2:6: given twice", "cannot overwrite"),
        ("[a]\n[a]\n", "2:3: given twice", "cannot declare"),
        ("[battery]\n[battery]\n", "2:9: given twice", "write [[battery]], with double brackets"),
        ("[[battery]]\n[battery]\n", "2:9: given twice", "write [[battery]], with double br"),
        ("[battery]\n[[battery]]\n", "2:10: given twice", "write [[battery]], with double br"),
        (
            "[[battery]]\n[battery.cells]\n[battery.cells]\n",
            "3:15: given twice",
            "write [[battery.cells]], with double brackets",
        ),
        ("x = “LFP”", "1:5: not valid TOML", "straight quotes"),
        ("x = [{ from = ‘18:00’ }]", "1:15: not valid TOML", "straight quotes"),
        ('x = "LFP”\ny = 1', "1:10: not valid TOML", "straight quotes"),
        ("“x” = 1", "1:1: not valid TOML", "straight quotes"),
        ("x = '''abc", "1: not valid TOML", "a closing quote is missing"),
        ('a = 1\nx = "LFP\ny = 1', "2:9: not valid TOML", "a closing quote is missing"),
        ('x = "LFP', "1: not valid TOML", "a closing quote is missing"),
        ("x = 'LFP\ny = 'b'", "1:9: not valid TOML", "a closing quote is missing"),
        ("a = 1\nx = 'LFP\ny = 1\n", "2: not valid TOML", "a closing quote is missing"),
        ("x = 'LFP", "1: not valid TOML", "a closing quote is missing"),
        ("x = [[\n", "1: not valid TOML", ""),
    ],
)
def test_syntax_faults_name_line_and_column(text, start, hint, tmp_path):
    (line,) = faults_of(text, tmp_path)
    assert line.startswith(f"bank.toml:{start}")
    assert hint in line


def test_curly_quotes_elsewhere_on_the_line_are_not_blamed(tmp_path):
    (line,) = faults_of("x = 120 Ah # the “old” one", tmp_path)
    assert "straight" not in line
    assert "x is not a known key" in faults_of('x = "the “old” one"', tmp_path)[0]


@pytest.mark.parametrize("text", ["", "\n\n", "# only a comment\n"])
def test_empty_text(text, tmp_path):
    assert faults_of(text, tmp_path) == ["bank.toml: empty; expected at least one [[battery]]"]


@pytest.mark.parametrize(
    "text", ["a = " + "[" * 5000, "a = " + "[" * 200 + "]" * 200, "a = " + "9" * 5000]
)
def test_monstrous_values(text, tmp_path):
    assert faults_of(text, tmp_path) == [
        "bank.toml: a value is nested too deep or a number is too long"
    ]


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"\xff\xfex\0=\0", "saved as UTF-16"),
        (b"a = 1\nb = '\xe9'", ":2: a letter is not UTF-8; expected UTF-8 text: save it as UTF-8"),
        (b"\x7fELF\0\1\2", "not a text file"),
        (b"# x\n" * 300_000, "larger than 1 MB"),
    ],
)
def test_wrong_files(data, words, tmp_path):
    file = tmp_path / "bank.toml"
    file.write_bytes(data)
    with pytest.raises(ScenarioError) as caught:
        read_scenario(file)
    (line,) = caught.value.faults
    assert line.startswith(str(file))
    assert words in line


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("missing.toml", "no such file"),
        ("", "not a file"),
        ("x" * 300, "cannot be read (file name too long)"),
        ("a\nb", "a?b: no such file"),
    ],
)
def test_files_that_cannot_be_read(name, words, tmp_path):
    with pytest.raises(ScenarioError) as caught:
        read_scenario(tmp_path / name)
    (line,) = caught.value.faults
    assert words in line
    assert line.isprintable()


def test_a_pipe_is_not_waited_for(tmp_path):
    os.mkfifo(tmp_path / "pipe.toml")
    with pytest.raises(ScenarioError, match="not a file"):
        read_scenario(tmp_path / "pipe.toml")


LOGS = {
    "plain": "time_s,voltage_V,current_A\n" + "".join(f"{i},12.{i},5.0\n" for i in range(9)),
    "semicolons": "Clock;Volts\n" + "".join(f"14.03.2026 09:0{i};12,{i}\n" for i in range(9)),
    "tabs": "# made\n" + "".join(f"{i}\t12.{i}\t-5\n" for i in range(99)),
    "bare": "0,12.8\n1,12.7\n",
}


@pytest.mark.parametrize("name", LOGS)
def test_a_log_in_place_of_a_scenario_is_named_as_one(name, tmp_path):
    file = tmp_path / "log.csv"
    file.write_text(LOGS[name])
    with pytest.raises(ScenarioError) as caught:
        read_scenario(file)
    (line,) = caught.value.faults
    assert line.startswith(f"{file}:")
    assert line.endswith(
        f"this looks like a measured log, not a scenario: banksim log {file} reads it"
    )


@pytest.mark.parametrize("text", ["x = 1,5\ny = 2,5\nz = 1,2,3", "1\n2\n3", "a, b\nc, d\n"])
def test_other_slips_are_no_logs(text, tmp_path):
    assert "measured log" not in faults_of(text, tmp_path)[0]

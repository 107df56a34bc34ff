import os
import subprocess
import sys
from pathlib import Path

import pytest

from bankSim.cli import guard
from bankSim.cli.main import main
from bankSim.cli.wrong_words import TYPED, told_field
from bankSim.errors import ParameterError, ScenarioError, SimulationError

ROOT = Path(__file__).parents[2]
HEAVY = ("numpy", "matplotlib", "pandas", "numba", "scipy", "rich", "PySpice")


def imported_by(work, modules):
    """Return which of some modules a new process has imported after its work, or its error."""
    code = f"import sys\n{work}\nsys.exit(' '.join(sorted(set({modules!r}) & set(sys.modules))))"
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=False
    )
    return done.stderr.strip()


def test_help_names_every_command(capsys):
    assert main(["--help"]) == 0
    out = capsys.readouterr().out
    assert all(word in out for word in ("run", "new", "netlist", "crosscheck", "schema"))
    assert "Exit codes: 0 done" in out


def test_help_is_quick_because_nothing_heavy_is_imported():
    work = "from bankSim.cli.main import main\nmain(['run', '--help'])"
    assert imported_by(work, HEAVY) == ""


def test_importing_the_package_imports_nothing_heavy():
    heavy = (*HEAVY, "typer", "pydantic", "jinja2", "pyarrow", "streamlit", "plotly")
    assert imported_by("import bankSim", heavy) == ""


@pytest.mark.parametrize("command", ["run", "report", "netlist"])
def test_a_faulty_file_is_told_before_the_compiler_is_loaded(tmp_path, command):
    (tmp_path / "bad.toml").write_text("[simulation]\nduration_h = -1\n")
    words = [command, str(tmp_path / "bad.toml")]
    heavy = ("numba", "scipy", "matplotlib", "pandas")
    work = f"from bankSim.cli.main import main\nassert main({words!r}) == 2"
    *faults, loaded = imported_by(f"{work}\nsys.stderr.write('loaded: ')", heavy).splitlines()
    assert any("simulation.duration_h = -1" in fault for fault in faults)
    assert loaded.strip() == "loaded:"


def test_version(capsys):
    assert main(["--version"]) == 0
    assert capsys.readouterr().out.startswith("banksim ")


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["test", "x.csv", "--rated-Ah", "120,0"],
         "--rated-Ah = '120,0'; expected a number; write a decimal point: 120.0 ("),
        (["test", "x.csv", "--rated-Ah=viel"], "--rated-Ah = 'viel'; expected a number ("),
        (["study", "x.toml", "--draws", "viele"],
         "--draws = 'viele'; expected a whole number from 1 to 10,000,000 ("),
        (["study", "x.toml", "--draws", "0"], "--draws = '0'; expected a whole number from 1 to"),
        (["study", "x.toml", "--draws", "1,000"], "to 10,000,000 without a comma, such as 1000 ("),
        (["study", "x.toml", "--precision-cases", "-1"],
         "--precision-cases = '-1'; expected a number, 0 or more ("),
        (["snapshot", "2.4", "2.5", "--rated-Ah", "nan"],
         "--rated-Ah = 'nan'; expected a number from 0.05 to 100,000 ("),
        (["plan", "--load-A", "2,5"], "write a decimal point: 2.5 ("),
        (["plan", "--load-W", "1,000"], "write a decimal point: 1.000, or 1000 ("),
        (["run", "x.toml", "--relative-tolerance", "9" * 99 + "x"], "...'; expected a number ("),
        (["gauge", "x", "--cells-in-series", "4,0"], "expected a whole number without a comma"),
        (["plan", "--rated-Ah", "100", "--load-A"], "requires an argument"),
    ],
)  # fmt: skip
def test_a_wrong_number_names_option_value_and_what_is_allowed(capsys, words, said):
    assert main(words) == 2
    told = capsys.readouterr().err
    assert said in told
    assert told.count("\n") == 1
    for jargon in ("Input", "parse", "string", "integer"):
        assert jargon not in told


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--rated-Ah", "0"], "--rated-Ah = 0.0; expected more than 0"),
        (["--rated-Ah=inf"], "--rated-Ah = inf; expected more than 0"),
        (["--temperature-C", "200"], "--temperature-C = 200.0; expected -60 to 90"),
        (["--shunt-offset-A", "-1"], "--shunt-offset-A = -1.0; expected 0 or more"),
        (["--correct", "rate", "--peukert", "9"], "--peukert = 9.0; expected 1 to 2"),
    ],
)
def test_a_number_out_of_range_is_told_by_its_option(capsys, words, said):
    log = ROOT / "scenarios/logs/synthetic-newer-repeat-1.csv"
    assert main(["test", str(log), *words]) == 2
    assert capsys.readouterr().err == f"{said}\n"


def test_a_field_that_was_not_typed_keeps_its_name():
    TYPED.set(("test", "x.csv"))
    assert told_field(ParameterError("rated_Ah", 0.0, "more than 0")).startswith("rated_Ah = 0.0")


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["fly"], "No such command 'fly'"),
        (["run"], "Missing argument"),
        (["run", "x.toml", "--speed", "9"], "No such option"),
        (["run", "x.toml", "--relative-tolerance", "tight"], "--relative-tolerance"),
    ],
)
def test_wrong_words_give_2(capsys, words, said):
    assert main(words) == 2
    assert said in capsys.readouterr().err


def test_python_dash_m_is_the_same_program():
    done = subprocess.run(
        [sys.executable, "-m", "bankSim", "--version"],
        cwd=ROOT, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0
    assert done.stdout.startswith("banksim ")


def test_faults_become_lines_and_2(capsys):
    def wrong():
        raise ScenarioError(["a.toml: one", "a.toml: two"])

    assert guard.guarded(wrong) == 2
    assert capsys.readouterr().err == "a.toml: one\na.toml: two\n"


def test_interrupt_gives_130_and_one_line(capsys):
    def stopped():
        raise KeyboardInterrupt

    assert guard.guarded(stopped) == 130
    assert capsys.readouterr().err == "Stopped.\n"


def test_a_bug_keeps_its_traceback():
    def bug():
        raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        guard.guarded(bug)
    assert not issubclass(ZeroDivisionError, SimulationError)


def test_a_reader_who_leaves_early_is_no_error():
    code = (
        "import sys\nfrom bankSim.cli.guard import guarded\n"
        "def long():\n    print('x' * 1_000_000)\n    return 0\n"
        "sys.exit(guarded(long))"
    )
    writer = subprocess.Popen(
        [sys.executable, "-c", code], cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.PIPE
    )
    writer.stdout.read(10)
    writer.stdout.close()
    assert (writer.stderr.read(), writer.wait()) == (b"", 0)


def test_a_terminal_without_the_letters_gets_question_marks():
    code = (
        "import sys\nfrom bankSim.cli.guard import safe_streams\n"
        "safe_streams()\nprint('h\\u00fctte \\u6c34')"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, capture_output=True, check=True,
        env={**os.environ, "PYTHONIOENCODING": "ascii"},
    )  # fmt: skip
    assert done.stdout.strip() == b"h?tte ?"

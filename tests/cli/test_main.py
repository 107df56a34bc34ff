import os
import subprocess
import sys
from pathlib import Path

import pytest

from bankSim.cli import guard
from bankSim.cli.main import main
from bankSim.errors import ScenarioError, SimulationError

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


def test_version(capsys):
    assert main(["--version"]) == 0
    assert capsys.readouterr().out.startswith("banksim ")


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

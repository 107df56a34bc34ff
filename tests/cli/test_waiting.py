import sys

import pytest

from bankSim.cli import waiting
from bankSim.cli.waiting import busy, stages_bar, tell_compiling


@pytest.fixture
def cache(tmp_path, monkeypatch):
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(tmp_path))
    return tmp_path


def on_a_terminal(monkeypatch, yes):
    monkeypatch.setattr(sys.stderr, "isatty", lambda: yes, raising=False)


def test_the_first_run_says_why_it_waits(cache, monkeypatch, capsys):
    on_a_terminal(monkeypatch, True)
    tell_compiling()
    assert capsys.readouterr().err == "compiling the solver, once per installation ...\n"


def test_a_later_run_and_a_file_hear_nothing(cache, monkeypatch, capsys):
    on_a_terminal(monkeypatch, False)
    tell_compiling()
    (cache / "deep").mkdir()
    (cache / "deep" / "march.nbi").write_bytes(b"")
    on_a_terminal(monkeypatch, True)
    tell_compiling()
    assert capsys.readouterr().err == ""


@pytest.mark.parametrize("terminal", [True, False])
def test_long_work_is_named_on_a_terminal_only(terminal, monkeypatch, capsys):
    on_a_terminal(monkeypatch, terminal)
    with busy("counting sheep"):
        pass
    out, err = capsys.readouterr()
    assert out == ""
    assert ("counting sheep" in err) is terminal


def test_stages_are_named_with_how_far_they_are(monkeypatch, capsys):
    on_a_terminal(monkeypatch, True)
    with stages_bar() as tell:
        for done in (0, 7, 12):  # more than there are: blocks are whole
            tell("draws", done, 10)
        tell("stories", 1, 4)
    out, err = capsys.readouterr()
    assert out == ""
    assert "draws" in err
    assert "stories" in err
    assert "12/10" not in err


def test_a_line_a_minute_where_nobody_looks(monkeypatch, capsys):
    on_a_terminal(monkeypatch, False)
    now = iter([0.0, 1.0, 61.0, 61.0, 62.0, 121.5, 121.5])
    monkeypatch.setattr(waiting.time, "monotonic", lambda: next(now))
    with stages_bar() as tell:
        for done in (1, 2000, 2001, 12000):
            tell("draws", done, 10_000)
    out, err = capsys.readouterr()
    assert (out, err) == ("", "draws: 2,000 of 10,000 at most\ndraws: 10,000 of 10,000 at most\n")

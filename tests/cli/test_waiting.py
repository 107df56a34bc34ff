import sys

import pytest

from bankSim.cli.waiting import tell_compiling


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

"""What ends a command, and with which words and exit code; what is said while one waits."""

import errno
import os
import sys

import pytest

from bankSim.cli import guard, waiting
from bankSim.cli.guard import guarded, safe_streams
from bankSim.cli.waiting import progress_bar, stages_bar
from bankSim.cli.wrong_words import TYPED
from bankSim.errors import ParameterError, SimulationError


@pytest.fixture
def dropped(monkeypatch):
    """Streams that were sent nowhere."""
    streams = []
    monkeypatch.setattr(guard, "_drop", streams.append)
    return streams


def raising(error):
    def command():
        raise error

    return command


@pytest.mark.parametrize(
    ("error", "code", "told"),
    [
        (SimulationError("a.toml: no such file"), 2, "a.toml: no such file\n"),
        (ParameterError("end_s", 0.0, "more than 0"), 2, "end_s = 0.0; expected more than 0\n"),
        (KeyboardInterrupt(), 130, "Stopped.\n"),
        (KeyboardInterrupt("Stopped. Draws are kept."), 130, "Stopped. Draws are kept.\n"),
    ],
)
def test_what_a_person_can_mend_is_a_line(capsys, dropped, error, code, told):
    assert guarded(raising(error)) == code
    out, err = capsys.readouterr()
    assert (out, err, dropped) == ("", told, [])


def test_a_command_keeps_its_own_code(capsys):
    assert [guarded(lambda code=code: code) for code in (0, 2, 7)] == [0, 2, 7]
    assert capsys.readouterr() == ("", "")


def test_a_reader_who_left_is_no_fault(capsys, dropped):
    assert guarded(raising(BrokenPipeError())) == 0
    assert dropped == [sys.stdout]
    assert capsys.readouterr().err == ""


@pytest.mark.parametrize("number", [errno.ENOSPC, errno.EDQUOT, errno.EFBIG, errno.EIO])
def test_a_full_disk_is_told(capsys, dropped, number):
    assert guarded(raising(OSError(number, os.strerror(number)))) == 2
    assert capsys.readouterr().err == f"output cannot be written ({os.strerror(number)})\n"
    assert dropped == [sys.stdout]


@pytest.mark.parametrize("error", [OSError(errno.ENOENT, "no"), ZeroDivisionError(), OSError()])
def test_anything_else_is_a_bug_and_keeps_its_traceback(dropped, error):
    with pytest.raises(type(error)):
        guarded(raising(error))
    assert dropped == []


def test_where_nothing_can_be_told_the_code_must_do(monkeypatch, dropped):
    class Full:
        def write(self, _):
            raise OSError(errno.ENOSPC, "full")

        flush = write

    monkeypatch.setattr(sys, "stderr", Full())
    assert guarded(raising(SimulationError("wrong"))) == 2
    assert dropped == [sys.stderr]


def test_what_is_printed_late_is_still_guarded(monkeypatch, dropped, capsys):
    class Full:
        def flush(self):
            raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(sys, "stdout", Full())
    assert guarded(lambda: 0) == 2
    assert dropped == [sys.stdout]
    assert "No space left" in capsys.readouterr().err


def test_closed_streams_take_what_is_printed(monkeypatch):
    monkeypatch.setattr(sys, "stdout", None)
    safe_streams()
    print("nowhere", flush=True)
    assert sys.stdout.name == os.devnull
    sys.stdout.close()


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("test", "--end-s", "0"), "--end-s = 0.0; expected more than 0\n"),
        (("test", "--end-s=0"), "--end-s = 0.0; expected more than 0\n"),
        (("test", "--end-spot", "0"), "end_s = 0.0; expected more than 0\n"),
        (("test", "end-s"), "end_s = 0.0; expected more than 0\n"),
    ],
)
def test_a_value_is_told_by_its_option_where_it_was_typed(capsys, words, told):
    before = TYPED.set(words)
    guarded(raising(ParameterError("end_s", 0.0, "more than 0")))
    TYPED.reset(before)
    assert capsys.readouterr().err == told


@pytest.mark.parametrize("terminal", [True, False])
def test_a_bar_is_drawn_on_a_terminal_only(terminal, monkeypatch, capsys):
    monkeypatch.setattr(sys.stderr, "isatty", lambda: terminal, raising=False)
    with progress_bar() as progress:
        assert (progress is not None) is terminal
        if progress is not None:
            progress(0.25)
            progress(1.0)
    out, err = capsys.readouterr()
    assert out == ""
    assert ("solving" in err) is terminal


def test_a_line_comes_when_a_whole_minute_has_gone_by(monkeypatch, capsys):
    clock = [100.0]
    monkeypatch.setattr(waiting.time, "monotonic", lambda: clock[0])
    monkeypatch.setattr(sys.stderr, "isatty", lambda: False, raising=False)
    with stages_bar() as tell:
        for clock[0] in (100.0, 159.9, 160.0, 219.9, 220.0):
            tell("draws", int(clock[0]), 1000)
    assert capsys.readouterr().err == ("draws: 160 of 1,000 at most\ndraws: 220 of 1,000 at most\n")

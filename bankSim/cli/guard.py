"""The one place where a fault that a person can mend becomes a line and an exit code."""

import errno
import os
import sys
from collections.abc import Callable
from typing import TextIO

from bankSim.cli.wrong_words import told_field
from bankSim.errors import ParameterError, SimulationError

WRONG_INPUT = 2
DISK_TROUBLE = (errno.ENOSPC, errno.EDQUOT, errno.EFBIG, errno.EIO)
STOPPED_BY_HAND = 130


def guarded(command: Callable[[], int]) -> int:
    """Call a command and return its exit code.

    A `SimulationError` is printed on standard error, one line a fault, and gives 2; an interrupt
    gives 130. When the reader of standard output has gone (``| head``), the rest is dropped and
    the code is 0; when it cannot be written (a full disk), one line says so and the code is 2.
    Anything else is a bug and passes through.
    """
    try:
        code = command()
        sys.stdout.flush()
        return code
    except ParameterError as error:
        _tell(told_field(error))
        return WRONG_INPUT
    except SimulationError as error:
        _tell(str(error))
        return WRONG_INPUT
    except KeyboardInterrupt as stop:
        _tell(str(stop) or "Stopped.")
        return STOPPED_BY_HAND
    except BrokenPipeError:
        _drop(sys.stdout)
        return 0
    except OSError as error:
        if error.errno not in DISK_TROUBLE:
            raise
        _drop(sys.stdout)
        _tell(f"output cannot be written ({error.strerror})")
        return WRONG_INPUT


def _tell(line: str) -> None:
    """Print on standard error; where even that is full or gone, the exit code must do."""
    try:
        print(line, file=sys.stderr, flush=True)
    except OSError:
        _drop(sys.stderr)


def safe_streams() -> None:
    """Make letters that the terminal cannot show come out as "?" rather than as a crash.

    What is closed (``>&-``) takes what is printed and drops it.
    """
    for name in ("stdout", "stderr"):
        if getattr(sys, name) is None:
            setattr(sys, name, open(os.devnull, "w", encoding="utf-8"))  # noqa: SIM115
    for stream in (sys.stdout, sys.stderr):
        reconfigure = getattr(stream, "reconfigure", None)
        if reconfigure is not None:
            reconfigure(errors="replace")


def _drop(stream: TextIO) -> None:
    """Send what is still buffered nowhere, so that closing the stream at the end raises nothing."""
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, stream.fileno())
    os.close(nowhere)

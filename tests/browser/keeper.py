"""Runs a command in a process group of its own, and ends the group when standard input closes.

The pipe closes whenever the process that holds its other end is gone, however it went.
"""

import contextlib
import os
import signal
import subprocess
import sys

PATIENCE_S = 10.0


def main(words):
    child = subprocess.Popen(words, start_new_session=True, stdin=subprocess.DEVNULL)
    sys.stdin.buffer.read()
    _tell(child.pid, signal.SIGTERM)
    try:
        return child.wait(PATIENCE_S)
    except subprocess.TimeoutExpired:
        return 99
    finally:
        _tell(child.pid, signal.SIGKILL)


def _tell(group, what):
    with contextlib.suppress(ProcessLookupError):
        os.killpg(group, what)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))

"""Run one netlist in a process of its own: the only place that knows PySpice.

``python -m bankSim.crosscheck.worker DECK ARRAYS``: reads the netlist, runs it in the ngspice
library, writes the vectors as an .npz file. A process of its own, because the library keeps
global state, cannot run in two threads, and may fail hard.
"""

import logging
import os
import sys
from ctypes.util import find_library
from pathlib import Path

import numpy as np

DONE, NO_PYSPICE, NO_NGSPICE, FAILED = 0, 3, 4, 5
LIBRARY_VARIABLE = "NGSPICE_LIBRARY_PATH"


def main(arguments: list[str]) -> int:
    """Run the netlist; return one of the codes above, with a line on stderr when it failed."""
    deck_file, arrays_file = (Path(argument) for argument in arguments)
    os.environ.setdefault(LIBRARY_VARIABLE, find_library("ngspice") or "libngspice.so.0")
    try:
        from PySpice.Spice.NgSpice.Shared import NgSpiceCommandError, NgSpiceShared
    except ImportError as error:
        return _say(NO_PYSPICE, str(error))
    logging.disable(logging.CRITICAL)
    try:
        spice = NgSpiceShared.new_instance()
    except OSError as error:
        return _say(NO_NGSPICE, str(error))
    try:
        spice.load_circuit(deck_file.read_text(encoding="ascii"))
        spice.run()
    except (NgSpiceCommandError, NameError) as error:
        return _say(FAILED, _last_words(spice.stderr, spice.stdout, str(error)))
    plot = spice.plot(None, spice.last_plot)
    np.savez(arrays_file, **{name.lower(): vector._data for name, vector in plot.items()})
    return DONE


def _say(code: int, text: str) -> int:
    sys.stderr.write(text.strip() + "\n")
    return code


def _last_words(*texts: str) -> str:
    """Return the lines in which ngspice says why it stopped."""
    lines = [line.strip() for text in texts for line in text.splitlines()]
    telling = [
        line for line in lines if any(word in line.lower() for word in ("error", "timestep"))
    ]
    return " ".join(telling[:3] or [line for line in lines if line][-3:])


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))

"""Reads a measured log."""

from pathlib import Path

import numpy as np

from bankSim.measured.log import DISCHARGE_POSITIVE, Asked, Log

NOTHING_SAID = Asked()


def read_log(file: Path, asked: Asked = NOTHING_SAID) -> Log:
    """Read a log file: placeholder until the reading room stands."""
    table = np.genfromtxt(file, delimiter=",", skip_header=1)
    sign = 1.0 if asked.sign == DISCHARGE_POSITIVE else -1.0
    return Log(str(file), table[:, 0], table[:, 2], sign * table[:, 1], cells_V=table[:, 3:])

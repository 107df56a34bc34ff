"""Writes a log in the open Battery Data Format: charge positive, fixed headers and units.

Source
------
Battery Data Format, Battery Data Alliance (Linux Foundation Energy), ontology 1.3.0: required
columns test time, voltage, current; temperatures of surface and air are optional. It has no column
for single cells of a battery, so those are not written.
"""

import math
from collections.abc import Iterator

import numpy as np

from bankSim.measured.log import Log

TIME, VOLTAGE, CURRENT = "Test Time / s", "Voltage / V", "Current / A"
TEMPERATURE, OF_AIR = "Surface Temperature / degC", "Ambient Temperature / degC"
PORTION = 100_000


def write_bdf(log: Log) -> str:
    """Return a log as text in the open format; every number reads back to the last bit.

    Parameters
    ----------
    log : Log
    """
    names = [TIME, VOLTAGE, CURRENT]
    columns = [log.time_s, log.voltage_V, -log.current_A + 0.0]
    if log.temperature_C is not None:
        names.append(OF_AIR if log.of_air else TEMPERATURE)
        columns.append(log.temperature_C)
    return "".join([",".join(names), "\n", *_portions(columns)])


def _portions(columns: list[np.ndarray]) -> Iterator[str]:
    for first in range(0, columns[0].size, PORTION):
        lists = [column[first : first + PORTION].tolist() for column in columns]
        yield "".join(
            ",".join("" if math.isnan(value) else repr(value) for value in row) + "\n"
            for row in zip(*lists, strict=True)
        )

"""The bank driven by the measured current instead of the scenario's loads."""

from dataclasses import replace

import numpy as np

from bankSim.measured.compare_course import Course
from bankSim.measured.log import Rows
from bankSim.model.bank import Bank
from bankSim.model.curve import Floats
from bankSim.model.load import Load
from bankSim.scenario.record import Scenario
from bankSim.study.ensemble import Ensemble
from bankSim.study.fields import Columns
from bankSim.study.unknown import Unknown

DRIVE = "measured current"
TOLERANCE_PART = 0.01  # of the largest current: held as one while it differs by no more
LONGEST_S = 1800.0  # one amount is held no longer
GOES_ON = 1.4  # times the measured time: so long the last current is kept up
MOST_ROWS = 8_000  # of the timeline: a log may last much longer than the scenario
TAIL_PART = 0.1  # of the discharge: its mean goes on


def drive_of(course: Course) -> Load:
    """Return a load that draws the measured current; it keeps its charge.

    Parameters
    ----------
    course : Course
        Measured, from the start of the load to its end.

    Returns
    -------
    load : Load
        A plain current. After the end of the measurement the mean of its last tenth goes on, so
        that a bank that is predicted to last longer can show it.
    """
    time, current = course.time_s, course.current_A
    keep = np.append(np.diff(time) > 0.0, False)
    starts, ends = time[:-1][keep[:-1]], time[1:][keep[:-1]]
    means = ((current[:-1] + current[1:]) / 2.0)[keep[:-1]]
    firsts = _segments(starts, means, TOLERANCE_PART * float(np.abs(means).max()))
    widths = ends - starts
    charges = np.add.reduceat(means * widths, firsts)
    lengths = np.add.reduceat(widths, firsts)
    tail_s = ends[-1] - TAIL_PART * (ends[-1] - starts[0])
    in_tail = np.maximum(ends - np.maximum(starts, tail_s), 0.0)  # of rows far apart a part
    last = float(means @ in_tail / in_tail.sum())
    at = np.append(starts[firsts], ends[-1])
    return Load(DRIVE, 1.0, at, np.append(charges / lengths, last))


def _segments(starts: Floats, means: Floats, tolerance: float) -> Rows:
    """Return where a new amount begins."""
    firsts, held, since = [0], means[0], starts[0]
    for place in range(1, means.size):
        if abs(means[place] - held) > tolerance or starts[place] - since > LONGEST_S:
            firsts.append(place)
            held, since = means[place], starts[place]
    return np.array(firsts, np.int64)


def driven(bank: Bank, drive: Load) -> Bank:
    """Return the bank with the measured current as its only load; chargers are in that current."""
    end_s = max(GOES_ON * float(drive.profile_s[-1]), float(drive.profile_s[-1]) + 60.0)
    return replace(
        bank, loads=(drive,), chargers=(), duration_s=end_s, stop_when_empty=True,
        output_every_s=max(bank.output_every_s, end_s / MOST_ROWS),
    )  # fmt: skip


class Driven(Ensemble):
    """Draws of a bank that is driven by the measured current."""

    def __init__(self, scenario: Scenario, unknowns: tuple[Unknown, ...], drive: Load) -> None:
        self.drive = drive
        super().__init__(replace(scenario, bank=driven(scenario.bank, drive)), unknowns)

    def bank_of(self, values: Floats, draw: int) -> tuple[Bank, Columns]:
        """Return the bank of a draw; one that was built anew gets the measured current, too.

        `values` in the units of the unknowns.
        """
        bank, columns = super().bank_of(values, draw)
        return (bank if bank is self.scenario.bank else driven(bank, self.drive)), columns

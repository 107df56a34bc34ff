"""What a result tells, in named arrays; and sentences about what is wrong with it."""

from dataclasses import dataclass, field

import numpy as np

BEFORE, AFTER = 1, 2  # kinds of rows: just before and just after a switching
BACK_S = 1e-5  # so long beside an instant, what switches then has not yet switched, or has
MOST_ALIKE = 3
SMALL_PART = 0.05


@dataclass
class Record:
    """The columns of a trace: SI, discharge positive, one row an instant."""

    bank: object
    result: object
    wrong: dict = field(default_factory=dict)

    def __post_init__(self):
        trace, n = self.result.trace, len(self.bank.batteries)
        self.time_s, self.kind = trace[:, 0], trace[:, 1].astype(int)
        self.bus_V, self.bank_A, self.loads_V = trace[:, 2], trace[:, 3], trace[:, 4]
        of = trace[:, 5 : 5 + 5 * n].reshape(len(trace), n, 5)
        self.amps, self.volts, self.held, self.kelvin = (of[:, :, i] for i in range(4))
        self.mode = of[:, :, 4].astype(int)
        self.cell_V, at = [], 5 + 5 * n
        for battery in self.bank.batteries:
            self.cell_V.append(trace[:, at : at + len(battery.cells)])
            at += len(battery.cells)
        self.charger_A = trace[:, at:]
        self.dark = (self.loads_V == 0.0) & (self.bus_V == 0.0)

    def blame(self, sort, row, told):
        """Note what is wrong at a row (None: in all); a few of each sort."""
        self.wrong.setdefault(sort, [])
        at = "" if row is None else f"{self.time_s[row]:.3f} s: "
        self.wrong[sort].append(f"{at}{told}")

    def sentences(self):
        """All that was noted, shortened."""
        return [
            f"{sort} ({len(found)}): {'; '.join(found[:MOST_ALIKE])}"
            for sort, found in self.wrong.items()
        ]


def promised_A(record):
    """How far a current may be off at each row (docs/theory.md, eq. 16.4). [A]

    Small batteries are judged by a part of the largest current.
    """
    numerics = record.result.numerics
    largest = np.abs(record.amps).max(axis=1)
    return numerics.absolute_tolerance_A + numerics.relative_tolerance * SMALL_PART * largest


def unlike(values, expected, allowed):
    """Rows at which two arrays differ by more than allowed (or are no numbers)."""
    return np.flatnonzero(~(np.abs(values - expected) <= allowed))

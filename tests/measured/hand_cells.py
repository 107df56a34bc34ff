"""Logs of lithium batteries made by hand: curves as hand-drawn points, no part of the solver."""

from dataclasses import dataclass
from random import Random

import numpy as np

from bankSim.measured.log import Log

# Open-circuit voltage of an LFP cell over state of charge, as drawn by hand: not the typical one.
POINTS = (
    (-0.05, 1.9), (0.0, 2.5), (0.03, 2.9), (0.07, 3.1), (0.12, 3.2), (0.2, 3.245),
    (0.35, 3.285), (0.6, 3.30), (0.7, 3.325), (0.95, 3.345), (0.98, 3.36), (1.0, 3.42),
)  # fmt: skip


@dataclass(frozen=True)
class HandBattery:
    """Four cells in series.

    Parameters
    ----------
    capacity_Ah, charge : tuple of float
        Of the cells; state of charge at the start [1].
    ohmic_mohm, paired_mohm, straps_mohm : float
        Of a cell at once when full, of its one relaxation; between cells and terminals.
    rise : float
        By this factor and 1 the resistance at once is larger where empty. [1]
    """

    capacity_Ah: tuple[float, ...] = (96.2, 95.1, 93.9, 95.8)
    charge: tuple[float, ...] = (1.0, 1.0, 1.0, 0.995)
    ohmic_mohm: float = 0.9
    paired_mohm: float = 0.6
    straps_mohm: float = 1.5
    rise: float = 7.0
    time_constant_s: float = 60.0
    rest_s: float = 600.0

    def mohm(self, state_of_charge: float, *, long: bool) -> float:
        """Return the resistance at the terminals, at once or after long. [mohm]"""
        cell = self.ohmic_mohm * (1.0 + self.rise * np.exp(-state_of_charge / 0.06))
        return 4.0 * (cell + self.paired_mohm * long) + self.straps_mohm


def hand_log(battery: HandBattery, current_A, every_s: float = 10.0, *, cells: bool = True,
             after_s: float = 1800.0, seed: int = 4) -> Log:  # fmt: skip
    """Discharge until a cell is at 2.5 V, and rest; `current_A(seconds of load)` is what flows."""
    charge, drop, rows = np.array(battery.charge), 0.0, []
    capacity = np.array(battery.capacity_Ah)
    at, volts = np.array(POINTS).T
    time, ended = 0.0, np.inf
    while time < ended + after_s:
        flows = 0.0
        if battery.rest_s <= time < ended:
            flows = current_A(time - battery.rest_s)
        ohm = 1e-3 * battery.ohmic_mohm * (1.0 + battery.rise * np.exp(-charge.clip(0.0) / 0.06))
        shown = np.interp(charge, at, volts) - drop - flows * ohm
        if flows and shown.min() < 2.5:
            ended = time
        rows.append((time, shown.sum() - 1e-3 * flows * battery.straps_mohm, flows, *shown))
        drop += (1e-3 * flows * battery.paired_mohm - drop) * -np.expm1(
            -every_s / battery.time_constant_s
        )
        charge = charge - flows * every_s / 3600.0 / capacity
        time += every_s
    table = np.array(rows)
    noise = Random(seed)
    sd = (0.002, 0.02, *4 * [0.001])
    table[:, 1:] += [[noise.gauss(0.0, one) for one in sd] for _ in rows]
    return Log(
        "hand.csv", table[:, 0], table[:, 1].round(3), table[:, 2].round(2),
        cells_V=table[:, 3:].round(3) if cells else np.empty((0, 0)),
        temperature_C=np.full(len(table), 22.0),
    )  # fmt: skip

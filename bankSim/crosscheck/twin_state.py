"""What switches (between stretches) and what flows along (the state vector) in the twin."""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from bankSim.crosscheck.twin_diodes import Indices
from bankSim.model.bank import Bank
from bankSim.model.curve import Floats

COUNTERS = (3, 4, 7, 8, 9)  # parts of the state that only count: no rate depends on them
OFF = 0  # stage of a charger that is switched off or has finished


@dataclass(frozen=True, slots=True)
class Switching:
    """Everything that stays as it is during one stretch.

    Parameters
    ----------
    blocked : array (n,)
        Bits of `Blocks` of every battery.
    amounts : array (m,)
        What every load asks at present; 0 for those cut off or dropped. [A V^(1 - n)]
    heating_W : array (n,)
        What every heater draws. [W]
    stages : tuple of int
        Of every charger, from 1; 0 is off.
    """

    blocked: Indices
    amounts: Floats
    heating_W: Floats
    stages: tuple[int, ...]


class StateLayout:
    """Where things stand in the state vector.

    In order: z of every cell, v of every relaxation pair, h of every cell with hysteresis, charge
    given and charge taken by every battery, d of every cell with two wells, temperature of every
    battery that has its own, charge given by every charger, energy given and taken by every
    battery. Charges are in units of the largest cell's, energies in that times 10 V, temperatures
    in K, so that one absolute tolerance suits all entries. `felt` tells on which rates depend.

    Parameters
    ----------
    bank : Bank
    """

    def __init__(self, bank: Bank) -> None:
        cells = [cell for battery in bank.batteries for cell in battery.cells]
        self.cells, self.bank = cells, bank
        self.pairs = [(k, pair) for k, cell in enumerate(cells) for pair in cell.relaxation]
        self.lagging = _where([cell.hysteresis_V > 0.0 for cell in cells])
        self.welled = _where([cell.available_fraction < 1.0 for cell in cells])
        self.warming = _where([b.thermal is not None for b in bank.batteries])
        count, chargers = len(bank.batteries), len(bank.chargers)
        sizes = [len(cells), len(self.pairs), self.lagging.size, count, count]
        sizes += [self.welled.size, self.warming.size, chargers, count, count]
        ends = np.cumsum([0, *sizes])
        self.parts = [slice(*pair) for pair in pairwise(ends)]
        counts = [self.parts[place] for place in COUNTERS]
        self.felt = np.setdiff1d(
            np.arange(ends[-1]), np.concatenate([np.r_[part] for part in counts])
        )
        self.unit_C = max(cell.charge_C for cell in cells)
        self.unit_J = 10.0 * self.unit_C

    def split(self, y: Floats) -> list[Floats]:
        """Return views of the ten parts of the state. In the units of the class."""
        return [y[part] for part in self.parts]

    def start(self) -> Floats:
        """Return the state at t = 0: all at rest, all at the temperature of the surroundings.

        In the units of the class.
        """
        y = np.zeros(self.parts[-1].stop)
        y[self.parts[0]] = [cell.state_of_charge for cell in self.cells]
        y[self.parts[6]] = self.bank.ambient_K(0.0)
        return y


def _where(flags: list[bool]) -> Indices:
    return np.flatnonzero(np.array(flags, dtype=bool))

"""Charge left in a cell, from its voltage under load: the project's own cell, read backwards.

A cell under a steady current I shows V = U(z) - M - I (R0(z) + sum R_j), all at one temperature:
its relaxation is settled and its hysteresis on the discharge branch. After rest the pairs have
died down to I R_j exp(-t / tau_j) and R0 carries nothing. V rises with z, so z is found by halving.
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache

import numpy as np

from bankSim.measured.knee_facts import KNEE_WIDTH
from bankSim.model.cell import GAS_CONSTANT_J_MOL_K, REFERENCE_K, ZERO_C_K
from bankSim.model.chemistry import Chemistry
from bankSim.model.curve import Floats

LOWEST_Z, HIGHEST_Z = -0.15, 1.3
LOWEST_READ_Z = -1.5
HALVINGS = 30
TABLE = 20_001


@dataclass(frozen=True, eq=False)
class Drive:
    """What a cell was under, for one or many draws; all arrays broadcast against each other.

    Parameters
    ----------
    per_h : array
        Current over capacity, > 0. [1/h]
    resistance : array
        Factor on all resistances at 25 degC. [1]
    temperature_C : array
        [degC]
    offset_V : array
        Added to the open-circuit voltage. [V]
    """

    per_h: Floats
    resistance: Floats
    temperature_C: Floats
    offset_V: Floats


def loaded_voltage(
    chemistry: Chemistry, state_of_charge: Floats, drive: Drive, rest_s: float | None = None
) -> Floats:
    """Return the voltage of one cell.

    Parameters
    ----------
    chemistry : Chemistry
    state_of_charge : array
        z; of the available well where there are two. [1]
    drive : Drive
        Also what it was under before a rest.
    rest_s : float or None
        Time without current; None under load. [s]

    Returns
    -------
    voltage : array
        [V]

    Source
    ------
    `bankSim.model.cell.Cell`, settled; resistance x capacity as in `Chemistry`.
    Equations: docs/theory.md, eq. 28.1.
    """
    return _voltage_under(chemistry, drive, rest_s)(np.asarray(state_of_charge, dtype=float))


def _voltage_under(
    chemistry: Chemistry, drive: Drive, rest_s: float | None
) -> Callable[[Floats], Floats]:
    """Return `loaded_voltage` over the state of charge [1] alone: what else counts is found once.

    Its voltage: [V]
    """
    factor = drive.per_h * (drive.resistance * _warmth(chemistry, drive.temperature_C))
    settled = sum(
        ohm_Ah * (1.0 if rest_s is None else float(np.exp(-rest_s / time_s)))
        for ohm_Ah, time_s in chemistry.relaxation_ohm_Ah
    )
    ohmic = _ohmic_under(chemistry, drive)

    def voltage(z: Floats) -> Floats:
        drop = settled + ohmic(z) * (rest_s is None)
        rest = _read(_rest_table(chemistry), z, LOWEST_Z) + drive.offset_V - chemistry.hysteresis_V
        return np.asarray(rest - factor * drop)

    return voltage


def _ohmic_under(chemistry: Chemistry, drive: Drive) -> Callable[[Floats], Floats]:
    """R0 x capacity over z, read earlier in the cold as `Cell` says. [ohm Ah]"""
    table = _ohmic_table(chemistry)
    if chemistry.usable_part is None:
        return lambda z: _read(table, z, LOWEST_READ_Z)
    usable = chemistry.usable_part(drive.temperature_C + ZERO_C_K)
    return lambda z: _read(table, 1.0 - (1.0 - z) / usable, LOWEST_READ_Z)


@cache
def _rest_table(chemistry: Chemistry) -> Floats:
    """Return U at even steps, so close that straight lines between are off by less than 0.1 mV."""
    return chemistry.ocv_V()(np.linspace(LOWEST_Z, HIGHEST_Z, TABLE))


@cache
def _ohmic_table(chemistry: Chemistry) -> Floats:
    """Return R0 x capacity at even steps, further down, where it is read in the cold. [ohm Ah]"""
    z = np.linspace(LOWEST_READ_Z, HIGHEST_Z, TABLE)
    return np.asarray(chemistry.ohmic_ohm_Ah * chemistry.ohmic_factor()(z))


def _read(table: Floats, z: Floats, lowest: float) -> Floats:
    """Read a table of even steps from `lowest` to the top; straight lines go on beyond its ends."""
    place = (np.asarray(z) - lowest) * ((TABLE - 1) / (HIGHEST_Z - lowest))
    row = np.minimum(np.maximum(place.astype(np.int64), 0), TABLE - 2)  # as clip, but quicker
    below = table[row]
    return np.asarray(below + (place - row) * (table[row + 1] - below))


def _warmth(chemistry: Chemistry, temperature_C: Floats) -> Floats:
    """Arrhenius factor on all resistances. [1]"""
    inverse = 1.0 / (np.asarray(temperature_C) + ZERO_C_K) - 1.0 / REFERENCE_K
    return np.asarray(np.exp(chemistry.activation_J_mol / GAS_CONSTANT_J_MOL_K * inverse))


def state_of_charge_at(
    chemistry: Chemistry, voltage_V: Floats, drive: Drive, rest_s: float | None = None
) -> Floats:
    """Return z at a voltage, by halving between -0.15 and 1.3; what lies beyond is put there.

    Parameters
    ----------
    chemistry : Chemistry
    voltage_V : array
        [V]
    drive : Drive
    rest_s : float or None
        As in `loaded_voltage`.
    """
    shape = np.broadcast_shapes(np.shape(voltage_V), np.shape(drive.per_h * drive.resistance))
    low, high = np.full(shape, LOWEST_Z), np.full(shape, HIGHEST_Z)
    voltage = _voltage_under(chemistry, drive, rest_s)
    for _ in range(HALVINGS):
        middle = 0.5 * (low + high)
        below = voltage(middle) < voltage_V
        low, high = np.where(below, middle, low), np.where(below, high, middle)
    return np.asarray(0.5 * (low + high))


def stretched(part: Floats, stretch: Floats) -> Floats:
    """Stretch a charge left near empty by a factor that fades out above the knee.

    f(x) = x (1 + (k - 1) exp(-(x / w)^2)), w = 0.1 of the capacity; rises for all 0 < k < 3.2.

    Parameters
    ----------
    part : array
        x, charge left over capacity. [1]
    stretch : array
        k. [1]

    Source
    ------
    docs/theory.md, eq. 28.2.
    """
    return np.asarray(part * (1.0 + (stretch - 1.0) * np.exp(-((part / KNEE_WIDTH) ** 2))))

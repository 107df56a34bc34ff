"""A battery at rest: the voltage and resistance that it shows to others in the first instant."""

from functools import lru_cache

import numpy as np

from bankSim.model.battery import Battery
from bankSim.model.cell import REFERENCE_K, arrhenius_factor
from bankSim.model.curve import Curve, Floats

FULL = 1.0
LEVELS = 101
KEPT_READINGS = 256
UNLABELLED_PER_H = 0.5  # of the label capacity: charge current held against one without a limit


def rest_voltage(battery: Battery, state_of_charge: float | None = None) -> float:
    """Return the voltage of a rested battery. [V]

    Parameters
    ----------
    battery : Battery
    state_of_charge : float or None
        Of every cell; None takes what each has at the start. [1]
    """
    return sum(
        _read(cell.ocv_V, cell.state_of_charge if state_of_charge is None else state_of_charge)
        for cell in battery.cells
    )


@lru_cache(maxsize=KEPT_READINGS)
def _read(curve: Curve, state_of_charge: float) -> float:
    """Read a curve once for all cells that are alike, and all who ask. [unit of the curve]"""
    return float(curve(state_of_charge))


def rest_voltages_after(battery: Battery, given_C: Floats) -> Floats:
    """Return its rest voltage after it has given these charges. [V]

    Parameters
    ----------
    battery : Battery
    given_C : array
        [C]

    Returns
    -------
    voltage : array, shape of `given_C`
        [V]
    """
    total = np.zeros(np.shape(given_C))
    for cell in battery.cells:
        total += cell.ocv_V(cell.state_of_charge - given_C / cell.charge_C)
    return total


def instant_ohm(
    battery: Battery,
    temperature_K: float = REFERENCE_K,
    state_of_charge: float | None = None,
    *,
    into: bool = False,
) -> float:
    """Return the resistance up to the end of its lead, before anything relaxes. [ohm]

    Parameters
    ----------
    battery : Battery
    temperature_K : float
        [K]
    state_of_charge : float or None
        As for `rest_voltage`.
    into : bool
        For a current that charges it.
    """
    total = battery.internal_ohm + battery.lead_ohm
    for cell in battery.cells:
        held = cell.state_of_charge if state_of_charge is None else state_of_charge
        total += cell.ohm_at(held, temperature_K, into=into)
    return total


def least_ohm(battery: Battery, temperature_K: float) -> float:
    """Return the lowest `instant_ohm` at any state of charge, at that temperature or 25 degC. [ohm]

    Parameters
    ----------
    battery : Battery
    temperature_K : float
        [K]
    """
    warm_K, level = max(temperature_K, REFERENCE_K), np.linspace(0.0, 1.0, LEVELS)
    total = np.full(LEVELS, battery.internal_ohm + battery.lead_ohm)
    for cell in battery.cells:
        total += cell.ohmic_ohm(level) * arrhenius_factor(cell.activation_J_mol, warm_K)
    return float(total.min())


def charge_limit_A(battery: Battery) -> float:  # noqa: N802 - the unit as printed
    """Return its charge limit; without one, half the label capacity per hour (own choice). [A]"""
    if battery.continuous_charge_A is not None:
        return battery.continuous_charge_A
    return UNLABELLED_PER_H * battery.rated_C / 3600.0

"""Typical values of chemistry "LFP": graphite against lithium iron phosphate.

Where state of charge 0 is. The curve is the difference of two published half-cell fits over
published windows of lithium content. The 100 % end of those windows gives 3.42 V, as a full cell
at rest; the 0 % end gives 2.71 V, because the fitted curve falls too gently near empty (3.09 V
at 5 %). Batteries are called empty at a cut-off voltage, commonly 2.5 V a cell, so the windows
are continued along their own straight line until the rest voltage is 2.5 V, and state of charge
0 is put there. State of charge 1 stays at the published end. The shift is less than 1 % of
charge, all of it in the knee.
"""

from functools import cache

import numpy as np

from bankSim.model.cell import Cell, RelaxationPair
from bankSim.model.curve import Curve, Floats
from bankSim.model.half_cells import graphite_voltage, iron_phosphate_voltage
from bankSim.model.rule import Blocks, Rule, Watch

EMPTY_V = 2.5  # rest voltage of one cell at state of charge 0; common cut-off

# Windows of lithium content, (0 %, 100 %): Schimpe et al., J. Electrochem. Soc. 165 (2018) A181,
# doi 10.1149/2.1181714jes; the phosphate window is quoted from memory.
GRAPHITE_WINDOW = (0.0085, 0.78)
PHOSPHATE_WINDOW = (0.916, 0.045)
LOWEST_PUBLISHED = -0.0109  # of those windows; graphite is then down to 0.0001 of lithium
HIGHEST_PUBLISHED = 1.033  # about 3.7 V

# Own fit to open measured data of a 2 Ah cell: About:Energy, BPX open data set, CC BY-SA 4.0.
# Two pairs fitted to its drive cycle between 30 and 95 %; resistance x capacity is taken as
# constant within the cell family.
OHMIC_OHM_AH = 0.069
RELAXATION_OHM_AH = ((0.029, 10.3), (0.0216, 111.0))  # resistance x capacity, time constant in s

# Rise of R0 near empty, 1 + a exp(-z / w): own fit to the same data, drop between the C/20 and the
# 1C discharge at 25 degC from 15 to 40 % (57 mohm mid-way, 76 at 30 %, 105 at 20 %, 170 at 15 %),
# all of the excess put on R0.
RISE = 10.6
RISE_WIDTH = 0.103

INTERNAL_OHM_AH = 0.15  # 1.5 mohm at 100 Ah: switches, straps, terminals; from memory
ACTIVATION_J_MOL = 20e3  # whole-cell resistance, 15 to 25 kJ/mol; from memory
HYSTERESIS_V = 0.010  # half-gap after rest; published full-cell gaps are 5 to 25 mV
HYSTERESIS_RATE = 100.0  # typical fitted values are 20 to 200; from memory
COULOMBIC_EFFICIENCY = 0.998  # above 99.5 %; from memory
SELF_DISCHARGE_PER_MONTH = 0.02  # 1 to 3 % a month, trade sources
MONTH_S = 365.25 / 12.0 * 86_400.0

DISCHARGE_PER_H = 1.0  # label limits when the file gives none, common practice
CHARGE_PER_H = 0.5


def published_rest_voltage(published: Floats) -> Floats:
    """Return the rest voltage of a cell over the published windows.

    Parameters
    ----------
    published : array
        Place in the windows, 0 and 1 at their ends, LOWEST_PUBLISHED or more. [1]

    Returns
    -------
    voltage : array, shape of `published`
        Of one cell at rest, mean of charge and discharge. [V]
    """
    x = GRAPHITE_WINDOW[0] + published * (GRAPHITE_WINDOW[1] - GRAPHITE_WINDOW[0])
    y = PHOSPHATE_WINDOW[0] + published * (PHOSPHATE_WINDOW[1] - PHOSPHATE_WINDOW[0])
    return iron_phosphate_voltage(y) - graphite_voltage(x)


@cache
def empty_published() -> float:
    """Return the place in the published windows where a cell rests at 2.5 V, by bisection. [1]"""
    low, high = LOWEST_PUBLISHED, 0.0
    for _ in range(60):
        middle = 0.5 * (low + high)
        if published_rest_voltage(np.asarray(middle)) < EMPTY_V:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


def rest_voltage(state_of_charge: Floats) -> Floats:
    """Return the rest voltage at a state of charge that is 0 at 2.5 V and 1 at full. [V]"""
    empty = empty_published()
    return published_rest_voltage(empty + state_of_charge * (1.0 - empty))


@cache
def ocv_curve() -> Curve:
    """Return `rest_voltage` as cubic pieces, from about 2.1 V to 3.7 V; off by less than 0.1 mV."""
    published = np.concatenate(
        [
            np.linspace(LOWEST_PUBLISHED, 0.0, 12)[:-1],
            np.linspace(0.0, 0.06, 16)[:-1],
            np.linspace(0.06, 0.94, 45)[:-1],
            np.linspace(0.94, HIGHEST_PUBLISHED, 20),
        ]
    )
    empty = empty_published()
    return Curve.smooth(rest_voltage, (published - empty) / (1.0 - empty))


@cache
def ohmic_factor() -> Curve:
    """Return R0(z) / R0(middle): rises near empty, stays at its z = 0 value below. [1]"""
    grid = np.concatenate([np.linspace(0.0, 0.5, 21), np.linspace(0.6, 1.0, 5)])
    pieces = Curve.smooth(lambda z: 1.0 + RISE * np.exp(-z / RISE_WIDTH), grid)
    return Curve(pieces.knots, pieces.coefficients, pieces.last_value, 0.0, 0.0)


def typical_cell(rated_Ah: float, charge_C: float, resistance_factor: float = 1.0) -> Cell:
    """Return a full cell of usual properties.

    Parameters
    ----------
    rated_Ah : float
        Label capacity; resistances scale with its inverse. [Ah]
    charge_C : float
        Capacity now. [C]
    resistance_factor : float
        Resistance now over resistance when new. [1]

    Returns
    -------
    cell : Cell
        At state of charge 1.
    """
    scale = resistance_factor / rated_Ah
    return Cell(
        ocv_V=ocv_curve(),
        ohmic_ohm=ohmic_factor().scaled(OHMIC_OHM_AH * scale),
        charge_C=charge_C,
        relaxation=tuple(RelaxationPair(ohm_Ah * scale, s) for ohm_Ah, s in RELAXATION_OHM_AH),
        hysteresis_V=HYSTERESIS_V,
        hysteresis_rate=HYSTERESIS_RATE,
        coulombic_efficiency=COULOMBIC_EFFICIENCY,
        standing_A=charge_C * SELF_DISCHARGE_PER_MONTH / MONTH_S,
        activation_J_mol=ACTIVATION_J_MOL,
    )


def usual_rules(continuous_discharge_A: float) -> tuple[Rule, ...]:
    """Return the protection rules that such batteries usually have (common practice)."""
    freezing_K, hot_K = 273.15, 338.15
    return (
        Rule(Watch.LOWEST_CELL, True, 2.5, 5.0, Blocks.DISCHARGE),
        Rule(Watch.HIGHEST_CELL, False, 3.65, 1.0, Blocks.CHARGE),
        Rule(Watch.DISCHARGE_CURRENT, False, 2.5 * continuous_discharge_A, 1.0, Blocks.DISCHARGE),
        Rule(Watch.TEMPERATURE, True, freezing_K, 1.0, Blocks.CHARGE),
        Rule(Watch.TEMPERATURE, False, hot_K, 1.0, Blocks.DISCHARGE),
    )

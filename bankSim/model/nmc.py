"""Typical values of chemistry "NMC": graphite with some silicon against NMC 811.

The curve is the difference of two published half-cell fits over published windows. Its ends are
where that cell is called empty (2.5 V) and full (4.2 V; the fit rests at 4.193 V); state of
charge 0 and 1 are put there. Four such cells in series reach 16.8 V, three 12.6 V: neither goes
well beside other "12 V" batteries.
"""

from functools import cache

import numpy as np

from bankSim.model.cell import ZERO_C_K
from bankSim.model.curve import Curve, Floats
from bankSim.model.half_cells import nmc811_voltage, silicon_graphite_voltage
from bankSim.model.rule import Rule
from bankSim.model.typical import Chemistry, Sources, Typical
from bankSim.model.usual_rules import lithium_rules

# Windows of lithium content, (0 %, 100 %): Chen et al., J. Electrochem. Soc. 167 (2020) 080534,
# quoted from memory; they give that cell's limits of 2.5 and 4.2 V.
GRAPHITE_WINDOW = (0.0279, 0.9014)
NMC_WINDOW = (0.9084, 0.2661)
LOWEST_SOC, HIGHEST_SOC = -0.02, 1.08  # about 1.8 V and 4.35 V

OHMIC_OHM_AH = 0.06  # large cells: 0.6 mohm at 100 Ah; from memory
RELAXATION_OHM_AH = ((0.05, 29.0),)  # a 31 Ah cell at 20 degC: 1.6 mohm, 29 s (published table)
RISE, RISE_WIDTH = 2.0, 0.08  # R0 near empty, 1 + a exp(-z / w); from memory
ACTIVATION_J_MOL = 20e3  # whole-cell resistance, 15 to 25 kJ/mol; from memory
COULOMBIC_EFFICIENCY = 0.998
SELF_DISCHARGE_PER_MONTH = 0.02


def rest_voltage(state_of_charge: Floats) -> Floats:
    """Return the rest voltage of one cell over the published windows. [V]

    Source: docs/theory.md, eq. 3.1.
    """
    x = GRAPHITE_WINDOW[0] + state_of_charge * (GRAPHITE_WINDOW[1] - GRAPHITE_WINDOW[0])
    y = NMC_WINDOW[0] + state_of_charge * (NMC_WINDOW[1] - NMC_WINDOW[0])
    return nmc811_voltage(y) - silicon_graphite_voltage(x)


@cache
def ocv_curve() -> Curve:
    """Return `rest_voltage` as cubic pieces; off by less than 0.1 mV."""
    low = np.linspace(LOWEST_SOC, 0.1, 21)[:-1]
    return Curve.smooth(rest_voltage, np.concatenate([low, np.linspace(0.1, HIGHEST_SOC, 61)]))


@cache
def ohmic_factor() -> Curve:
    """Return R0(z) / R0(middle): rises near empty, held beyond the ends. [1]

    Source: docs/theory.md, eq. 6.5.
    """
    grid = np.concatenate([np.linspace(0.0, 0.4, 17), np.linspace(0.5, 1.0, 6)])
    pieces = Curve.smooth(lambda z: 1.0 + RISE * np.exp(-z / RISE_WIDTH), grid)
    return Curve(pieces.knots, pieces.coefficients, pieces.last_value, 0.0, 0.0)


def usual_rules(continuous_discharge_A: float) -> tuple[Rule, ...]:
    """Return the protection rules that such batteries usually have (common practice)."""
    return lithium_rules(2.8, 3.2, 4.25, 4.10, continuous_discharge_A)


NMC = Chemistry(
    word="NMC",
    nominal_V=3.65,
    Wh_per_kg=150.0,
    specific_heat_J_kg_K=1000.0,
    mass_source="150 Wh/kg and 1000 J/kg/K for a whole battery, from memory",
    is_lithium=True,
    ocv_V=ocv_curve,
    ohmic_factor=ohmic_factor,
    ohmic_ohm_Ah=OHMIC_OHM_AH,
    relaxation_ohm_Ah=RELAXATION_OHM_AH,
    coulombic_efficiency=COULOMBIC_EFFICIENCY,
    self_discharge_per_month=SELF_DISCHARGE_PER_MONTH,
    activation_J_mol=ACTIVATION_J_MOL,
    discharge_per_h=1.0,
    charge_per_h=0.5,
    internal_ohm_Ah=0.15,
    lowest_safe_V=2.5,
    highest_safe_V=4.3,
    highest_charge_V=4.2,
    may_not_charge_below_K=ZERO_C_K,
    usual_rules=usual_rules,
    sources=Sources(
        curve="half-cell fits of Chen et al. (2020) for NMC 811, windows from memory",
        ohmic="0.6 mohm at 100 Ah, scaled by Ah; from memory",
        relaxation="published table of a 31 Ah cell at 20 degC and 50 %, scaled by Ah",
        rise=Typical(
            "ohmic rise near empty", f"1 + {RISE:g} exp(-z / {RISE_WIDTH:g})", "", "from memory"
        ),
        internal="1.5 mohm at 100 Ah for switches and straps, scaled by Ah; from memory",
        hysteresis="a few mV, left out; from memory",
    ),
    fixed=(
        Typical("coulombic efficiency", COULOMBIC_EFFICIENCY, "", "above 0.995, from memory"),
        Typical("self-discharge per month", SELF_DISCHARGE_PER_MONTH, "", "from memory"),
        Typical("activation energy", ACTIVATION_J_MOL / 1e3, "kJ/mol", "15 to 25, from memory"),
        Typical(
            "usable part of the capacity", 1.0, "", "no figure known: only R grows in the cold"
        ),
    ),
)

"""Typical values of chemistry "LFP": graphite against lithium iron phosphate.

Where state of charge 0 is. The curve is the difference of two published half-cell fits over
published windows of lithium content. The 100 % end of those windows gives 3.42 V, as a full cell
at rest; the 0 % end gives 2.71 V, because the fitted curve falls too gently near empty (3.09 V
at 5 %). Batteries are called empty at a cut-off voltage, commonly 2.5 V a cell, so the windows
are continued along their own straight line until the rest voltage is 2.5 V, and state of charge
0 is put there. State of charge 1 stays at the published end. The shift is less than 1 % of
charge, all of it in the knee.

In the cold less can be drawn. A public specification of a 12 V battery at 0.33 C promises 80 % of
the 25 degC capacity at 0 degC and 70 % at -20 degC. Resistance that only grows as Arrhenius has it
gives 98 and 93 % here. So its rise near empty comes earlier in the cold, by `usable_part`, while
the voltage at rest stays. Its values at 0 and -20 degC are calibrated: a typical battery held at
that temperature, 0.33 C from full until its lowest cell is at 2.5 V, gives these 80 and 70 %.
Straight lines between; below -20 degC the last line goes on to -40. Slower discharges give more:
94 and 85 % over 20 h, 99 and 98 % over 100 h. Charging near empty is not hindered by it: what is
measured is discharges, where the phosphate fills up; on charge it empties (own choice).
"""

from functools import cache

import numpy as np

from bankSim.model.cell import ZERO_C_K
from bankSim.model.charge_lag import ChargeLag
from bankSim.model.curve import Curve, Floats
from bankSim.model.half_cells import graphite_voltage, iron_phosphate_voltage
from bankSim.model.rule import Rule
from bankSim.model.typical import Chemistry, Sources, Typical
from bankSim.model.usual_rules import lithium_rules

_FIT = (
    "own fit to open measured data of a 2 Ah cell (About:Energy, BPX open data set), scaled by Ah"
)
_CURVE = (
    "half-cell fits of Safari and Delacourt (2011), windows of Schimpe et al. (2018), "
    "0 put where a cell rests at 2.5 V"
)

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
RELAXATION_OHM_AH = ((0.0216, 111.0), (0.029, 10.3))  # resistance x capacity, time constant in s

# Rise of R0 near empty, 1 + a exp(-z / w): own fit to the same data, drop between the C/20 and the
# 1C discharge at 25 degC from 15 to 40 % (57 mohm mid-way, 76 at 30 %, 105 at 20 %, 170 at 15 %),
# all of the excess put on R0. In the cold it is read below 0 too: it rises on to `RISE_TO`, where
# it is 46 times the value in the middle and ends discharges at C/20, then goes on straight.
RISE = 10.6
RISE_WIDTH = 0.103
RISE_TO = -0.15
CHARGE_OHM_FROM = 0.5  # on charge: the rise is that of discharges, iron phosphate running full

# What a charge meets near full, with the first relaxation: sized so that a charge at 0.5, 0.2 and
# 0.05 C comes to 3.65 V with 2.6, 1 and 0.2 % still to go, as charges of such cells do (from
# memory). Own choice of the form.
CHARGE_LAG = ChargeLag(22.5, width=0.002, starts_at=0.8, bend_V=0.1)

INTERNAL_OHM_AH = 0.15  # 1.5 mohm at 100 Ah: switches, straps, terminals; from memory
ACTIVATION_J_MOL = 20e3  # whole-cell resistance, 15 to 25 kJ/mol; from memory
HYSTERESIS_V = 0.010  # half-gap after rest; published full-cell gaps are 5 to 25 mV
HYSTERESIS_RATE = 100.0  # typical fitted values are 20 to 200; from memory
COULOMBIC_EFFICIENCY = 0.998  # above 99.5 %; from memory
SELF_DISCHARGE_PER_MONTH = 0.02  # 1 to 3 % a month, trade sources

# Part of the charge after which the resistance stands where it is at 0 when warm, over degC.
USABLE_PART = ((-40.0, 0.6919), (-20.0, 0.7313), (0.0, 0.7707), (25.0, 1.0))

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

    Source
    ------
    docs/theory.md, eq. 3.1.
    """
    x = GRAPHITE_WINDOW[0] + published * (GRAPHITE_WINDOW[1] - GRAPHITE_WINDOW[0])
    y = PHOSPHATE_WINDOW[0] + published * (PHOSPHATE_WINDOW[1] - PHOSPHATE_WINDOW[0])
    return iron_phosphate_voltage(y) - graphite_voltage(x)


@cache
def empty_published() -> float:
    """Return the place in the published windows where a cell rests at 2.5 V, by bisection. [1]

    Source: docs/theory.md, eq. 3.6.
    """
    low, high = LOWEST_PUBLISHED, 0.0
    for _ in range(60):
        middle = 0.5 * (low + high)
        if published_rest_voltage(np.asarray(middle)) < EMPTY_V:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


def rest_voltage(state_of_charge: Floats) -> Floats:
    """Return the rest voltage at a state of charge that is 0 at 2.5 V and 1 at full. [V]

    Source: docs/theory.md, eq. 3.6.
    """
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
    """Return R0(z) / R0(middle): rises near empty and on below z = 0. [1]

    Source: docs/theory.md, eq. 6.5.
    """
    grid = np.concatenate([np.linspace(RISE_TO, 0.5, 27), np.linspace(0.6, 1.0, 5)])
    pieces = Curve.smooth(lambda z: 1.0 + RISE * np.exp(-z / RISE_WIDTH), grid)
    return Curve(
        pieces.knots, pieces.coefficients, pieces.last_value, pieces.slope_below, slope_above=0.0
    )


@cache
def usable_part() -> Curve:
    """Return f(T) of `Cell`, the part of the charge usable in the cold, over T in K. [1]"""
    celsius, part = np.array(USABLE_PART).T
    return Curve.linear(celsius + ZERO_C_K, part, hold_ends=True)


def usual_rules(continuous_discharge_A: float) -> tuple[Rule, ...]:
    """Return the protection rules that such batteries usually have (common practice)."""
    return lithium_rules(2.5, 2.9, 3.65, 3.45, continuous_discharge_A)


LFP = Chemistry(
    word="LFP",
    nominal_V=3.2,
    Wh_per_kg=115.0,
    specific_heat_J_kg_K=1000.0,
    mass_source="115 Wh/kg and 1000 J/kg/K for a whole battery, from memory",
    is_lithium=True,
    ocv_V=ocv_curve,
    ohmic_factor=ohmic_factor,
    ohmic_ohm_Ah=OHMIC_OHM_AH,
    relaxation_ohm_Ah=RELAXATION_OHM_AH,
    hysteresis_V=HYSTERESIS_V,
    hysteresis_rate=HYSTERESIS_RATE,
    coulombic_efficiency=COULOMBIC_EFFICIENCY,
    self_discharge_per_month=SELF_DISCHARGE_PER_MONTH,
    activation_J_mol=ACTIVATION_J_MOL,
    discharge_per_h=DISCHARGE_PER_H,
    charge_per_h=CHARGE_PER_H,
    internal_ohm_Ah=INTERNAL_OHM_AH,
    lowest_safe_V=2.0,
    highest_safe_V=3.8,
    highest_charge_V=3.65,
    may_not_charge_below_K=ZERO_C_K,
    usable_part=usable_part(),
    charge_ohm_from=CHARGE_OHM_FROM,
    charge_lag=CHARGE_LAG,
    usual_rules=usual_rules,
    sources=Sources(
        curve=_CURVE,
        ohmic=f"{_FIT}; value in the middle",
        relaxation=_FIT,
        rise=Typical(
            "ohmic rise near empty",
            f"1 + {RISE:g} exp(-z / {RISE_WIDTH:g})",
            "",
            f"{_FIT}: C/20 against 1C discharge; on charge only as at half charge, own choice",
        ),
        internal="1.5 mohm at 100 Ah for switches and straps, scaled by Ah; from memory",
        hysteresis="half of a published gap of 5 to 25 mV after long rest",
    ),
    fixed=(
        Typical("coulombic efficiency", COULOMBIC_EFFICIENCY, "", "above 0.995, from memory"),
        Typical(
            "self-discharge per month", SELF_DISCHARGE_PER_MONTH, "", "1 to 3 %, trade sources"
        ),
        Typical("activation energy", ACTIVATION_J_MOL / 1e3, "kJ/mol", "15 to 25, from memory"),
        Typical(
            "resistance to charge near full",
            f"{CHARGE_LAG.full_ohm:g} ohm Ah a cell at full, half of it "
            f"{100 * CHARGE_LAG.width:g} % below, none below {100 * CHARGE_LAG.starts_at:g} %, "
            f"with the first relaxation; bends at {CHARGE_LAG.bend_V:g} V",
            "",
            "own choice: 0.5, 0.2 and 0.05 C come to 3.65 V 2.6, 1 and 0.2 % below full; "
            "from memory",
        ),
        Typical(
            "usable part of the capacity",
            ", ".join(f"{part:.2f} at {celsius:g}" for celsius, part in USABLE_PART) + " degC",
            "",
            "own fit: 80 % at 0 and 70 % at -20 degC at 0.33 C, a public 12 V specification; "
            "resistance rises earlier by it, voltage at rest stays",
        ),
    ),
)
typical_cell = LFP.typical_cell

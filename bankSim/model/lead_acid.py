"""Typical values of the lead-acid chemistries "AGM", "gel" and "flooded"; a cell is one of 2 V.

What state of charge is. Rated capacity is that of the 20 h discharge. The two wells hold more
charge, `capacity_per_rated` x rated, because even in 20 h not all of it arrives; state of charge
counts all of it. After a 20 h discharge 7 % of it is left.

The voltage curve, over the available well's head y.
- Between full and empty: rest voltages of a 12 V battery at 100, 50 and 0 % of the rated
  capacity, a parabola through them. Published tables differ by 0.15 V per 12 V: take them so.
- Below y = 0, where only a trickle or a warm battery gets: it falls to the usual cut-offs within
  7 % of the charge (own choice).
- Above y = 1: U rises by A ln(1 + (y - 1) / b) to 2.40 V (14.4 V) at 1 % over full. With the
  loss G (y - 1) this is a gassing current that grows e-fold every 0.1 V, as Tafel's law has it.
  Because the available well fills first, a charger reaches its voltage long before the battery
  is full, and the current then tails off as charge moves on into the bound well.

Wells. Manwell and McGowan, Solar Energy 50 (1993) 399. AGM: own fit to 100, 93 and 60 Ah in
20, 10 and 1 h (typical of valve-regulated batteries, from memory); from 1 to 20 h this is a
Peukert exponent of 1.21. Gel: rate as AGM, 1.20 from 1 to 20 h. Flooded: rate 1/h (free acid),
1.25 from 1 to 20 h. Published ranges are 1.05 to 1.15, 1.10 to 1.25 and 1.2 to 1.6.

What ends a discharge is the resistance: around a = 0 (see `Cell`) it rises e-fold every 1 % of the
charge, so that 10.5 V is reached within 2 % of a = 0 between the 20 h and the 1 h rate (acid runs
out where the reaction is; own choice). Further on it rises in a straight line. A charge makes acid
just there, so it is not hindered by that rise: on charge R0 is read at a = 0.08 or above.

Charge. A charging current meets far more resistance than a discharging one: it sets in with the
relaxation pair, rises towards full and bends with the current (see `ChargeLag`). Sizes so that a
12 V battery of 100 Ah half full takes 10 A at some 13 V, within the 12.7 to 13.6 V of practice and
of a published form (Copetti, Lorenzo and Chenlo, Progress in Photovoltaics 1 (1993) 283; both from
memory), and comes to 14.4 V at 80 to 90 % at 10 A, at 60 % at 33 A.

Cold. The usual correction C(T) = C(25 degC) (1 + 0.006 (T - 25 degC)) is for discharges at the
10 to 20 h current. What this current leaves in the bound well is the same at any temperature, so
the part f(T) that the resistance allows must change less: 0.0052 per K (own fit), for 0.006 per K
at the 10 h current between -20 and 35 degC. From about 40 degC on more does not come out. Slower
discharges lose less in the cold: at C/100, 14 to 18 % at -10 degC.
"""

from dataclasses import dataclass
from functools import cache, partial

import numpy as np

from bankSim.model.cell import GAS_CONSTANT_J_MOL_K, REFERENCE_K
from bankSim.model.charge_lag import ChargeLag
from bankSim.model.curve import Curve, Floats
from bankSim.model.rule import Rule
from bankSim.model.typical import Chemistry, Sources, Typical

CELLS = 6  # of a 12 V battery
SPREAD_V = 0.15  # between published rest voltage tables, per 12 V

KNEE_V, KNEE_AT, KNEE_WIDTH = 0.10, -0.06, 0.02  # fall V exp((at - y) / width); own choice
GASSING_V = 2.40  # of a cell, 14.4 V per 12 V: reached at ROOM beyond full
ROOM = 0.01  # own choice
TAFEL_V = 0.10  # of a cell, per e-fold of gassing current; 0.2 to 0.24 V a decade, from memory

ACTIVATION_J_MOL = 0.004 * GAS_CONSTANT_J_MOL_K * REFERENCE_K**2  # +0.4 %/K colder; from memory
RISE, RISE_WIDTH = 10.0, 0.01  # of R0 over R0 mid-way near empty, RISE exp(-a / width); own fit
RISE_TO, SLOPE_BEYOND = -0.02, -1000.0  # where it goes on straight, and how; own choice
CHARGE_OHM_FROM = 0.08  # on charge, which makes acid where it ran out, that rise is no hindrance

CAPACITY_PER_K = 0.006  # at 10 to 20 h rates; usual in standards for stationary batteries
PART_PER_K = 0.0052  # of f(T), for the above at the 10 h current; own fit
COLDEST_K, WARMEST_K = 233.15, 323.15  # the straight line is held beyond
LAG_WIDTH, LAG_BEND_V = 0.05, 0.08  # of what a charge meets; own choice within practice
RELAXATION_OHM_AH = ((0.05, 100.0),)  # a 50 Ah cell: 1.0 mohm, 100 s; Ceraolo form, from memory


@dataclass(frozen=True, slots=True)
class RestVoltages:
    """Rest voltages of a 12 V battery at 100, 50 and 0 % of the rated capacity. [V]"""

    full_V: float
    half_V: float
    empty_V: float


def rest_voltage(table: RestVoltages, capacity_per_rated: float, head: Floats) -> Floats:
    """Return the open-circuit voltage of one cell up to full, without what comes above.

    Parameters
    ----------
    table : RestVoltages
    capacity_per_rated : float
        All charge over rated charge. [1]
    head : array
        Of the available well. [1]

    Returns
    -------
    voltage : array, shape of `head`
        [V]

    Source
    ------
    docs/theory.md, eq. 3.7.
    """
    rated = 1.0 - (1.0 - head) * capacity_per_rated
    rise = table.full_V - table.empty_V
    bend = table.half_V - 0.5 * (table.full_V + table.empty_V)
    straight = table.empty_V + rated * rise + 4.0 * bend * rated * (1.0 - rated)
    return np.asarray(straight / CELLS - KNEE_V * np.exp((KNEE_AT - head) / KNEE_WIDTH))


@cache
def ocv_curve(table: RestVoltages, capacity_per_rated: float) -> Curve:
    """Return `rest_voltage` as cubic pieces, with the rise above full.

    `capacity_per_rated` in Ah per rated Ah. [1]

    Source: docs/theory.md, eq. 3.8.
    """
    low = np.concatenate([np.linspace(-0.11, 0.15, 27), np.linspace(0.2, 1.0, 9)])
    high = 1.0 + ROOM * np.concatenate([[0.0], np.geomspace(0.02, 100.0, 24)])
    width = ROOM / np.expm1((GASSING_V - table.full_V / CELLS) / TAFEL_V)

    def above(head: Floats) -> Floats:
        return np.asarray(table.full_V / CELLS + TAFEL_V * np.log1p((head - 1.0) / width))

    upto = Curve.smooth(partial(rest_voltage, table, capacity_per_rated), low)
    over = Curve.smooth(above, high)
    return Curve(
        np.concatenate([upto.knots, over.knots[1:]]),
        np.concatenate([upto.coefficients, over.coefficients]),
        over.last_value,
        upto.slope_below,
        over.slope_above,
    )


@cache
def ohmic_factor() -> Curve:
    """Return R0(a) / R0(mid-way): doubles from full to empty, then rises until nothing flows. [1]

    Two thirds at a = 1, four thirds at a = 0 (twice, from memory), plus the rise around a = 0.

    Source: docs/theory.md, eq. 6.5.
    """
    grid = np.concatenate([np.linspace(RISE_TO, 0.08, 26), np.linspace(0.1, 1.0, 10)])
    rising = Curve.smooth(lambda a: (2.0 - a) / 1.5 + RISE * np.exp(-a / RISE_WIDTH), grid)
    return Curve(rising.knots, rising.coefficients, rising.last_value, SLOPE_BEYOND, 0.0)


@cache
def usable_part() -> Curve:
    """Return f(T) of `Cell`, 1 + 0.0052 (T - 25 degC), over T in K. [1]

    Source: docs/theory.md, eq. 6.4.
    """
    ends_K = np.array([COLDEST_K, WARMEST_K])
    return Curve.linear(ends_K, 1.0 + PART_PER_K * (ends_K - REFERENCE_K), hold_ends=True)


def no_rules(continuous_discharge_A: float) -> tuple[Rule, ...]:
    """Return no rules: such batteries have no electronics."""
    return ()


def _fixed(
    efficiency: float, self_discharge: float, gassing_per_h: float, charge_ohm_Ah: float
) -> tuple[Typical, ...]:
    """List what a file cannot change."""
    gassing = f"{gassing_per_h:g} x rated Ah, e-fold every {TAFEL_V:g} V of a cell"
    warmth = f"1 + {PART_PER_K:g} per K from 25 degC"
    law = (
        f"own fit: capacity 1 + {CAPACITY_PER_K:g} per K at the 10 h current, the usual correction "
        "in stationary practice; resistance rises earlier by it, voltage at rest stays"
    )
    return (
        Typical("coulombic efficiency", efficiency, "", "gassing on top; from memory"),
        Typical("self-discharge per month", self_discharge, "", "from memory"),
        Typical("activation energy", ACTIVATION_J_MOL / 1e3, "kJ/mol", "0.4 %/K, from memory"),
        Typical("usable part of the capacity", warmth, "", law),
        Typical("gassing current at 2.4 V a cell", gassing, "", "from memory"),
        Typical(
            "resistance to charge, besides that to discharge",
            f"{charge_ohm_Ah:g} ohm Ah a cell at full, half of it {100 * LAG_WIDTH:g} % below, "
            f"with the first relaxation; bends at {LAG_BEND_V:g} V",
            "",
            "own choice within practice and a published form (Copetti 1993), both from memory",
        ),
    )


def _chemistry(
    *,
    word: str,
    table: RestVoltages,
    table_source: str,
    wells: tuple[float, float, float],
    wells_source: str,
    full_ohm_Ah: float,
    ohmic_source: str,
    efficiency: float,
    self_discharge: float,
    gassing_per_h: float,
    charge_ohm_Ah: float,
    charge_per_h: float,
    discharge_per_h: float,
    Wh_per_kg: float,
    highest_V: tuple[float, float],
) -> Chemistry:
    """Make one of the three; `wells` is (c, k' per h, capacity over rated)."""
    fraction, rate_per_h, per_rated = wells
    return Chemistry(
        word=word,
        nominal_V=2.0,
        Wh_per_kg=Wh_per_kg,
        specific_heat_J_kg_K=900.0,
        mass_source=f"{Wh_per_kg:g} Wh/kg and 900 J/kg/K for a whole battery, from memory",
        is_lithium=False,
        ocv_V=partial(ocv_curve, table, per_rated),
        ohmic_factor=ohmic_factor,
        ohmic_ohm_Ah=1.5 * full_ohm_Ah / CELLS,
        relaxation_ohm_Ah=RELAXATION_OHM_AH,
        coulombic_efficiency=efficiency,
        self_discharge_per_month=self_discharge,
        activation_J_mol=ACTIVATION_J_MOL,
        discharge_per_h=discharge_per_h,
        charge_per_h=charge_per_h,
        internal_ohm_Ah=0.0,
        lowest_safe_V=1.75,
        highest_safe_V=highest_V[1],
        highest_charge_V=highest_V[0],
        may_not_charge_below_K=None,
        usual_rules=no_rules,
        capacity_per_rated=per_rated,
        available_fraction=fraction,
        well_rate_per_h=rate_per_h,
        gassing_per_h=gassing_per_h / ROOM,
        usable_part=usable_part(),
        charge_ohm_from=CHARGE_OHM_FROM,
        charge_lag=ChargeLag(charge_ohm_Ah, LAG_WIDTH, bend_V=LAG_BEND_V),
        sources=_sources(table_source, ohmic_source, wells_source),
        fixed=_fixed(efficiency, self_discharge, gassing_per_h, charge_ohm_Ah),
    )


def _sources(table: str, ohmic: str, wells: str) -> Sources:
    """Say where the numbers of one of the three come from."""
    return Sources(
        curve=f"{table}; tables differ by {SPREAD_V:g} V per 12 V",
        ohmic=f"{ohmic}; 1.5 times that mid-way, from memory",
        relaxation="a published form (Ceraolo 2000), values from memory, scaled by Ah",
        rise=Typical(
            "ohmic rise towards empty",
            f"x2 from full to empty, + {RISE:g} exp(-a / {RISE_WIDTH:g})",
            "",
            "x2 from memory; own fit of the rest: ends a discharge at 10.5 V per 12 V, and hinders "
            "no charge",
        ),
        hysteresis="none: the gassing rise and the wells stand for what is seen of it",
        internal="straps and terminals are counted in the cells",
        wells=wells,
    )


AGM = _chemistry(
    word="AGM",
    table=RestVoltages(12.85, 12.25, 11.75),
    table_source="12.85, 12.25 and 11.75 V at 100, 50 and 0 %, from memory",
    wells=(0.475111, 0.676960, 1.0816),
    wells_source="own fit to 100, 93 and 60 Ah in 20, 10 and 1 h, typical rates from memory",
    full_ohm_Ah=0.45,
    ohmic_source="4.5 mohm full at 12 V 100 Ah (3 to 6, from memory)",
    efficiency=0.97,
    self_discharge=0.03,
    gassing_per_h=0.005,
    charge_ohm_Ah=10.0,
    charge_per_h=0.25,
    discharge_per_h=1.0,
    Wh_per_kg=38.0,
    highest_V=(2.45, 2.50),
)
GEL = _chemistry(
    word="gel",
    table=RestVoltages(12.85, 12.30, 11.80),
    table_source="12.85, 12.30 and 11.80 V at 100, 50 and 0 %, from memory",
    wells=(0.482956, 0.676960, 1.079073),
    wells_source="own choice: rate as AGM, Peukert exponent 1.20 from 1 to 20 h (1.10 to 1.25)",
    full_ohm_Ah=0.65,
    ohmic_source="6.5 mohm full at 12 V 100 Ah, from memory",
    efficiency=0.96,
    self_discharge=0.03,
    gassing_per_h=0.004,
    charge_ohm_Ah=12.0,
    charge_per_h=0.20,
    discharge_per_h=0.5,
    Wh_per_kg=36.0,
    highest_V=(2.40, 2.45),
)
FLOODED = _chemistry(
    word="flooded",
    table=RestVoltages(12.65, 12.24, 11.89),
    table_source="12.65, 12.24 and 11.89 V at 100, 50 and 0 %, a widely reprinted table",
    wells=(0.397378, 1.0, 1.075825),
    wells_source="own choice: rate 1/h, Peukert exponent 1.25 from 1 to 20 h (1.2 to 1.6)",
    full_ohm_Ah=0.75,
    ohmic_source="7.5 mohm full at 12 V 100 Ah (5 to 10, from memory)",
    efficiency=0.90,
    self_discharge=0.05,
    gassing_per_h=0.006,
    charge_ohm_Ah=13.0,
    charge_per_h=0.15,
    discharge_per_h=0.5,
    Wh_per_kg=40.0,
    highest_V=(2.47, 2.67),
)

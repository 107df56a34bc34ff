"""Leads and links: resistance of copper cable, joints and fuses; what they may carry and break."""

import math

import numpy as np

from bankSim.errors import ParameterError

# Maximum conductor resistance at 20 degC, plain copper, class 5 (flexible): IEC 60228.
CLASS_5_OHM_PER_KM = {
    0.75: 26.0,  # from memory
    1.0: 19.5,  # from memory
    1.5: 13.3,  # from memory
    2.5: 7.98,  # from memory
    4.0: 4.95,
    6.0: 3.30,
    10.0: 1.91,
    16.0: 1.21,
    25.0: 0.780,
    35.0: 0.554,
    50.0: 0.386,
    70.0: 0.272,
    95.0: 0.206,
    120.0: 0.161,
    150.0: 0.129,
    185.0: 0.106,
    240.0: 0.0801,  # from memory
    300.0: 0.0641,  # from memory
}
SMALLEST_MM2, LARGEST_MM2 = min(CLASS_5_OHM_PER_KM), max(CLASS_5_OHM_PER_KM)
COPPER_PER_K = 0.00393  # rise of resistance at 20 degC, annealed copper; national wire tables
TWENTY_C_K = 293.15

JOINT_OHM = 50e-6  # lug on stud in a vehicle, 20 to 100 uohm; from memory
FUSE_DROP_V = 0.080  # bolt-down fuse at its rated current, 50 to 120 mV; from memory

# Allowable continuous current of one conductor in air of 30 degC [A], by the temperature that its
# insulation stands [degC]: as in ISO 10133 (now in ISO 13297) for small craft, from memory.
INSULATION_C = (70, 90, 105)
TABLE_AIR_C = 30.0
ALLOWED_A = {
    0.75: (10.0, 12.0, 16.0),
    1.0: (14.0, 18.0, 20.0),
    1.5: (18.0, 21.0, 25.0),
    2.5: (25.0, 30.0, 35.0),
    4.0: (35.0, 40.0, 45.0),
    6.0: (45.0, 50.0, 60.0),
    10.0: (65.0, 70.0, 90.0),
    16.0: (90.0, 100.0, 130.0),
    25.0: (120.0, 140.0, 170.0),
    35.0: (160.0, 185.0, 210.0),
    50.0: (210.0, 230.0, 270.0),
    70.0: (265.0, 285.0, 330.0),
    95.0: (310.0, 330.0, 390.0),
    120.0: (360.0, 400.0, 450.0),
    150.0: (380.0, 430.0, 475.0),
}

# Direct current that fuses of a kind usually break [A]; from memory, each maker states his own.
BREAKING_A = {
    "blade fuses (ISO 8820-3)": 1000.0,
    "bolt-down strip fuses (ISO 8820-5)": 2000.0,
    "class T fuses (UL 248-15)": 20_000.0,
}


def cable_ohm(length_m: float, area_mm2: float, temperature_K: float, conductors: int = 1) -> float:
    """Return the resistance of flexible copper cable.

    R = n l r(A) (1 + 0.00393 (T - 20 degC)); between two areas of the standard, resistance x
    area is interpolated in a straight line.

    Parameters
    ----------
    length_m : float
        Of one conductor, >= 0. [m]
    area_mm2 : float
        Cross-section, 0.75 to 300. [mm2]
    temperature_K : float
        Of the copper. [K]
    conductors : int
        How many of them in series: 2 for plus and minus. [1]

    Returns
    -------
    resistance : float
        [ohm]

    Raises
    ------
    ParameterError
        If the area is outside the table or the length below 0.

    Source
    ------
    IEC 60228, class 5, plain copper. These are maxima; real cable is a few % lower.
    Equations: docs/theory.md, eq. 9.1.
    """
    if not SMALLEST_MM2 <= area_mm2 <= LARGEST_MM2:
        raise ParameterError("area_mm2", area_mm2, f"{SMALLEST_MM2:g} to {LARGEST_MM2:g} mm2")
    if not length_m >= 0.0:
        raise ParameterError("length_m", length_m, "0 or more")
    areas = np.array(list(CLASS_5_OHM_PER_KM))
    ohm_mm2_per_km = areas * np.array(list(CLASS_5_OHM_PER_KM.values()))
    at_20_C = float(np.interp(area_mm2, areas, ohm_mm2_per_km)) / area_mm2 / 1000.0
    warmth = 1.0 + COPPER_PER_K * (temperature_K - TWENTY_C_K)
    return conductors * length_m * at_20_C * warmth


def allowed_A(  # noqa: N802 - the unit as printed
    area_mm2: float, insulation_C: int = INSULATION_C[0], air_C: float = TABLE_AIR_C
) -> float:
    """Return what one copper conductor may carry all the time. [A]

    Straight lines between the areas of the table; beyond the largest as the root of the area (own
    choice, on the safe side). In warmer air less, as the heat that it sheds is in proportion to
    what is left up to the temperature of its insulation; in colder air no more (own choice).

    Parameters
    ----------
    area_mm2 : float
        Cross-section, 0.75 to 300. [mm2]
    insulation_C : int
        What its insulation stands: 70 (the usual PVC), 90 or 105. [degC]
    air_C : float
        Of the air around it; that of the table is 30. [degC]

    Raises
    ------
    ParameterError
        If one of them is not in the table.

    Source
    ------
    ISO 10133, single conductors, from memory. Less applies in bundles. The factor for the air is
    that of IEC 60364-5-52, table B.52.14, which it gives to the digits printed (from memory).
    Equations: docs/theory.md, eq. 9.3, 9.4.
    """
    if not SMALLEST_MM2 <= area_mm2 <= LARGEST_MM2:
        raise ParameterError("area_mm2", area_mm2, f"{SMALLEST_MM2:g} to {LARGEST_MM2:g} mm2")
    if insulation_C not in INSULATION_C:
        raise ParameterError("insulation_C", insulation_C, "70, 90 or 105")
    areas, column = list(ALLOWED_A), INSULATION_C.index(insulation_C)
    listed = float(np.interp(area_mm2, areas, [row[column] for row in ALLOWED_A.values()]))
    warmer = (insulation_C - max(air_C, TABLE_AIR_C)) / (insulation_C - TABLE_AIR_C)
    return listed * math.sqrt(max(area_mm2 / areas[-1], 1.0) * max(warmer, 0.0))


def joints_ohm(count: int) -> float:
    """Return the resistance of that many bolted joints in series. [ohm]

    Source: docs/theory.md, eq. 9.2.
    """
    return count * JOINT_OHM


def fuse_ohm(fuse_A: float) -> float:
    """Return the resistance of a bolt-down fuse from its usual drop at rated current. [ohm]

    Source: docs/theory.md, eq. 9.2.
    """
    if not fuse_A > 0.0:
        raise ParameterError("fuse_A", fuse_A, "more than 0")
    return FUSE_DROP_V / fuse_A

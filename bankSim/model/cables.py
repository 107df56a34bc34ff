"""Resistance of leads and links: copper cable by length and area, joints, fuses."""

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


def joints_ohm(count: int) -> float:
    """Return the resistance of that many bolted joints in series. [ohm]"""
    return count * JOINT_OHM


def fuse_ohm(fuse_A: float) -> float:
    """Return the resistance of a bolt-down fuse from its usual drop at rated current. [ohm]"""
    if not fuse_A > 0.0:
        raise ParameterError("fuse_A", fuse_A, "more than 0")
    return FUSE_DROP_V / fuse_A

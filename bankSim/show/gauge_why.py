"""Why a gauge that knows only the voltage is off, in plain words."""

import numpy as np

from bankSim.measured.gauge import NEAR_POINTS, Judged, Place
from bankSim.sim.numbers import number

MIDDLE = (30.0, 80.0)  # of the charge, where curves are flattest [%]


def why(judged: Judged) -> tuple[str, ...]:
    """Return what makes the error where it is largest."""
    lines = [_middle(judged), _slope(judged.worst)]
    lines += [line for line in (_load(judged), _spread(judged.worst)) if line]
    lines.append(
        "Rest after a load lets the voltage climb for minutes to hours, and the reading with it, "
        "while nothing comes back; right after a charge it reads too much."
    )
    lines.append(
        "On lithium iron phosphate a discharged and a charged cell of the same charge rest some 5 "
        "to 25 mV apart for good (hysteresis); on a flat curve that alone is many points."
    )
    return tuple(lines)


def _slope(place: Place) -> str:
    moved = place.points_per_10mV
    if moved <= 0.0:
        return (
            f"At {number(place.voltage_V, 4)} V the reading stands at the end of its table: it "
            "cannot say more there."
        )
    start = f"At {number(place.voltage_V, 4)} V 10 mV of meter error move the reading by "
    return f"{start}{number(moved, 2)} points: one point is worth {number(10.0 / moved, 2)} mV."


def _middle(judged: Judged) -> str:
    """Say how little voltage stands for half of the charge."""
    table = judged.table
    low, high = (float(np.interp(one, table.percent, table.voltage_V)) for one in MIDDLE)
    mV = 1000.0 * (high - low)
    points = MIDDLE[1] - MIDDLE[0]
    text = (
        f"The table goes from {MIDDLE[0]:.0f} to {MIDDLE[1]:.0f} % within {number(mV, 2)} mV, "
        f"{number(mV / points, 2)} mV a point: the curve is that flat"
    )
    if judged.course.ohm is None:
        return f"{text}."
    drop_mV = 100.0 * judged.course.ohm * judged.course.capacity_Ah
    return f"{text}, and a load of C/10 alone takes {number(drop_mV, 2)} mV off."


def _load(judged: Judged) -> str:
    place = judged.worst
    if place.points_per_C10 is None:
        return ""
    amperes = judged.course.capacity_Ah / 10.0
    return (
        f"A load of C/10 ({number(amperes)} A) more pulls the voltage down by its resistance and "
        f"the reading there by {number(place.points_per_C10, 2)} points, although nothing is gone."
    )


def _spread(place: Place) -> str:
    if place.high_percent - place.low_percent < 1.0:
        return ""
    return (
        f"Published tables differ: at this voltage they read {number(place.low_percent, 2)} to "
        f"{number(place.high_percent, 2)} %."
    )


def verdict(judged: Judged) -> str:
    """Say how much of the time the reading is usable."""
    part = 100.0 * judged.within_10_points
    return (
        f"It is within {number(NEAR_POINTS, 2)} points of the counted remainder in "
        f"{number(part, 2)} % of the time; its mean error is "
        f"{number(judged.mean_points, 2)} points."
    )

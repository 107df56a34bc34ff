"""Why a gauge that knows only the voltage is off, in plain words."""

from bankSim.measured.gauge import NEAR_POINTS, Judged, Place
from bankSim.sim.numbers import number

FLAT_POINTS = 5.0  # that 10 mV move the reading


def why(judged: Judged) -> tuple[str, ...]:
    """Return what makes the error where it is largest."""
    lines = [_slope(judged.worst)]
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
    flat = "the curve is flat there" if moved >= FLAT_POINTS else "the curve is fairly steep there"
    return f"{start}{number(moved, 2)} points: {flat}, {number(10.0 / moved, 2)} mV a point."


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
        f"{number(part, 2)} % of the time; its mean error is {number(judged.mean_points, 2)} points."
    )

"""Why a gauge that knows only the voltage is off, in plain words."""

import numpy as np

from bankSim.measured.gauge import NEAR_POINTS, Judged, Place
from bankSim.model.chemistry import is_lead
from bankSim.sim.numbers import number

MIDDLE = (30.0, 80.0)  # of the charge, where curves are flattest [%]


def why(judged: Judged) -> tuple[str, ...]:
    """Return what makes the error where it is largest."""
    place = judged.worst
    parts = (_middle(judged), _current(place), _slope(place), _load(judged), _spread(place))
    return (*(line for line in parts if line), *_memory(judged.course.chemistry))


def _memory(chemistry: str | None) -> tuple[str, ...]:
    """Say what the voltage remembers of the hours before."""
    rest = (
        "Rest after a load lets the voltage climb for minutes to hours, and the reading with it, "
        "while nothing comes back; right after a charge it reads too much."
    )
    if is_lead(chemistry):
        return (
            f"{rest} In lead-acid the acid evens out for many hours, and a surface charge stays "
            "until some load takes it off.",
        )
    if chemistry not in (None, "LFP"):
        return (rest,)
    gap = (
        "A cell of lithium iron phosphate rests some 5 to 25 mV lower after a discharge than after "
        "a charge to the same content, for good (hysteresis); on a flat curve that alone is many "
        "points."
    )
    return rest, gap


def _current(place: Place) -> str:
    """Say how much of the error the current of that instant makes."""
    points = place.points_by_current
    if points is None or abs(points) < 1.0:
        return ""
    what, way = ("load pulls", "down") if points < 0.0 else ("charge lifts", "up")
    left = place.error_points - points
    text = (
        f"Where the error is largest, the {what} the reading {way} by {abs(points):.0f} points "
        f"through the resistance; without it {left:+.0f} points would be left"
    )
    if abs(left) < 5.0:
        return f"{text}."
    return f"{text}, from what the table says otherwise, from the hours before and from hysteresis."


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
        f"{number(mV / points, 2)} mV a point"
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
        f"Published tables differ: at this voltage they read {place.low_percent:.0f} to "
        f"{place.high_percent:.0f} %."
    )


def verdict(judged: Judged) -> str:
    """Say how much of the time the reading is usable."""
    part = 100.0 * judged.within_10_points
    left = "the counted remainder" if judged.course.counts_all else "what is left"
    return (
        f"It is within {number(NEAR_POINTS, 2)} points of {left} in "
        f"{number(part, 2)} % of the time; its mean error is "
        f"{number(judged.mean_points, 2)} points."
    )

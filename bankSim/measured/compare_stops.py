"""When the current of each battery stops while the bank goes on, and in which order."""

import numpy as np

from bankSim.measured.compare_course import Course, stops_s
from bankSim.measured.compare_found import Stop
from bankSim.measured.compare_frame import Frame

ORDER_PART = 0.002  # of the time: batteries that stop no further apart do so together


def stops_of(frame: Frame, central: Course, measured: Course) -> tuple[Stop, ...]:
    """Return when each battery's current stops, predicted and measured."""
    found = []
    for place in frame.known:
        both = [_stop(frame, course, place) for course in (central, measured)]
        (predicted_h, predicted_V), (measured_h, measured_V) = both
        found.append(Stop(frame.names[place], predicted_h, measured_h, predicted_V, measured_V))
    return tuple(found)


def _stop(frame: Frame, course: Course, place: int) -> tuple[float | None, float | None]:
    """Return when the current of a battery stops while the bank goes on, and the voltage then."""
    own = frame.ended(course)
    stop_s = stops_s(own.time_s, own.batteries_A[place], float(frame.floors_A[place]))
    slack = max(1.5 * frame.interval_s, ORDER_PART * own.end_s)
    if stop_s > own.end_s - slack:
        return None, None
    at = int(np.searchsorted(own.time_s, stop_s, side="left"))
    return stop_s / 3600.0, float(own.voltage_V[at])


def order_of(
    stops: tuple[Stop, ...], *, measured: bool, frame: Frame
) -> tuple[tuple[str, ...], ...]:
    """Return the batteries in the order of their stops; those that stop with the bank last."""
    late = np.inf
    times = [
        (late if (at := one.measured_h if measured else one.predicted_h) is None else at, one)
        for one in stops
    ]
    times.sort(key=lambda case: case[0])
    found: list[tuple[str, ...]] = []
    before = -np.inf
    slack = 1.5 * frame.interval_s / 3600.0
    for at, one in times:
        together = at == before or at - before <= slack
        if found and together:
            found[-1] = (*found[-1], one.battery)
        else:
            found.append((one.battery,))
        before = at
    return tuple(found)

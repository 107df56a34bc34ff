"""Both courses over even steps of time, the band of the draws, and what lies between them."""

import numpy as np

from bankSim.measured.compare_course import Course, in_steps
from bankSim.measured.compare_found import Lines, Residual
from bankSim.measured.compare_frame import Frame, Meter

STEPS = 400
LOW, HIGH = 5.0, 95.0  # percent of the draws


def lines_of(frame: Frame, central: Course, measured: Course, drawn: list[Course]) -> Lines:
    """Return both courses and the band of the draws over even steps of time."""
    ended = [frame.ended(one) for one in (central, measured)]
    last_s = max(one.end_s for one in ended)
    step_s = max(last_s / STEPS, frame.interval_s)
    edges = np.arange(0.0, last_s + step_s, step_s)
    predicted, seen = (in_steps(one, edges) for one in ended)
    every = np.array([in_steps(frame.ended(one), edges) for one in drawn])
    gone = np.isnan(every[:, :1])
    every[:, :1] = np.where(gone, -np.inf, every[:, :1])
    every[:, 1:] = np.where(gone, 0.0, every[:, 1:])
    low = np.percentile(every, LOW, axis=0, method="lower")
    high = np.percentile(every, HIGH, axis=0, method="higher")
    return Lines((edges[1:] + edges[:-1]) / 7200.0, predicted, seen, low, high)


def inside_of(lines: Lines, meter: Meter) -> list[float]:
    """Return the part of the measured time that each line lies in its band, give or take 2 sd.

    A pure number. [1]
    """
    found = []
    for row, (seen, low, high) in enumerate(
        zip(lines.measured, lines.low, lines.high, strict=True)
    ):
        there = np.isfinite(seen)
        percent = meter.voltage_percent if row == 0 else meter.current_percent
        largest = float(np.abs(seen[there]).max(initial=0.0))
        slack = 2.0 * percent / 100.0 * largest
        if row > 0:
            slack = max(slack, 0.01 * largest)
        good = (seen[there] >= low[there] - slack) & (seen[there] <= high[there] + slack)
        found.append(float(good.mean()) if there.any() else float("nan"))
    return found


def residual_of(lines: Lines) -> Residual:
    """Return how far the measured voltage is from the predicted one."""
    gap = lines.residual_V
    both = np.flatnonzero(np.isfinite(gap))
    own = gap[both]
    at = int(np.argmax(np.abs(own)))
    thirds = [float(part.mean()) for part in np.array_split(own, 3)] if own.size > 2 else []
    return Residual(
        float(np.sqrt(np.mean(own**2))),
        float(own[at]),
        float(lines.time_h[both[at]]),
        tuple(thirds),
    )

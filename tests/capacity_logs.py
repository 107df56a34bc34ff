"""Logs of capacity tests whose Ah are known in closed form."""

import numpy as np

from bankSim.measured.log import Log


def make_log(
    hours=5.0,
    amperes=20.0,
    step_s=10.0,
    *,
    rest_before_s=3600.0,
    after="vanish",
    after_s=600.0,
    pauses=(),
    charge=None,
    knee_V=3.0,
    file="bench.csv",
    **more,
):
    """A discharge at constant current that takes `hours`, voltage falling at its end.

    `after`: "vanish", "rebound", "stop" (no knee) or "end" (nothing after). `pauses`: (at hour,
    length in s, current). `charge`: (seconds, amperes at its end) before the rest.
    """
    parts = []
    if charge is not None:
        seconds, tail = charge
        taper = np.linspace(-amperes, -tail, int(seconds / step_s))
        parts.append((taper, np.full(taper.size, 14.2)))
    still = int(rest_before_s / step_s)
    parts.append((np.zeros(still), np.full(still, 13.4)))
    count = round(hours * 3600.0 / step_s)
    left = 1.0 - np.arange(1, count + 1) / count
    fall = 0.0 if after == "stop" else knee_V
    voltage = 12.8 + 0.4 * left - fall * np.exp(-left / 0.01)
    current = np.full(count, amperes)
    for at, length, instead in sorted(pauses, reverse=True):
        here, width = round(at * 3600.0 / step_s), round(length / step_s)
        current = np.insert(current, here, np.full(width, instead))
        voltage = np.insert(voltage, here, np.full(width, 13.0))
    parts.append((current, voltage))
    if after != "end":
        idle = int(after_s / step_s)
        level = {"vanish": 0.2, "rebound": 12.2, "stop": 13.1}[after]
        parts.append((np.zeros(idle), np.full(idle, level)))
    current, voltage = (np.concatenate([part[k] for part in parts]) for k in (0, 1))
    time = step_s * np.arange(current.size)
    return Log(file, time, voltage, current, **more)


def write_log(file, log):
    """Write a log as the reading room takes it: charge positive."""
    rows = [
        f"{t:.1f},{-i:.2f},{v:.3f}"
        for t, i, v in zip(log.time_s, log.current_A, log.voltage_V, strict=True)
    ]
    file.write_text("time_s,current_A,voltage_V\n" + "\n".join(rows) + "\n")
    return file

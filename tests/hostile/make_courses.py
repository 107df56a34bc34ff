"""Logs of tests as benches make them: rests, discharges, pauses, gaps, charges, cut-outs, slips.

The battery behind them is a curve, a resistance and one relaxation: enough to be taken for one.
"""

import math
import random
from dataclasses import dataclass, field

CELLS = {"LFP": 4, "NMC": 4, "AGM": 6}


@dataclass
class Course:
    """A battery on a bench, and the rows its meter wrote.

    Parameters
    ----------
    charge_Ah : float
        What it holds when full. [Ah]
    held : float
        State of charge. [1]
    rows : list of (time, voltage, current)
        Discharge positive. [s, V, A]
    """

    chemistry: str
    charge_Ah: float
    held: float
    every_s: float
    ohm: float
    time_s: float = 0.0
    lag_V: float = 0.0
    rows: list[tuple[float, float, float]] = field(default_factory=list)

    def rest_V(self) -> float:
        """Return the voltage without current."""
        z = self.held
        if self.chemistry == "AGM":
            return 11.6 + 1.2 * z
        knee = math.exp(-max(z, -0.2) / 0.03)
        slope = 0.25 if self.chemistry == "LFP" else 3.6
        return 12.9 + slope * z - 2.0 * knee + 0.5 * math.exp(min(z - 1.0, 0.1) / 0.01)

    def go(self, current_A: float, hours: float, end_V: float = 0.0) -> None:
        """Let a current flow until a time is over or a voltage is reached."""
        for _ in range(min(int(hours * 3600.0 / self.every_s), 400)):
            wanted_V = 0.6 * self.ohm * current_A
            self.lag_V += (wanted_V - self.lag_V) * (1.0 - math.exp(-self.every_s / 120.0))
            volts = self.rest_V() - current_A * self.ohm - self.lag_V
            if current_A > 0.0 and volts < end_V:
                return
            self.rows.append((self.time_s, volts, current_A))
            self.time_s += self.every_s
            self.held -= current_A * self.every_s / 3600.0 / self.charge_Ah

    def cut(self, hours: float, dead_V: float) -> None:
        """Show terminals behind an open switch."""
        for _ in range(int(hours * 3600.0 / self.every_s) % 60):
            self.rows.append((self.time_s, dead_V, 0.0))
            self.time_s += self.every_s


def course(rng: random.Random, chemistry: str, charge_Ah: float) -> Course:
    """Return a course: mostly one discharge to its end, with what comes between. [Ah]"""
    rate = 10.0 ** rng.uniform(-1.3, 0.2)
    every_s = max(1.0, 3600.0 / rate / rng.choice((15, 60, 150)))
    one = Course(chemistry, charge_Ah, rng.choice((1.0, 1.0, 0.9, 0.5)), every_s, 1.5 / charge_Ah)
    current_A, end_V = rate * charge_Ah, rng.choice((0.0, 10.0, 10.5, 11.5))
    one.go(0.0, rng.choice((0.0, 0.1, 1.0)))
    for _ in range(rng.choice((1, 1, 1, 2, 3))):
        for _ in range(rng.choice((1, 1, 2, 4))):
            one.go(current_A * rng.choice((1.0, 1.0, rng.uniform(0.2, 3.0))),
                   rng.choice((2.0, 1.0, 0.3)) / rate, end_V)  # fmt: skip
            _between(rng, one, current_A)
        _after(rng, one, current_A)
    return one


def _between(rng: random.Random, one: Course, current_A: float) -> None:
    """A pause, a gap of the recorder, a short charge, or nothing."""
    way = rng.random()
    if way < 0.3:
        one.go(0.0, 10.0 ** rng.uniform(-2, 0.6))
    elif way < 0.5:
        one.time_s += 10.0 ** rng.uniform(1, 5)
        one.held -= rng.choice((0.0, 0.0, 0.1))
    elif way < 0.6:
        one.go(-0.3 * current_A, 0.3)


def _after(rng: random.Random, one: Course, current_A: float) -> None:
    """The cut-out, and charging again."""
    if rng.random() < 0.4:
        one.cut(rng.uniform(0.05, 1.0), rng.choice((0.0, 0.3, one.rest_V())))
    if rng.random() < 0.5:
        one.go(0.0, rng.uniform(0.0, 0.5))
    if rng.random() < 0.5:
        while one.held < rng.choice((1.0, 0.97, 0.6)) and len(one.rows) < 2000:
            one.go(-current_A * rng.choice((1.0, 0.3)), 0.3)
            if rng.random() < 0.1:
                return


def sheet(rng: random.Random, one: Course) -> bytes:
    """Write a course as some meter would: units, signs, columns and slips of its own."""
    rows = _slips(rng, list(one.rows)) or [(0.0, 12.8, 0.0)]
    sign, digits = rng.choice((1.0, 1.0, -1.0)), rng.choice((1, 2, 3, 6))
    header, time_in = rng.choice((("time_s", 1.0), ("time_min", 60.0), ("time_h", 3600.0),
                                  ("Test Time / s", 1.0), ("t", 1.0)))  # fmt: skip
    volts_in = rng.choice((1.0, 1.0, 1e-3))
    columns = [header, "voltage_V" if volts_in == 1.0 else "Voltage (mV)", "current_A"]
    cells, warm = rng.random() < 0.3, rng.random() < 0.3
    count = CELLS[one.chemistry]
    columns += [f"cell_{n + 1}_V" for n in range(count)] * cells + ["temperature_C"] * warm
    lines = [",".join(columns)]
    spread_V = [rng.gauss(0.0, 0.01) for _ in range(count)]
    for time_s, volts, amps in rows:
        words = [f"{time_s / time_in:.6g}", f"{volts / volts_in:.{digits}f}",
                 f"{sign * amps + rng.gauss(0.0, 0.01):.{digits}f}"]  # fmt: skip
        words += [f"{volts / count + each:.3f}" for each in spread_V] * cells
        words += [f"{20.0 + amps * 0.02:.1f}"] * warm
        lines.append(",".join(words))
    return ("\n".join(lines) + "\n").encode()


def _slips(
    rng: random.Random, rows: list[tuple[float, float, float]]
) -> list[tuple[float, float, float]]:
    """What meters and hands do to rows: spikes, clocks set back, zeros, turned signs, cut ends."""
    for _ in range(rng.choice((0, 0, 1, 2))):
        if len(rows) < 5:
            break
        at = rng.randrange(len(rows))
        time_s, volts, amps = rows[at]
        way = rng.randrange(7)
        if way == 0:
            rows[at] = (time_s, volts, amps + rng.choice((-1e3, 1e3, 30.0)))
        elif way == 1:
            rows[at] = (time_s, rng.choice((0.0, 2.0 * volts, -volts)), amps)
        elif way == 2:
            back_s = rng.choice((3600.0, time_s, 1.0))
            rows[at:] = [(t - back_s, v, a) for t, v, a in rows[at:]]
        elif way == 3:
            rows[at:] = [(t, v, 0.0) for t, v, _ in rows[at:]]
        elif way == 4:
            rows[at:] = [(t, v, -a) for t, v, a in rows[at:]]
        elif way == 5:
            del rows[at : at + rng.randint(1, len(rows))]
        else:
            rows = rows[at:] if rng.random() < 0.5 else rows[: at + 1]
    return rows

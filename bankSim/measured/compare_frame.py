"""What prediction and measurement are compared in: numbers, voltages in windows, their errors."""

from dataclasses import dataclass

import numpy as np

from bankSim.measured.compare_course import (
    Course,
    area,
    delivered_Ah,
    delivered_Wh,
    shares_at_start,
    stops_s,
)
from bankSim.model.curve import Floats

WINDOWS = 8
UNTIL = 0.95  # of the shorter of both: beyond it the voltage falls off a cliff
SHARE_ERROR = 0.01
MODEL_V_A_CELL = 0.004  # of 3.2 V, how well curves of cells are known; grows with the voltage
MODEL_PART = 0.003  # of Ah and time


@dataclass(frozen=True, slots=True)
class Meter:
    """How well the instruments read, as standard deviations.

    Parameters
    ----------
    current_percent, voltage_percent : float
        Of the reading. [%]
    """

    current_percent: float = 0.5
    voltage_percent: float = 0.1


@dataclass(frozen=True, eq=False)
class Number:
    """One number of a course.

    Parameters
    ----------
    key : str
        Of the JSON: "bank.delivered_Ah".
    text, unit : str
        What it is.
    battery : int or None
    """

    key: str
    text: str
    unit: str
    battery: int | None = None


@dataclass(frozen=True, eq=False)
class Frame:
    """The common ground of all courses.

    Parameters
    ----------
    names : tuple of str
        Of the batteries.
    known : tuple of int
        Batteries whose current is measured.
    horizon_s : float
        Nothing beyond it is compared. [s]
    floor_A : float
        No current below it. [A]
    floors_A : array (n,)
        Likewise for each battery. [A]
    interval_s : float
        Of the log's samples. [s]
    windows_s : array (WINDOWS + 1,)
        Ends of the windows for the mean voltage. [s]
    meter : Meter
    slips_Ah : array (1 + n,)
        What the sampling of the measured current may have cost, of the bank and each battery.
    with_shares : bool
        Shares at the start mean something: no battery is charged by the others then.
    """

    names: tuple[str, ...]
    known: tuple[int, ...]
    horizon_s: float
    floor_A: float
    floors_A: Floats
    interval_s: float
    windows_s: Floats
    meter: Meter
    slips_Ah: Floats
    with_shares: bool = True

    def ended(self, course: Course) -> Course:
        """Return a course up to its last current within the horizon."""
        cut = course.until(self.horizon_s)
        return cut.until(stops_s(cut.time_s, cut.current_A, self.floor_A))

    def numbers(self) -> tuple[Number, ...]:
        """Return what `values` are of."""
        found = [
            Number("bank.delivered_Ah", "charge given", "Ah"),
            Number("bank.runtime_h", "stops after", "h"),
            Number("bank.delivered_Wh", "energy given", "Wh"),
        ]
        for place in self.known:
            name = self.names[place]
            found += [
                Number(f"{name}.delivered_Ah", "charge given", "Ah", place),
                Number(f"{name}.stops_h", "stops after", "h", place),
            ]
            if self.with_shares:
                found.append(Number(f"{name}.share_at_start", "share at start", "", place))
        return tuple(found)

    def values(self, course: Course) -> Floats:
        """Return the numbers of a course, in the order of `numbers`. [Ah, h, Wh, 1]"""
        own = self.ended(course)
        found = [delivered_Ah(own.time_s, own.current_A), own.end_s / 3600.0, delivered_Wh(own)]
        shares = shares_at_start(own, self.floor_A)
        for place in self.known:
            row = own.batteries_A[place]
            stop = stops_s(own.time_s, row, float(self.floors_A[place]))
            found += [delivered_Ah(own.time_s, row), stop / 3600.0]
            if self.with_shares:
                found.append(float(shares[place]))
        return np.array(found)

    def windows(self, course: Course) -> Floats:
        """Return the mean voltage in each window; of one after the end, the last there was. [V]"""
        own = self.ended(course)
        ends = np.clip(self.windows_s, own.time_s[0], own.end_s)
        ran = np.diff(ends)
        sums = np.diff(area(own.time_s, own.voltage_V, ends))
        last = float(own.voltage_V[-1])
        return np.where(ran > 0.0, sums / np.where(ran > 0.0, ran, 1.0), last)

    def features(self, course: Course) -> Floats:
        """Return all that the misfit is counted in: numbers without the energy, voltages, and load.

        The load is the charge given up to the end of the windows: it tells a load that drew more
        from a battery that held less. In the units of `values` and V. [Ah, h, 1, V, Ah]
        """
        values = np.delete(self.values(course), 2)
        return np.concatenate([values, self.windows(course), [self.meanwhile_Ah(course)]])

    def meanwhile_Ah(self, course: Course) -> float:  # noqa: N802 - the unit as printed
        """Return the charge that the bank gave up to the end of the windows. [Ah]"""
        own = self.ended(course)
        until = np.clip(self.windows_s[-1:], own.time_s[0], own.end_s)
        return float(area(own.time_s, np.maximum(own.current_A, 0.0), until)[0]) / 3600.0

    def errors(self, measured: Floats) -> Floats:
        """Return standard deviations of measured numbers, of the instruments and the sampling.

        In the units of `values`.

        Parameters
        ----------
        measured : array
            In the order of `numbers`. In the units of `values`.
        """
        current, voltage = (
            part / 100.0 for part in (self.meter.current_percent, self.meter.voltage_percent)
        )
        half_h = self.interval_s / 7200.0
        usual_V = measured[2] / max(measured[0], 1e-9)
        slips_Ah = self._slips()
        by_unit = {
            "Ah": np.hypot(current * measured, slips_Ah),
            "Wh": np.hypot(np.hypot(current, voltage) * measured, slips_Ah * usual_V),
            "h": np.full_like(measured, half_h),
            "": 1.4 * current * np.abs(measured),  # of the quotient of two readings
        }
        return np.array([by_unit[one.unit][at] for at, one in enumerate(self.numbers())])

    def _slips(self) -> Floats:
        """Return what the sampling may have cost, of the battery of each number. [Ah]"""
        places = [0 if one.battery is None else 1 + one.battery for one in self.numbers()]
        return self.slips_Ah[places]

    def tolerances(self, measured: Floats, windows_V: Floats) -> Floats:
        """Return what counts as 1 in the misfit: sampling, and how well any model can be.

        In the units of `values`.

        The gain of the meters is left out: it is one of the explanations.

        Source: docs/theory.md, eq. 29.2.
        """
        by_unit = {
            "Ah": np.hypot(MODEL_PART * measured[0], self._slips()),
            "h": np.full_like(measured, np.hypot(MODEL_PART * measured[1], self.interval_s / 7200)),
            "": np.full_like(measured, SHARE_ERROR),
        }
        found = [
            by_unit[one.unit][at] for at, one in enumerate(self.numbers()) if one.unit in by_unit
        ]
        volts = np.maximum(np.abs(windows_V) / 3.2, 1.0) * MODEL_V_A_CELL  # of dead terminals, too
        return np.concatenate([found, volts, found[0][None]])

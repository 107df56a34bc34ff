"""Which direction of current a log writes as positive, from how the voltage answers."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bankSim.measured.direction_words import IN, OUT, header_ways
from bankSim.measured.log import AUTO, CHARGE_POSITIVE, DISCHARGE_POSITIVE, NOTE, WARNING
from bankSim.model.curve import Floats
from bankSim.sim.numbers import number, quoted

SURE = 0.6  # correlation from which on steps decide
CHUNKS = 200
FEW_STEPS = 3  # fewer of them do not outweigh the trend
VANISHED = 0.5  # of the usual voltage: below it the battery has cut out
NEAR = 2  # samples beside a cut-out that may be half-way


@dataclass(frozen=True, slots=True)
class Sign:
    """What is positive, why, and whether that is a guess."""

    sign: str
    reason: str
    severity: str = NOTE
    count: int = 0


def find_sign(
    asked: str, header: str, *, bdf: bool, time_s: Floats, voltage_V: Floats, current_A: Floats
) -> Sign:
    """Say what a log writes as positive.

    Parameters
    ----------
    asked : str
        One of `SIGNS`.
    header : str
        Of the current.
    bdf : bool
        The headers are those of the open format, where charge is positive.
    time_s, voltage_V, current_A : array (n,)
        Sign of the current as in the file. [s], [V], [A]
    """
    if asked != AUTO:
        return Sign(asked, "as given on the command line")
    by_steps = _from_steps(time_s, voltage_V, current_A)
    by_trend = _from_trend(time_s, voltage_V, current_A)
    physics = by_steps or by_trend
    if by_steps and by_trend and by_steps.sign != by_trend.sign:
        first, second = (
            (by_steps, by_trend) if by_steps.count >= FEW_STEPS else (by_trend, by_steps)
        )
        physics = Sign(
            first.sign,
            f"{first.reason}; but {second.reason}, which would say the opposite: --sign tells",
            WARNING,
        )
    said = _from_header(header, bdf=bdf)
    if physics is None:
        return said or _plausible(current_A)
    if said is not None and said.sign != physics.sign:
        return Sign(
            physics.sign,
            f"{physics.reason}, although {said.reason}; check it and use --sign if it is wrong",
            WARNING,
        )
    return Sign(physics.sign, physics.reason + (f", and {said.reason}" if said else ""),
                physics.severity)  # fmt: skip


def _sign(slope: float) -> str:
    """Voltage rises with what charges."""
    return CHARGE_POSITIVE if slope > 0.0 else DISCHARGE_POSITIVE


def _from_steps(time_s: Floats, voltage_V: Floats, current_A: Floats) -> Sign | None:
    """Where the current jumps, the voltage jumps the other way on discharge."""
    jumps, answers = np.diff(current_A), np.diff(voltage_V)
    reach = float(np.ptp(current_A))
    large = np.abs(jumps) > 0.15 * reach
    if reach <= 0.0 or not large.any() or np.count_nonzero(large) > 0.5 * jumps.size:
        return None
    lengths = np.diff(time_s)
    large &= lengths <= 3.0 * float(np.median(lengths))  # across gaps anything may happen
    there = present(voltage_V)
    sound = there[1:] & there[:-1]
    large &= sound  # at a cut-out the voltage vanishes whatever the current was
    if not large.any():
        return None
    still = answers[~large & sound]
    drift = float(np.median(still)) if still.size else 0.0
    jumps, answers = jumps[large], answers[large] - drift
    quiet = np.abs(still - drift)
    noise = 3.0 * float(np.median(quiet)) if quiet.size else 0.0
    noise = max(noise, 1e-6 * abs(float(np.median(voltage_V))))
    size = np.sqrt(float(jumps @ jumps) * float(answers @ answers))
    if size <= 0.0 or float(np.max(np.abs(answers))) <= noise:
        return None
    match = float(jumps @ answers) / size
    if abs(match) < SURE:
        return None
    way = "rises" if match > 0.0 else "falls"
    return Sign(
        _sign(match), f"the voltage {way} where the current steps up", count=int(jumps.size)
    )


def _from_trend(time_s: Floats, voltage_V: Floats, current_A: Floats) -> Sign | None:
    """Over longer stretches the voltage falls while discharging."""
    if time_s.size < 3:
        return None
    edges = np.unique(np.linspace(0, time_s.size - 1, CHUNKS + 1).astype(int))
    charge = np.concatenate(
        [[0.0], np.cumsum(np.diff(time_s) * (current_A[1:] + current_A[:-1]) / 2)]
    )
    moved, rise = np.diff(charge[edges]), np.diff(_without_spikes(voltage_V)[edges])
    rate = np.abs(moved) / np.maximum(np.diff(time_s[edges]), 1e-9)
    lost = np.concatenate([[0], np.cumsum(~present(voltage_V))])
    sound = lost[edges[1:] + 1] == lost[edges[:-1]]
    busy = sound & (rate > 0.2 * float(rate[sound].max(initial=0.0)))
    if not busy.any() or not np.any(moved):
        return None
    lasting = float(np.sum(np.sign(moved[busy]) * rise[busy]))
    spread = float(np.sum(np.abs(rise[busy])))
    if (
        spread <= 0.0
        or abs(lasting) < 0.3 * spread
        or abs(lasting) < 0.002 * abs(float(np.median(voltage_V)))
    ):
        return None
    positive = bool(np.sum(moved[busy]) > 0.0)
    way = "rises" if (lasting > 0.0) == positive else "falls"
    which = "positive" if positive else "negative"
    return Sign(_sign(lasting), f"the voltage {way} while the current is {which}")


def present(voltage_V: Floats) -> NDArray[np.bool_]:
    """Tell which samples show the battery's voltage, not the end of it at a cut-out; (n,)."""
    high_V = float(np.percentile(voltage_V, 90.0)) if voltage_V.size else 0.0
    alive = voltage_V[voltage_V > VANISHED * high_V]
    if not alive.size:
        return np.ones(voltage_V.size, bool)
    lost = voltage_V < VANISHED * float(np.median(alive))
    near = np.convolve(lost, np.ones(2 * NEAR + 1), mode="full")[NEAR : NEAR + lost.size] > 0.5
    return np.asarray(~near if not near.all() else ~lost)


def _without_spikes(values: Floats) -> Floats:
    """Return the middle of every three neighbours."""
    calm = values.copy()
    low, high = np.minimum(values[:-2], values[2:]), np.maximum(values[:-2], values[2:])
    calm[1:-1] = np.clip(values[1:-1], low, high)
    return calm


def _from_header(header: str, *, bdf: bool) -> Sign | None:
    if bdf:
        return Sign(CHARGE_POSITIVE, "the open battery data format writes charge as positive")
    ways = header_ways(header)
    if ways == {OUT}:
        return Sign(DISCHARGE_POSITIVE, f"the header {quoted(header)} speaks of discharge")
    if ways == {IN}:
        return Sign(CHARGE_POSITIVE, f"the header {quoted(header)} speaks of charge")
    return None


def _plausible(current_A: Floats) -> Sign:
    """A test is more often a discharge than a charge."""
    mean = float(np.mean(current_A))
    sign = DISCHARGE_POSITIVE if mean >= 0.0 else CHARGE_POSITIVE
    return Sign(
        sign,
        f"the voltage does not tell; a discharge was assumed, since the current is "
        f"{number(mean)} A on average: use --sign if it was a charge",
        WARNING,
    )

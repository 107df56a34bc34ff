"""Voltages that do not suit the loads: lost in the main leads, or too high for their makers."""

from collections.abc import Iterator

import numpy as np

from bankSim.model.bank import Bank
from bankSim.model.curve import Floats
from bankSim.sim.at_rest import rest_voltage
from bankSim.sim.cautions.currents import largest_mean
from bankSim.sim.numbers import number, span
from bankSim.sim.result import Caution, Result
from bankSim.sim.returns import time_above

# Usual rules for boats allow 3 % on the way to what must not fail and 10 % to the rest (ABYC E-11
# and ISO 13297, from memory); motors start with more for seconds.
LOST_SHARE, LOST_MUCH_SHARE, LOST_S = 0.03, 0.1, 60.0
# The largest loss, however short, is told beside that from these on; own choice. [1]
PEAK_SHARE, MORE = 0.05, 1.1
# Topic and words of a discharge and of a charge.
WAYS = {
    1.0: ("voltage lost on the way to the loads", "", ""),
    -1.0: (
        "voltage lost on the way from the chargers",
        " of charge",
        ", by which a charger reaches its voltage early",
    ),
}
# Most devices for 12 V allow 15 V, some 16 V (common practice, no source).
HIGH_V, HIGH_S = 15.0, 60.0
NOMINAL_V, HALF = 12.8, 0.5


def of_drops(result: Result) -> Iterator[Caution]:
    """Warn of voltage lost in the main leads, either way, and of loads that see too much."""
    for sign in WAYS:
        yield from _lost(result, sign)
    yield from _high(result)


def _lost(result: Result, sign: float) -> Iterator[Caution]:
    """Tell of a discharge (sign 1) or a charge (-1) that loses much in the main leads."""
    main_ohm, trace = result.scenario.bank.wiring.main_ohm, result.trace
    current_A = np.maximum(sign * trace[:, 3], 0.0)
    lasting_A = largest_mean(trace[:, 0], current_A, LOST_S)
    much = (current_A > HALF * lasting_A) & (trace[:, 2] > 0.0)
    bus_V = float(np.median(trace[much, 2])) if much.any() else 0.0
    lost_V = main_ohm * lasting_A
    if bus_V <= 0.0 or lost_V <= LOST_SHARE * bus_V:
        return
    severity = "warning" if lost_V > LOST_MUCH_SHARE * bus_V else "note"
    topic, what, there = WAYS[sign]
    yield Caution(
        topic,
        severity,
        100.0 * lost_V / bus_V,
        100.0 * LOST_SHARE,
        "%",
        f"At {number(lasting_A)} A{what} the main leads ({number(1e3 * main_ohm)} mohm) lose "
        f"{number(lost_V)} V, {number(100.0 * lost_V / bus_V, 2)} % of the voltage{there}"
        f"{_at_most(main_ohm, current_A, trace[:, 2], lasting_A)}; "
        f"usual rules allow {100.0 * LOST_SHARE:g} % for what must not fail and "
        f"{100.0 * LOST_MUCH_SHARE:g} % for the rest.",
        "Take shorter or thicker main leads, and look for poor joints: what is lost is heat.",
    )


def _at_most(main_ohm: float, current_A: Floats, bus_V: Floats, lasting_A: float) -> str:
    """Tell the largest loss, for moments, where it is much more than that which lasts."""
    row = int(np.argmax(np.where(bus_V > 0.0, current_A, 0.0)))
    lost_V = main_ohm * float(current_A[row])
    if bus_V[row] <= 0.0 or lost_V <= PEAK_SHARE * bus_V[row] or current_A[row] < MORE * lasting_A:
        return ""
    return (
        f"; for moments it is up to {number(lost_V)} V at {number(float(current_A[row]))} A, "
        f"{number(100.0 * lost_V / float(bus_V[row]), 2)} %"
    )


def _high(result: Result) -> Iterator[Caution]:
    bank, trace = result.scenario.bank, result.trace
    limit_V = HIGH_V * twelves(bank)
    high_s = time_above(trace[:, 0], trace[:, 4], limit_V)
    if not bank.loads or high_s <= HIGH_S:
        return
    highest_V = float(trace[:, 4].max())
    yield Caution(
        "high voltage at the loads",
        "warning",
        highest_V,
        limit_V,
        "V",
        f"The loads see up to {number(highest_V, 4)} V, above {number(limit_V, 4)} V for "
        f"{span(high_s)} in all; many devices do not allow more.",
        "Look up what each load allows; switch off those that allow less, or lower the charge "
        "voltage.",
    )


def twelves(bank: Bank) -> int:
    """How many times 12 V the bank is, by the mean voltage of its batteries half charged.

    Parameters
    ----------
    bank : Bank
    """
    volts = [rest_voltage(battery, HALF) for battery in bank.batteries]
    return max(1, round(sum(volts) / len(volts) / NOMINAL_V))

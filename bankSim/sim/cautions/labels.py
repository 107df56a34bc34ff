"""Currents above what a label allows all the time."""

from collections.abc import Iterator

import numpy as np

from bankSim.model.battery import Battery
from bankSim.sim.at_rest import UNLABELLED_PER_H
from bankSim.sim.cautions.currents import EXCHANGE, Driver, driver_of
from bankSim.sim.cautions.easier import easier
from bankSim.sim.cautions.limits import Limit, limit_of
from bankSim.sim.cautions.surges import pushed_above
from bankSim.sim.joining_result import Joining
from bankSim.sim.numbers import number, quoted, span
from bankSim.sim.result import BatteryOutcome, Caution, Result
from bankSim.sim.returns import column

LEAST_LATER_S = 1.0  # beyond the first connection
MUCH_THE_SAME = 1.25  # of a current beside that of the first connection, which has no loads
SAME = 1.02  # a peak this close to that of a surge told already is that surge


def of_labels(result: Result) -> Iterator[Caution]:
    """Warn of every battery that carries more than its label allows, and say for how long."""
    batteries = zip(result.scenario.bank.batteries, result.batteries, strict=True)
    for number_of, (battery, outcome) in enumerate(batteries):
        surges = _peaks_of_surges(result, battery.name)
        for direction in ("discharge", "charge"):
            limit, (peak_A, above_s, apart, driver) = (
                limit_of(battery, direction),
                _carried(result, number_of, direction),
            )
            if limit is None or peak_A <= limit.amperes or (apart and above_s < LEAST_LATER_S):
                continue
            told_A, told_s = surges.get(direction, (0.0, 0.0))
            if peak_A > SAME * told_A or above_s > SAME * told_s + 1.0:
                text = f"{span(above_s)} in all{apart}"
                advice = _advice(result, battery, driver)
                yield _above(battery, direction, peak_A, above_s, limit, text, advice)
        yield from _unlabelled(battery, outcome)


def _carried(result: Result, number_of: int, direction: str) -> tuple[float, float, str, Driver]:
    """Peak [A], time above the label [s], what is left out of them, and what drives the peak.

    The first connection is left out where it is told by itself.
    """
    outcome = result.batteries[number_of]
    sign, peak_A, above_s = -1.0, outcome.peak_charge_A, outcome.above_charge_label_s
    if direction == "discharge":
        sign, peak_A, above_s = 1.0, outcome.peak_discharge_A, outcome.above_discharge_label_s
    joined_s, joined_A = _joined(result.joining, outcome.name, direction)
    time_s, current_A = result.trace[:, 0], sign * column(result.trace, number_of, 0)
    forward_A, bank_A = np.maximum(current_A, 0.0), sign * result.trace[:, 3]
    if joined_s == 0.0 or current_A[time_s <= joined_s].max(initial=0.0) > MUCH_THE_SAME * joined_A:
        # something else adds to the first connection
        return peak_A, above_s, "", driver_of(time_s, sign * forward_A, sign * bank_A)
    later = forward_A * (time_s > joined_s)
    above_s = max(above_s - joined_s, 0.0)
    driver = driver_of(time_s, sign * later, sign * bank_A)
    return float(later.max(initial=0.0)), above_s, ", the first connection left out", driver


def _joined(joining: Joining | None, name: str, direction: str) -> tuple[float, float]:
    """How long [s] and how far [A] the first connection, told by itself, pushes a battery."""
    for one in joining.batteries if joining is not None else ():
        way = "discharge" if one.first_A > 0.0 else "charge"
        if one.name == name and way == direction:
            return one.above_label_s, abs(one.first_A)
    return 0.0, 0.0


def _peaks_of_surges(result: Result, name: str) -> dict[str, tuple[float, float]]:
    """Largest current and whole time above the label of the surges when batteries come back."""
    found: dict[str, tuple[float, float]] = {}
    for back in result.returns:
        for one in pushed_above(result, back):
            if one.name == name:
                direction = "discharge" if one.current_A > 0.0 else "charge"
                peak_A, time_s = found.get(direction, (0.0, 0.0))
                found[direction] = max(peak_A, abs(one.current_A)), time_s + one.above_s
    return found


def _above(
    battery: Battery,
    direction: str,
    peak_A: float,
    above_s: float,
    limit: Limit,
    how_long: str,
    advice: str,
) -> Caution:
    verb = "delivers" if direction == "discharge" else "takes"
    return Caution(
        f"{direction} above label",
        limit.severity_of(peak_A, above_s),
        peak_A,
        limit.amperes,
        "A",
        f"{quoted(battery.name)} {verb} up to {number(peak_A)} A; {limit.text}. It is above that "
        f"for {how_long}.",
        advice,
    )


def _advice(result: Result, battery: Battery, driver: Driver) -> str:
    what = easier(result, driver)
    if driver.cause == EXCHANGE:
        return f"{what}."
    if len(result.scenario.bank.batteries) == 1:
        return f"{what}, until {quoted(battery.name)} stays within its label at every moment."
    return (
        f"{what}, or even out the shares (equal leads, batteries of one kind and age), until "
        f"{quoted(battery.name)} stays within its label at every moment."
    )


def _unlabelled(battery: Battery, outcome: BatteryOutcome) -> Iterator[Caution]:
    most_A = UNLABELLED_PER_H * battery.rated_C / 3600.0
    if battery.continuous_charge_A is None and outcome.peak_charge_A > most_A:
        yield Caution(
            "large charge current",
            "warning",
            outcome.peak_charge_A,
            most_A,
            "A",
            f"{quoted(battery.name)} is charged with up to {number(outcome.peak_charge_A)} A, "
            "more than half its capacity per hour; no limit was given to hold that against.",
            "Look up what its maker allows and write it into the file as continuous_charge_A.",
        )

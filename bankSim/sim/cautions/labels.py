"""Currents above what a label allows all the time."""

from collections.abc import Iterator
from dataclasses import dataclass

from bankSim.model.battery import Battery
from bankSim.sim.at_rest import UNLABELLED_PER_H
from bankSim.sim.cautions.currents import (
    CHARGERS,
    EXCHANGE,
    LOADS,
    Driver,
    driver_of,
    drivers_above,
)
from bankSim.sim.cautions.easier import easier
from bankSim.sim.cautions.limits import Limit, limit_of
from bankSim.sim.cautions.surges import Pushed, pushed_above, told_returns
from bankSim.sim.joining_result import Joining
from bankSim.sim.numbers import listing, number, quoted, span
from bankSim.sim.result import BatteryOutcome, Caution, Result
from bankSim.sim.returns import column

LEAST_LATER_S = 1.0  # beyond the first connection
MUCH_THE_SAME = 1.25  # of a current beside that of the first connection, which has no loads
SAME = 1.02  # a peak this close to that of a surge told already is that surge
TINY_S = 1e-9
MUCH_OF_IT = 0.1  # of the time above a label, to be told of what drives it then; own choice
DRIVEN = {LOADS: "by loads", CHARGERS: "by charge", EXCHANGE: "from battery to battery"}


@dataclass(frozen=True, slots=True)
class Carried:
    """What a battery carries one way beyond its label.

    Parameters
    ----------
    peak_A, above_s : float
        Its largest current, and how long it is above the label. [A], [s]
    apart : str
        What is left out of them, in words.
    drivers : tuple of (Driver, float)
        What makes it, one or two, each with its time above the label. [s]
    """

    peak_A: float
    above_s: float
    apart: str
    drivers: tuple[tuple[Driver, float], ...]


def of_labels(result: Result) -> Iterator[Caution]:
    """Warn of every battery that carries more than its label allows, and say for how long."""
    batteries = zip(result.scenario.bank.batteries, result.batteries, strict=True)
    surges = _surges(result)
    for number_of, (battery, outcome) in enumerate(batteries):
        for direction in ("discharge", "charge"):
            limit = limit_of(battery, direction)
            if limit is None:
                continue
            one = _carried(result, number_of, direction, limit)
            if limit.is_met(one.peak_A, one.above_s) or (one.apart and one.above_s < LEAST_LATER_S):
                continue
            if not _is_told(surges, battery.name, direction, one, limit):
                yield _above(result, battery, direction, one, limit)
        yield from _unlabelled(battery, outcome)


def _carried(result: Result, number_of: int, direction: str, limit: Limit) -> Carried:
    """Tell how much a battery carries, how long above its label, and what drives that.

    The first connection is left out where it is told by itself.
    """
    outcome = result.batteries[number_of]
    sign, peak_A, above_s = -1.0, outcome.peak_charge_A, outcome.above_charge_label_s
    if direction == "discharge":
        sign, peak_A, above_s = 1.0, outcome.peak_discharge_A, outcome.above_discharge_label_s
    joined_s, joined_A = _joined(result.joining, outcome.name, direction)
    time_s, current_A = result.trace[:, 0], column(result.trace, number_of, 0)
    counts, apart = sign * current_A > 0.0, ""
    at_first_A = (sign * current_A)[time_s <= joined_s].max(initial=0.0)
    # more than that: something else adds to the first connection
    if joined_s > 0.0 and at_first_A <= MUCH_THE_SAME * joined_A:
        counts, apart = counts & (time_s > joined_s), ", the first connection left out"
        peak_A = float((sign * current_A)[counts].max(initial=0.0))
        above_s = max(above_s - joined_s, 0.0)
    bank_A = result.trace[:, 3]
    drivers = drivers_above(time_s, current_A, bank_A, limit.amperes, counts)
    peak = driver_of(time_s, current_A, bank_A, counts)
    return Carried(peak_A, above_s, apart, _worth_telling(drivers, peak, above_s))


def _worth_telling(
    drivers: list[tuple[Driver, float]], peak: Driver, above_s: float
) -> tuple[tuple[Driver, float], ...]:
    """Two drivers at most: that of most of the time, and another one of much of it or the peak."""
    if not drivers:  # a peak that the rows do not show
        return ((peak, above_s),)
    # rows far apart may not add up to the time above the label
    scale = above_s / max(sum(time_s for _, time_s in drivers), above_s, TINY_S)
    drivers = [(driver, scale * time_s) for driver, time_s in drivers]
    others = [
        (driver, time_s)
        for driver, time_s in drivers[1:]
        if time_s >= MUCH_OF_IT * above_s or driver.peak_s == peak.peak_s
    ]
    return (drivers[0], *others[:1])


def _joined(joining: Joining | None, name: str, direction: str) -> tuple[float, float]:
    """How long [s] and how far [A] the first connection, told by itself, pushes a battery."""
    for one in joining.batteries if joining is not None else ():
        way = "discharge" if one.first_A > 0.0 else "charge"
        if one.name == name and way == direction:
            return one.above_label_s, abs(one.first_A)
    return 0.0, 0.0


def _is_told(
    surges: list[tuple[Pushed, bool]], name: str, direction: str, one: Carried, limit: Limit
) -> bool:
    """Tell whether surges when batteries come back, as they are told, hold all of this.

    A peak must be among those told; the whole time above the label may lie in smaller surges
    that are not, if the told one is as bad as that.
    """
    own = [
        (pushed, told)
        for pushed, told in surges
        if pushed.name == name and (pushed.current_A > 0.0) == (direction == "discharge")
    ]
    shown = [pushed for pushed, told in own if told]
    severity = limit.severity_of(one.peak_A, one.above_s)
    as_bad = any(pushed.severity in ("danger", severity) for pushed in shown)
    peak_A = max((abs(pushed.current_A) for pushed in shown), default=0.0)
    time_s = sum(pushed.above_s for pushed, told in own if told or as_bad)
    return one.peak_A <= SAME * peak_A and one.above_s <= SAME * time_s + 1.0


def _surges(result: Result) -> list[tuple[Pushed, bool]]:
    """Every battery that a return pushes above its label, and whether that return is told."""
    told = {id(back) for back in told_returns(result)}
    return [
        (pushed, id(back) in told)
        for back in result.returns
        for pushed in pushed_above(result, back)
    ]


def _above(result: Result, battery: Battery, direction: str, one: Carried, limit: Limit) -> Caution:
    verb = "delivers" if direction == "discharge" else "takes"
    return Caution(
        f"{direction} above label",
        limit.severity_of(one.peak_A, one.above_s),
        one.peak_A,
        limit.amperes,
        "A",
        f"{quoted(battery.name)} {verb} up to {number(one.peak_A)} A; {limit.text}. It is above "
        f"that for {span(one.above_s)} in all{one.apart}{_parts(one)}.",
        _advice(result, battery, one),
    )


def _parts(one: Carried) -> str:
    """Say how long each of two drivers makes the current that is above the label."""
    if len(one.drivers) == 1:
        return ""
    return f": {listing([f'{span(time_s)} {DRIVEN[d.cause]}' for d, time_s in one.drivers])}"


def _advice(result: Result, battery: Battery, one: Carried) -> str:
    texts = [_against(result, battery, driver) for driver, _ in one.drivers]
    if len(texts) == 1 or texts[0] == texts[1]:
        return texts[0]
    return f"{texts[0]} For the rest: {texts[1][:1].lower()}{texts[1][1:]}"


def _against(result: Result, battery: Battery, driver: Driver) -> str:
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

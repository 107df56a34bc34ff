"""Currents above what a label allows all the time."""

from collections.abc import Iterator

from bankSim.model.battery import Battery
from bankSim.sim.at_rest import UNLABELLED_PER_H
from bankSim.sim.cautions.limits import Limit, limit_of
from bankSim.sim.cautions.surges import pushed_above
from bankSim.sim.joining_result import Joining
from bankSim.sim.numbers import number, quoted, span
from bankSim.sim.result import BatteryOutcome, Caution, Result

SAME = 1.02  # a peak this close to that of a surge told already is that surge


def of_labels(result: Result) -> Iterator[Caution]:
    """Warn of every battery that carries more than its label allows, and say for how long."""
    for battery, outcome in zip(result.scenario.bank.batteries, result.batteries, strict=True):
        joined = _peaks_of_joining(result.joining, battery.name)
        surges = _peaks_of_surges(result, battery.name)
        for direction, peak_A, above_s in (
            ("discharge", outcome.peak_discharge_A, outcome.above_discharge_label_s),
            ("charge", outcome.peak_charge_A, outcome.above_charge_label_s),
        ):
            limit = limit_of(battery, direction)
            told = [one[direction] for one in (joined, surges) if direction in one]
            if limit is None or peak_A <= limit.amperes:
                continue
            most_A = max((amperes for amperes, _ in told), default=0.0)
            if peak_A > SAME * most_A or above_s > SAME * sum(time_s for _, time_s in told) + 1.0:
                yield _above(battery, direction, peak_A, above_s, limit)
        yield from _unlabelled(battery, outcome)


def _peaks_of_joining(joining: Joining | None, name: str) -> dict[str, tuple[float, float]]:
    """Current and time above the label of the first connection, told by its own caution."""
    for one in joining.batteries if joining is not None else ():
        if one.name == name:
            direction = "discharge" if one.first_A > 0.0 else "charge"
            return {direction: (abs(one.first_A), one.above_label_s)}
    return {}


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
    battery: Battery, direction: str, peak_A: float, above_s: float, limit: Limit
) -> Caution:
    verb = "delivers" if direction == "discharge" else "takes"
    easier = "Use less power at a time" if direction == "discharge" else "Use a smaller charger"
    return Caution(
        f"{direction} above label",
        limit.severity_of(peak_A, above_s),
        peak_A,
        limit.amperes,
        "A",
        f"{quoted(battery.name)} {verb} up to {number(peak_A)} A; {limit.text}. It is above that "
        "for "
        f"{span(above_s)} in all.",
        f"{easier}, or even out the shares (equal leads, batteries of one kind and age), until "
        f"{quoted(battery.name)} stays within its label at every moment.",
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
            "more than "
            "half its capacity per hour; no limit was given to hold that against.",
            "Look up what its maker allows and write it into the file as continuous_charge_A.",
        )

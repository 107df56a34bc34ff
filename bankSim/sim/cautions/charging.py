"""Charge voltages that a battery does not accept, chemistries that do not mix, and the cold."""

from collections.abc import Iterator, Sequence

from bankSim.model.bank import Bank
from bankSim.model.battery import Battery
from bankSim.model.chemistry import chemistry_of
from bankSim.model.rule import Blocks, Watch
from bankSim.sim.numbers import listed, named, number, quoted, span
from bankSim.sim.result import TRIP, BatteryOutcome, Caution, Event, Result

CLOSE_V = 0.005  # of a charger's setting
AT_V = 0.001  # of the voltage at which a rule blocks charge
AHEAD_V = 0.03  # of a cell above the mean of the others, when it blocks charge
COLD_SHARE = 1e-3  # of the label capacity: less charge in the cold is not worth a word


def of_charging(result: Result) -> Iterator[Caution]:
    """Warn of too high a charge voltage, of mixed chemistries, and of charging in the cold."""
    bank = result.scenario.bank
    for battery, outcome in zip(bank.batteries, result.batteries, strict=True):
        yield from _of_voltage(bank, battery)
        yield from _of_cold(battery, outcome)
    yield from _of_ahead(result)
    yield from _of_mixture(bank)


def _of_voltage(bank: Bank, battery: Battery) -> Iterator[Caution]:
    """Hold the highest voltage of any charger against the chemistry, then against the rules."""
    held = [(max(stage.hold_V for stage in one.stages), one.name) for one in bank.chargers]
    if not held:
        return
    hold_V, charger = max(held)
    chemistry, stop_V = chemistry_of(battery.chemistry), stops_charge_V(battery)
    most_V = None if chemistry is None else chemistry.highest_charge_V * len(battery.cells)
    said = f"{quoted(charger)} holds up to {number(hold_V, 4)} V"
    if chemistry is not None and most_V is not None and hold_V > most_V + CLOSE_V:
        yield Caution(
            "charge voltage too high",
            "danger",
            hold_V,
            most_V,
            "V",
            f"{said}; {quoted(battery.name)} ({chemistry.word}, {len(battery.cells)} cells) "
            "usually "
            f"accepts {number(most_V, 4)} V.",
            f"Set {quoted(charger)} to a voltage that every battery of the bank accepts.",
        )
    elif stop_V is not None and hold_V >= stop_V - AT_V:
        yield Caution(
            "charge voltage above a cut-out",
            "warning",
            hold_V,
            stop_V,
            "V",
            f"{said}; {quoted(battery.name)} blocks its charge at {number(stop_V, 4)} V (its "
            "cells even), "
            "sits out, and may come back later with a surge.",
            f"Set {quoted(charger)} below {number(stop_V, 4)} V.",
        )


def stops_charge_V(battery: Battery) -> float | None:  # noqa: N802 - the unit as printed
    """Return the lowest battery voltage at which a rule blocks charge, cells even. [V]"""
    cells = {Watch.HIGHEST_CELL: len(battery.cells), Watch.BATTERY_VOLTAGE: 1}
    stops = [
        rule.threshold * cells[rule.watches]
        for rule in battery.rules
        if rule.watches in cells and not rule.below and rule.blocks & Blocks.CHARGE
    ]
    return min(stops, default=None)


def _of_ahead(result: Result) -> Iterator[Caution]:
    """Cells that block the charge of their battery early because they run ahead of the others."""
    worst: dict[str, tuple[float, Event]] = {}
    for event in result.events:
        if event.what != TRIP or event.watches != Watch.HIGHEST_CELL.value:
            continue
        if event.battery is not None and event.blocks in ("charge", "both"):
            ahead_V = _ahead_V(event)
            if ahead_V > max(AHEAD_V, worst.get(event.battery, (0.0,))[0]):
                worst[event.battery] = ahead_V, event
    for ahead_V, event in worst.values():
        yield _ahead(event, ahead_V)


def _ahead_V(event: Event) -> float:  # noqa: N802 - the unit as printed
    """How far the highest cell is above the mean of the others. [V]"""
    volts = event.cell_voltages_V or ()
    return max(volts) - _mean_of_others_V(volts) if len(volts) > 1 else 0.0


def _mean_of_others_V(volts: Sequence[float]) -> float:  # noqa: N802 - the unit as printed
    return (sum(volts) - max(volts)) / (len(volts) - 1)


def _ahead(event: Event, ahead_V: float) -> Caution:
    volts = event.cell_voltages_V or ()
    return Caution(
        "cell runs ahead",
        "warning",
        ahead_V,
        AHEAD_V,
        "V",
        f"Cell {volts.index(max(volts)) + 1} of {quoted(str(event.battery))} runs ahead "
        f"({max(volts):.3f} V, "
        f"the others {_mean_of_others_V(volts):.3f} V): it blocks charge early, after "
        f"{span(event.time_s)}.",
        f"Balance the cells of {quoted(str(event.battery))} first: charge it by itself, slowly, "
        "until its "
        "balancer has evened them out.",
    )


def _of_cold(battery: Battery, outcome: BatteryOutcome) -> Iterator[Caution]:
    chemistry = chemistry_of(battery.chemistry)
    if chemistry is not None and chemistry.may_not_charge_below_K is None:
        return
    if outcome.charged_below_freezing_Ah <= COLD_SHARE * outcome.rated_Ah:
        return
    if chemistry is None:
        harm = "if it is lithium, metal can plate out, which is lasting damage and a fire risk"
    else:
        harm = "lithium can plate out, which is lasting damage and a fire risk"
    yield Caution(
        "charged below freezing",
        "warning" if chemistry is None else "danger",
        outcome.coldest_C,
        0.0,
        "degC",
        f"{quoted(battery.name)} takes {number(outcome.charged_below_freezing_Ah)} Ah below 0 "
        "degrees C, "
        f"down to {number(outcome.coldest_C)} degrees C: {harm}.",
        "Warm the battery before it is charged, or have its electronics block charge below 0 "
        "degrees C; other batteries of the bank charge it as well.",
    )


def _of_mixture(bank: Bank) -> Iterator[Caution]:
    """Chemistries that should not share a bank, least of all on one charger."""
    words = sorted({battery.chemistry for battery in bank.batteries if battery.chemistry})
    if len(words) < 2:
        return
    kinds = [chemistry_of(word) for word in words]
    lithium = {kind.is_lithium for kind in kinds if kind is not None}
    topic = "lithium beside lead-acid" if len(lithium) > 1 else "different chemistries in parallel"
    text = f"{listed(words)} are wired in parallel"
    if bank.chargers:
        text += f" on {named([charger.name for charger in bank.chargers])}"
    text += (
        ": each wants its own charge voltages and stages, and what suits one wears out or "
        "endangers the other."
    )
    if len(lithium) > 1:
        text += (
            " The lithium does nearly all the work first, keeps the lead-acid at its float voltage "
            "or, once empty, leaves it to carry the load alone."
        )
    yield Caution(
        topic,
        "warning",
        None,
        None,
        "",
        text,
        "Ask both makers; most do not allow it. Couple the two through a converter made for that, "
        "each with its own charge settings.",
    )

"""What a careful person would want to know before wiring this bank."""

from collections.abc import Iterator

from bankSim.model.bank import Bank
from bankSim.model.battery import Battery
from bankSim.model.rule import Blocks, Watch
from bankSim.sim.events import KELVIN_AT_0_DEGC
from bankSim.sim.result import COLLAPSE, REFUSED, BatteryOutcome, Caution, Event

SEVERITIES = ("danger", "warning", "note")
SMALL_A = 1e-3


def find_cautions(
    bank: Bank, outcomes: tuple[BatteryOutcome, ...], events: tuple[Event, ...]
) -> tuple[Caution, ...]:
    """Return every caution of a run, the worst first.

    Parameters
    ----------
    bank : Bank
    outcomes : tuple of BatteryOutcome
        In the order of the bank's batteries.
    events : tuple of Event
    """
    found = list(_of_bank(bank, events))
    for battery, outcome in zip(bank.batteries, outcomes, strict=True):
        found += _of_currents(battery, outcome)
        found += _of_cells(bank, battery, outcome)
    return tuple(sorted(found, key=lambda caution: SEVERITIES.index(caution.severity)))


def _of_bank(bank: Bank, events: tuple[Event, ...]) -> Iterator[Caution]:
    for event in events:
        if event.what in (COLLAPSE, REFUSED):
            yield Caution(event.what, "warning", event.time_s / 3600, None, "h", event.text)
            break
    cut_outs = [event for event in events if event.cuts_out]
    for event in cut_outs:
        for before, after, battery in zip(
            event.currents_A, event.currents_after_A, bank.batteries, strict=True
        ):
            limit = battery.continuous_discharge_A
            if limit is not None and before <= limit < after:
                yield Caution(
                    "overload after a cut-out",
                    "danger",
                    after,
                    limit,
                    "A",
                    f"When {event.battery} cuts out, {battery.name} jumps from {before:.3g} A to "
                    f"{after:.3g} A, above the {limit:.3g} A that its label allows.",
                )


def _of_currents(battery: Battery, outcome: BatteryOutcome) -> Iterator[Caution]:
    for topic, peak, limit, verb in (
        (
            "discharge above label",
            outcome.peak_discharge_A,
            battery.continuous_discharge_A,
            "delivers",
        ),
        ("charge above label", outcome.peak_charge_A, battery.continuous_charge_A, "takes"),
        (
            "fuse overloaded",
            max(outcome.peak_discharge_A, outcome.peak_charge_A),
            battery.fuse_A,
            "carries",
        ),
    ):
        if limit is not None and peak > limit:
            source = "its fuse is rated for" if limit is battery.fuse_A else "its label allows"
            yield Caution(
                topic,
                "danger",
                peak,
                limit,
                "A",
                f"{battery.name} {verb} up to {peak:.3g} A; {source} {limit:.3g} A.",
            )


def _of_cells(bank: Bank, battery: Battery, outcome: BatteryOutcome) -> Iterator[Caution]:
    lowest = min(outcome.final_state_of_charge)
    if lowest < -0.02:
        cell = outcome.final_state_of_charge.index(lowest) + 1
        yield Caution(
            "cell driven below empty",
            "danger",
            100.0 * lowest,
            0.0,
            "%",
            f"Cell {cell} of {battery.name} is driven to {100 * lowest:.3g} % of its charge: deep "
            "discharge ruins cells and can make them unsafe to charge again.",
        )
    if not any(_guards_discharge(rule.watches, rule.blocks) for rule in battery.rules):
        yield Caution(
            "no low-voltage cut-out",
            "warning",
            None,
            None,
            "",
            f"{battery.name} has no rule that stops its discharge at a low voltage; in this "
            "prediction nothing protects its cells.",
        )
    temperature_C = bank.temperature_K - KELVIN_AT_0_DEGC
    if battery.chemistry == "LFP" and temperature_C < 0.0 and outcome.peak_charge_A > SMALL_A:
        yield Caution(
            "charged below freezing",
            "danger",
            temperature_C,
            0.0,
            "degC",
            f"{battery.name} is charged at {temperature_C:.3g} degrees C: lithium can plate out, "
            "which is lasting damage and a fire risk.",
        )


def _guards_discharge(watches: Watch, blocks: Blocks) -> bool:
    voltage = watches in (Watch.LOWEST_CELL, Watch.BATTERY_VOLTAGE)
    return voltage and bool(blocks & Blocks.DISCHARGE)

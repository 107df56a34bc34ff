"""What a careful person would want to know before wiring this bank."""

from collections.abc import Iterator
from itertools import groupby

from bankSim.model.bank import Bank
from bankSim.model.battery import Battery
from bankSim.model.cell import arrhenius_factor
from bankSim.model.rule import Blocks, Watch
from bankSim.sim.numbers import KELVIN_AT_0_DEGC, number
from bankSim.sim.result import COLLAPSE, REFUSED, BankOutcome, BatteryOutcome, Caution, Event

SEVERITIES = ("danger", "warning", "note")
MISMATCH_SHARE = 0.1  # rest voltages further apart than this do not belong in parallel
MARGIN_SOC = 0.02  # beyond empty or full
JOINING_PER_H = 0.2  # of the emptier battery's label, as a current worth a word; a choice
UNLABELLED_PER_H = 0.5  # charge current that a battery without a label is held against
COLD_SHARE = 1e-3  # of the label capacity: less charge in the cold is not worth a word
LFP_LOWEST_V, LFP_HIGHEST_V = 2.0, 3.8  # of a cell; common trip limits seen, no single source


def find_cautions(
    bank: Bank,
    total: BankOutcome,
    outcomes: tuple[BatteryOutcome, ...],
    events: tuple[Event, ...],
) -> tuple[Caution, ...]:
    """Return every caution of a run, the worst first.

    Parameters
    ----------
    bank : Bank
    total : BankOutcome
    outcomes : tuple of BatteryOutcome
        In the order of the bank's batteries.
    events : tuple of Event
    """
    found = [*_of_voltages(bank), *_of_joining(bank), *_of_main(bank, total), *_of_supply(events)]
    for battery, outcome in zip(bank.batteries, outcomes, strict=True):
        found += _of_currents(battery, outcome)
        found += _of_cells(battery, outcome)
        found += _of_rules(battery)
        found += _of_cold(bank, battery, outcome)
    found += _of_cut_outs(bank, events)
    return tuple(sorted(found, key=lambda caution: SEVERITIES.index(caution.severity)))


def rest_voltage(battery: Battery) -> float:
    """Voltage of a battery at rest at its first state of charge. [V]"""
    return sum(float(cell.ocv_V(cell.state_of_charge)) for cell in battery.cells)


def _of_voltages(bank: Bank) -> Iterator[Caution]:
    ranked = sorted(bank.batteries, key=rest_voltage)
    low, high = rest_voltage(ranked[0]), rest_voltage(ranked[-1])
    if high > low * (1.0 + MISMATCH_SHARE):
        yield Caution(
            "voltages do not match",
            "danger",
            high - low,
            MISMATCH_SHARE * low,
            "V",
            f"At rest {ranked[-1].name} has {number(high, 4)} V and {ranked[0].name} "
            f"{number(low, 4)} V. Batteries this far apart do not belong in parallel.",
        )


def _of_joining(bank: Bank) -> Iterator[Caution]:
    """What flows between the fullest and the emptiest battery when they are first connected."""
    ranked = sorted(bank.batteries, key=rest_voltage)
    low, high = ranked[0], ranked[-1]
    gap_V = rest_voltage(high) - rest_voltage(low)
    ohm = start_ohm(high, bank.temperature_K) + start_ohm(low, bank.temperature_K)
    limit_A = JOINING_PER_H * low.rated_C / 3600.0
    if gap_V > limit_A * ohm:
        current = f"about {number(gap_V / ohm)} A flow" if ohm > 0.0 else "a huge current flows"
        yield Caution(
            "current when first connected",
            "warning",
            gap_V / ohm if ohm > 0.0 else None,
            limit_A,
            "A",
            f"When first connected, {current} from {high.name} ({number(rest_voltage(high), 4)} V "
            f"at rest) into {low.name} ({number(rest_voltage(low), 4)} V at rest), before any "
            "load. Match voltages before joining.",
        )


def start_ohm(battery: Battery, temperature_K: float) -> float:
    """Resistance of a battery up to the end of its lead, at its first state of charge. [ohm]"""
    cells = sum(
        float(cell.ohmic_ohm(cell.state_of_charge))
        * arrhenius_factor(cell.activation_J_mol, temperature_K)
        for cell in battery.cells
    )
    return cells + battery.internal_ohm + battery.lead_ohm


def _of_main(bank: Bank, total: BankOutcome) -> Iterator[Caution]:
    fuse_A = bank.wiring.main_fuse_A
    if fuse_A is not None and total.peak_A > fuse_A:
        yield Caution(
            "fuse overloaded",
            "danger",
            total.peak_A,
            fuse_A,
            "A",
            f"The main lead carries up to {number(total.peak_A)} A; its fuse is rated for "
            f"{number(fuse_A)} A.",
        )


def _of_supply(events: tuple[Event, ...]) -> Iterator[Caution]:
    """Loads that could not be fed and charge that nobody took: the first of each."""
    for what in (COLLAPSE, REFUSED):
        for event in [event for event in events if event.what == what][:1]:
            yield Caution(what, "warning", event.time_s / 3600.0, None, "h", event.text)


def _of_currents(battery: Battery, outcome: BatteryOutcome) -> Iterator[Caution]:
    for name, topic, peak, verb in (
        ("continuous_discharge_A", "discharge above label", outcome.peak_discharge_A, "delivers"),
        ("continuous_charge_A", "charge above label", outcome.peak_charge_A, "takes"),
    ):
        limit = getattr(battery, name)
        if limit is not None and peak > limit:
            text = f"{battery.name} {verb} up to {number(peak)} A; {_limit_text(battery, name)}."
            yield Caution(topic, "danger", peak, limit, "A", text)
    unlabelled = UNLABELLED_PER_H * battery.rated_C / 3600.0
    if battery.continuous_charge_A is None and outcome.peak_charge_A > unlabelled:
        yield Caution(
            "large charge current",
            "warning",
            outcome.peak_charge_A,
            unlabelled,
            "A",
            f"{battery.name} is charged with up to {number(outcome.peak_charge_A)} A, more than "
            "half its capacity per hour; no limit was given to hold that against.",
        )
    peak = max(outcome.peak_discharge_A, outcome.peak_charge_A)
    if battery.fuse_A is not None and peak > battery.fuse_A:
        yield Caution(
            "fuse overloaded",
            "danger",
            peak,
            battery.fuse_A,
            "A",
            f"{battery.name} carries up to {number(peak)} A; its fuse is rated for "
            f"{number(battery.fuse_A)} A.",
        )


def _limit_text(battery: Battery, name: str) -> str:
    """Say which limit a current is held against, and whether it stood on the label."""
    limit = f"{number(getattr(battery, name))} A"
    if name in battery.limits_assumed:
        return f"its label was not given, {limit} is assumed"
    return f"its label allows {limit}"


def _of_cells(battery: Battery, outcome: BatteryOutcome) -> Iterator[Caution]:
    lfp = battery.chemistry == "LFP"
    lowest_V, highest_V = outcome.lowest_cell_voltage_V, outcome.highest_cell_voltage_V
    if outcome.lowest_state_of_charge < -MARGIN_SOC or (lfp and lowest_V < LFP_LOWEST_V):
        yield Caution(
            "cell driven below empty",
            "danger",
            lowest_V,
            LFP_LOWEST_V if lfp else None,
            "V",
            f"A cell of {battery.name} is driven down to {number(lowest_V)} V and "
            f"{number(100 * outcome.lowest_state_of_charge)} % of its charge: deep discharge ruins "
            "cells and can make them unsafe to charge again.",
        )
    beyond_full = not lfp and outcome.highest_state_of_charge > 1.0 + MARGIN_SOC
    if beyond_full or (lfp and highest_V > LFP_HIGHEST_V):
        yield Caution(
            "cell charged beyond full",
            "danger",
            highest_V,
            LFP_HIGHEST_V if lfp else None,
            "V",
            f"A cell of {battery.name} is driven up to {number(highest_V)} V and "
            f"{number(100 * outcome.highest_state_of_charge)} % of its charge: overcharge can "
            "end in venting or fire.",
        )


def _of_rules(battery: Battery) -> Iterator[Caution]:
    guards = (Watch.LOWEST_CELL, Watch.BATTERY_VOLTAGE)
    if not any(rule.watches in guards and rule.blocks & Blocks.DISCHARGE for rule in battery.rules):
        yield Caution(
            "no low-voltage cut-out",
            "warning",
            None,
            None,
            "",
            f"{battery.name} has no rule that stops its discharge at a low voltage; in this "
            "prediction nothing protects its cells.",
        )


def _of_cold(bank: Bank, battery: Battery, outcome: BatteryOutcome) -> Iterator[Caution]:
    temperature_C = bank.temperature_K - KELVIN_AT_0_DEGC
    if battery.chemistry != "LFP" or temperature_C >= 0.0:
        return
    if outcome.charged_Ah > COLD_SHARE * outcome.rated_Ah:
        yield Caution(
            "charged below freezing",
            "danger",
            temperature_C,
            0.0,
            "degC",
            f"{battery.name} takes {number(outcome.charged_Ah)} Ah at {number(temperature_C)} "
            "degrees C: lithium can plate out, which is lasting damage and a fire risk.",
        )


def _of_cut_outs(bank: Bank, events: tuple[Event, ...]) -> Iterator[Caution]:
    """Batteries that are overloaded when others cut out; those that act together count as one."""
    cut_outs = [event for event in events if event.cuts_out]
    for _, together in groupby(cut_outs, key=lambda event: (event.time_s, event.currents_A)):
        group = list(together)
        event, names = group[0], " and ".join(str(one.battery) for one in group)
        for battery, before, after in zip(
            bank.batteries, event.currents_A, event.currents_after_A, strict=True
        ):
            limit = battery.continuous_discharge_A
            if limit is not None and before <= limit < after:
                limit_text = _limit_text(battery, "continuous_discharge_A")
                yield Caution(
                    "overload after a cut-out",
                    "danger",
                    after,
                    limit,
                    "A",
                    f"When {names} cut out, {battery.name} jumps from {number(before)} A to "
                    f"{number(after)} A; {limit_text}.",
                )

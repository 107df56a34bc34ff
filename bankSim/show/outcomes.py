"""The tables of the story: what each battery gave, and every switching with its reason."""

from bankSim.show.blocks import Grid, Section
from bankSim.show.causes import cause
from bankSim.show.words import beside, clean, number, percent, span, volts, whole_or
from bankSim.sim.result import TRIP, BatteryOutcome, Event, Result

MOST_EVENTS = 70
LONGEST_NAME = 28
AFTER_CHARGE = ("Stranded Ah", "Left Ah", "Peak A", "Share at start")


def charge_table(result: Result) -> Section:
    """Charge per battery, in Ah, with the peak current and the share at the start."""
    charging = any(battery.charged_Ah > 5e-4 for battery in result.batteries)
    taken = ("Taken Ah",) if charging else ()
    columns = ("Battery", "Label Ah", "Given Ah", *taken, *AFTER_CHARGE)
    scale = max(battery.rated_Ah for battery in result.batteries)
    rows = tuple(_charge_row(battery, charging, scale) for battery in result.batteries)
    flows = "Given and taken: charge out of and into" if charging else "Given: charge out of"
    lines = (
        f"{flows} it at its own terminals. Left: what its weakest cell still holds.",
        "Stranded: what its other cells hold above the weakest one, on average.",
    )
    return Section("What each battery gave", lines, Grid(columns, rows))


def _charge_row(battery: BatteryOutcome, charging: bool, scale: float) -> tuple[str, ...]:
    """One row; every Ah is rounded alike so that a column can be added up by eye."""
    taken = (beside(battery.charged_Ah, scale),) if charging else ()
    return (
        clean(battery.name, LONGEST_NAME),
        whole_or(battery.rated_Ah, 4),
        beside(battery.delivered_Ah, scale),
        *taken,
        beside(battery.stranded_Ah, scale),
        beside(battery.remaining_Ah, scale),
        number(battery.peak_discharge_A),
        percent(battery.share_at_start),
    )


def event_table(result: Result) -> Section:
    """Every switching in order: when, who, why, and the voltages just before it."""
    if not result.events:
        return Section("What switched", ("Nothing: no rule acted during this run.",))
    rows = tuple(_event_row(result, event) for event in result.events[:MOST_EVENTS])
    hidden = len(result.events) - len(rows)
    lines = (f"{hidden} more are in events.csv.",) if hidden else ()
    columns = ("Battery", "What and why", "After", "Battery V", "Bus V")
    return Section("What switched, and why", lines, Grid(columns, rows, words=2))


def _event_row(result: Result, event: Event) -> tuple[str, ...]:
    return (
        clean(event.battery or "the bank", LONGEST_NAME),
        f"{_happening(event)}{cause(result, event)}",
        span(event.time_s, 4),
        volts(event.battery_voltage_V).removesuffix(" V"),
        volts(event.bus_voltage_V).removesuffix(" V"),
    )


def _happening(event: Event) -> str:
    if event.what != TRIP:
        return ""
    return "cut out: " if event.cuts_out else "stopped charging: "

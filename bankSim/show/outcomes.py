"""The tables of the story: what each battery gave, and every switching with its reason."""

from collections.abc import Sequence

from bankSim.show.blocks import Grid, Section
from bankSim.show.causes import cause
from bankSim.show.left_words import left_lines
from bankSim.show.sharing import currents_at_start, evens_out
from bankSim.show.whens import when
from bankSim.show.words import beside, percent, volts, whole_or
from bankSim.sim.numbers import clean, number
from bankSim.sim.result import RELEASE, TRIP, BatteryOutcome, Event, Result

MOST_EVENTS = 70
LONGEST_NAME = 28
SHOWN_A = 5e-4
NOTED = 1.005  # of the label
MORE_THAN_LABEL = (
    "More than the label can be left: it names what a discharge of some hours gives, and cells "
    "hold a little more."
)


def charge_table(result: Result) -> Section:
    """Charge per battery, in Ah, with the peak currents and the share at the start."""
    charging = any(battery.charged_Ah > 5e-4 for battery in result.batteries)
    entering = any(battery.peak_charge_A > SHOWN_A for battery in result.batteries)
    taken = ("Taken Ah",) if charging else ()
    peaks = ("Peak out A", "Peak in A") if entering else ("Peak out A",)
    evening = evens_out(result)
    start = "A at start" if evening else "Share at start"
    columns = ("Battery", "Label Ah", "Given Ah", *taken, "Stranded Ah", "Left Ah", *peaks, start)
    scale = max(battery.rated_Ah for battery in result.batteries)
    first_A = currents_at_start(result) if evening else []
    rows = tuple(
        (
            *_charges(battery, charging, scale),
            *_peaks(battery, entering),
            number(first_A[place]) if evening else percent(battery.share_at_start),
        )
        for place, battery in enumerate(result.batteries)
    )
    flows = "Given and taken: charge out of and into" if charging else "Given: charge out of"
    lines = [
        f"{flows} it at its own terminals. Left: what its weakest cell still holds.",
        "Stranded: what each cell holds above the weakest one, the mean over all its cells.",
    ]
    bound = left_lines(result)
    lines += bound
    if not bound and any(one.remaining_Ah > NOTED * one.rated_Ah for one in result.batteries):
        lines.append(MORE_THAN_LABEL)
    return Section("What each battery gave", tuple(lines), Grid(columns, rows))


def _charges(battery: BatteryOutcome, charging: bool, scale: float) -> tuple[str, ...]:
    """Every Ah is rounded alike so that a column can be added up by eye."""
    taken = (beside(battery.charged_Ah, scale),) if charging else ()
    return (
        clean(battery.name, LONGEST_NAME),
        whole_or(battery.rated_Ah, 4),
        beside(battery.delivered_Ah, scale),
        *taken,
        beside(battery.stranded_Ah, scale),
        beside(battery.remaining_Ah, scale),
    )


def _peaks(battery: BatteryOutcome, entering: bool) -> tuple[str, ...]:
    """Largest current out, and in where any battery was charged."""
    into = (number(battery.peak_charge_A),) if entering else ()
    return (number(battery.peak_discharge_A), *into)


def event_table(result: Result) -> Section:
    """Every switching in order: when, who, why, and the voltages just before it."""
    if not result.events:
        return Section("What switched", ("Nothing: no rule acted during this run.",))
    grid = event_rows(result, result.events[:MOST_EVENTS])
    hidden = len(result.events) - len(grid.rows)
    lines = (f"{hidden} more are in events.csv.",) if hidden else ()
    return Section("What switched, and why", lines, grid)


def event_rows(result: Result, events: Sequence[Event]) -> Grid:
    """Return some events of a run as a table, in the order given."""
    columns = ("Who", "What and why", "After", "Battery V", "Bus V")
    return Grid(columns, tuple(_event_row(result, event) for event in events), words=2)


def _event_row(result: Result, event: Event) -> tuple[str, ...]:
    return (
        clean(event.battery or event.source or "the bank", LONGEST_NAME),
        f"{_happening(event)}{cause(result, event)}",
        when(result, event.time_s, 4),
        volts(event.battery_voltage_V).removesuffix(" V"),
        volts(event.bus_voltage_V).removesuffix(" V"),
    )


def _happening(event: Event) -> str:
    if event.what == RELEASE:
        return f"allows {(event.blocks or '').replace('both', 'both ways')} again: "
    if event.what != TRIP:
        return ""
    return "cut out: " if event.cuts_out else "blocks charging: "

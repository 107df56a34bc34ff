"""Loads that cannot be fed, and charge that nobody takes."""

from collections.abc import Iterator

import numpy as np

from bankSim.model.rule import Watch
from bankSim.sim.cautions.cells import NEARLY_EMPTY
from bankSim.sim.cautions.cut_outs import blocked_names
from bankSim.sim.numbers import named, span
from bankSim.sim.result import COLLAPSE, REFUSED, Caution, Event, Result
from bankSim.sim.returns import column

SOON_S = 1.0  # loads that go without only for the last instant of a run are its end


def of_supply(result: Result) -> Iterator[Caution]:
    """Tell when the loads first go without, and when charge is first refused."""
    collapses = [event for event in result.events if event.what == COLLAPSE]
    short = [event for event in collapses if not _nobody_left(result, event)]
    if short:
        yield _too_much(result, short)
    elif result.bank.runtime_s < result.end_time_s - SOON_S:
        yield _caution(
            COLLAPSE,
            "note",
            result.bank.runtime_s,
            f"After {span(result.bank.runtime_s)} no battery is left to feed the loads, and they "
            "go without.",
            _more_to_give(result),
        )
    for event in [event for event in result.events if event.what == REFUSED][:1]:
        yield _caution(
            REFUSED,
            "warning",
            event.time_s,
            f"After {span(event.time_s)}: {event.text}",
            "Charge at a voltage that the batteries accept and at a temperature at which they may "
            "be charged; some chargers must not run without a battery.",
        )


def _more_to_give(result: Result) -> str:
    """Return the advice for a bank that is out: by current or for want of charge."""
    last = {
        event.battery: event
        for event in result.events
        if event.cuts_out and event.time_s <= result.bank.runtime_s
    }
    if any(event.watches == Watch.DISCHARGE_CURRENT.value for event in last.values()):
        return (
            "It is the current that puts them out, with charge left: use less power at a time, or "
            "share it more evenly (equal leads, batteries of one kind and age, joined at matching "
            "voltages)."
        )
    return (
        "Stop the loads earlier (a low-voltage cut-off of their own), use less, charge earlier, or "
        "add capacity."
    )


def _weak(result: Result, time_s: float) -> tuple[list[str], list[str]]:
    """Return the batteries that have cut out and the other ones that are nearly empty."""
    out = blocked_names(result, time_s, "discharge")
    row = int(np.searchsorted(result.trace[:, 0], time_s, side="right")) - 1
    empty = [
        outcome.name
        for number_of, outcome in enumerate(result.batteries)
        if column(result.trace, number_of, 2)[row] < NEARLY_EMPTY and outcome.name not in out
    ]
    return out, empty


def _too_much(result: Result, short: list[Event]) -> Caution:
    first_s = short[0].time_s
    again = f", the first of {len(short)} times" if len(short) > 1 else ""
    out, empty = _weak(result, first_s)
    if out or empty:
        parts = [f"{named(out)} {'has' if len(out) == 1 else 'have'} cut out"] if out else []
        if empty:
            parts.append(f"{named(empty)} {'is' if len(empty) == 1 else 'are'} nearly empty")
        return _caution(
            COLLAPSE,
            "warning",
            first_s,
            f"After {span(first_s)} the loads ask for more power than the bank can give{again}: "
            f"{' and '.join(parts)}.",
            _more_to_give(result)
            if out
            else "Stop the loads earlier (a low-voltage cut-off of their own), use less, charge "
            "earlier, or add capacity.",
        )
    return _caution(
        COLLAPSE,
        "warning",
        first_s,
        f"After {span(first_s)} the loads ask for more power than the bank can give{again}: its "
        "voltage would collapse.",
        "Use less power at a time, stop earlier, or take thicker and shorter leads or more "
        "batteries.",
    )


def _caution(topic: str, severity: str, time_s: float, text: str, advice: str) -> Caution:
    return Caution(topic, severity, time_s / 3600.0, None, "h", text, advice)


def _nobody_left(result: Result, event: Event) -> bool:
    """Tell whether the discharge of every battery was blocked at that instant."""
    return len(blocked_names(result, event.time_s, "discharge")) == len(result.batteries)

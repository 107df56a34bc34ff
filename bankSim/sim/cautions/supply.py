"""Loads that cannot be fed, and charge that nobody takes."""

from collections.abc import Iterator

import numpy as np

from bankSim.kernels.arrays import DISCHARGE_BLOCKED
from bankSim.sim.numbers import span
from bankSim.sim.result import COLLAPSE, REFUSED, Caution, Event, Result
from bankSim.sim.returns import column

SOON_S = 1.0  # loads that go without only for the last instant of a run are its end


def of_supply(result: Result) -> Iterator[Caution]:
    """Tell when the loads first go without, and when charge is first refused."""
    collapses = [event for event in result.events if event.what == COLLAPSE]
    short = [event for event in collapses if not _nobody_left(result, event)]
    if short:
        yield _too_much(short)
    elif result.bank.runtime_s < result.end_time_s - SOON_S:
        yield _caution(
            COLLAPSE,
            "note",
            result.bank.runtime_s,
            f"After {span(result.bank.runtime_s)} no battery is left to feed the loads, and they "
            "go without.",
            "Use less, charge earlier, or add capacity.",
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


def _too_much(short: list[Event]) -> Caution:
    first_s = short[0].time_s
    again = f", the first of {len(short)} times" if len(short) > 1 else ""
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
    row = int(np.searchsorted(result.trace[:, 0], event.time_s, side="right")) - 1
    modes = (int(column(result.trace, k, 4)[row]) for k in range(len(result.batteries)))
    return all(mode & DISCHARGE_BLOCKED for mode in modes)

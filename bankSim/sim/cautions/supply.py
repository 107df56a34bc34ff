"""Loads that cannot be fed, and charge that nobody takes."""

import math
from collections.abc import Iterator

import numpy as np

from bankSim.model.rule import Watch
from bankSim.sim.asking import Asking, asking_at
from bankSim.sim.at_rest import rest_voltage
from bankSim.sim.cautions.cells import NEARLY_EMPTY
from bankSim.sim.cautions.cut_outs import blocked_names
from bankSim.sim.cautions.heads import ohm_at
from bankSim.sim.cautions.limits import limit_of
from bankSim.sim.numbers import after, named, number, quoted, rough, sentence
from bankSim.sim.result import COLLAPSE, REFUSED, Caution, Event, Result
from bankSim.sim.returns import column
from bankSim.sim.runtime import all_gone

HALF = 0.5
IDLE_A, LEAST_OHM = 0.01, 1e-6
HEATER_ALONE = (
    "Let the heater work only while a charger is on, or switch it off before the batteries are "
    "empty; insulate, charge earlier, or add capacity."
)
HEATER_TOO_STRONG = (
    "Take a smaller heater or a stronger charger; insulate, charge earlier, or add capacity."
)
SOON_S = 1.0  # loads that go without only for the last instant of a run are its end


def of_supply(result: Result) -> Iterator[Caution]:
    """Tell when the loads first go without, and when charge is first refused."""
    collapses = [event for event in result.events if event.what == COLLAPSE]
    short = [event for event in collapses if not _nobody_left(result, event)]
    if short:
        yield _too_much(result, short)
    elif result.bank.runtime_s < result.end_time_s - SOON_S and not all_gone(result):
        yield _caution(
            COLLAPSE,
            "note",
            result.bank.runtime_s,
            f"{sentence(after(result.bank.runtime_s))} no battery is left to feed the loads, and "
            "they go without.",
            _more_to_give(result),
        )
    yield from _of_idle_chargers(result)
    for event in [event for event in result.events if event.what == REFUSED][:1]:
        yield _caution(
            REFUSED,
            "warning",
            event.time_s,
            f"{sentence(after(event.time_s))}: {event.text}",
            "Charge at a voltage that the batteries accept and at a temperature at which they may "
            "be charged; some chargers must not run without a battery.",
        )


def _of_idle_chargers(result: Result) -> Iterator[Caution]:
    """Tell of chargers whose voltage is too low to give anything."""
    bus_V = result.trace[:, 2]
    lowest_V = float(bus_V[bus_V > 0.0].min(initial=math.inf))
    for charger, outcome in zip(result.scenario.bank.chargers, result.chargers, strict=True):
        hold_V = charger.highest_hold_V
        if outcome.peak_A < IDLE_A and hold_V < lowest_V < math.inf:
            yield Caution(
                "charger gives nothing",
                "warning",
                hold_V,
                lowest_V,
                "V",
                f"{quoted(charger.name)} gives nothing: it holds at most {number(hold_V, 4)} V, "
                f"and the batteries are never below {number(lowest_V, 4)} V.",
                "Check its voltage in the file.",
            )


def _more_to_give(result: Result) -> str:
    """Return the advice for a bank that is out: by current or for want of charge."""
    out = blocked_names(result, result.bank.runtime_s, "discharge")
    last = {
        event.battery: event.watches
        for event in result.events
        if event.cuts_out and event.battery in out and event.time_s <= result.bank.runtime_s
    }
    by_current = sum(watches == Watch.DISCHARGE_CURRENT.value for watches in last.values())
    if by_current > HALF * len(last):
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
    when = sentence(after(first_s))
    asking = asking_at(result, first_s)
    who = asking.heaters_ask if asking.only_heaters else "the loads ask"
    asked_A = _asked_A(result, asking, first_s)
    what = "power" if asked_A is None else "current"
    asks = f"{when} {who} for more {what} than the bank can give{again}"
    out, empty = _weak(result, first_s)
    if out or empty:
        parts = [f"{named(out)} {'has' if len(out) == 1 else 'have'} cut out"] if out else []
        if empty:
            parts.append(f"{named(empty)} {'is' if len(empty) == 1 else 'are'} nearly empty")
        left, severity = _left_with(result, short[0], out)
        return _caution(
            COLLAPSE,
            severity,
            first_s,
            f"{asks}: {' and '.join(parts)}.{left}",
            _heater_advice(result, asking)
            if asking.only_heaters
            else _more_to_give(result)
            if out
            else "Stop the loads earlier (a low-voltage cut-off of their own), use less, charge "
            "earlier, or add capacity.",
        )
    emf_V, ohm = _source(result, short[0])
    most = f"about {rough(emf_V**2 / (4.0 * ohm), 'W')} at that moment, and at half its voltage"
    if asked_A is not None:
        most = f"about {number(emf_V / ohm)} A at that moment, and at 0 V, of {number(asked_A)} A"
        if number(emf_V / ohm) == number(asked_A):  # it has come down to what they ask for
            most = f"at {number(asked_A)} A no voltage is left for them"
    return _caution(
        COLLAPSE,
        "warning",
        first_s,
        f"{asks}: {most}.",
        f"Use less {what} at a time, stop earlier, or take thicker and shorter leads or more "
        "batteries.",
    )


def _heater_advice(result: Result, asking: Asking) -> str:
    """Say what to do about heaters that alone ask for too much."""
    asked = {name for name, _ in asking.heaters}
    own = [one.heater for one in result.scenario.bank.batteries if one.name in asked]
    waits = all(one is not None and one.needs_charger for one in own)
    return HEATER_TOO_STRONG if waits else HEATER_ALONE


def _left_with(result: Result, event: Event, out: list[str]) -> tuple[str, str]:
    """Say what those that have not cut out would carry beyond their labels, and how bad that is.

    In this prediction the loads are off from here on, so that nothing else tells it.
    """
    left = [battery for battery in result.scenario.bank.batteries if battery.name not in out]
    limits = [limit for limit in (limit_of(one, "discharge") for one in left) if limit is not None]
    if not out or len(limits) < len(left):
        return "", "warning"
    asking = asking_at(result, event.time_s)
    asked_A = _drawn_A(result, asking, event.time_s, _source(result, event)[0])
    allowed_A = sum(limit.amperes for limit in limits)
    if asked_A <= allowed_A:
        return "", "warning"
    labels = limits[0].text if len(left) == 1 else f"{number(allowed_A)} A is what they may carry"
    surely = any(limit.severity == "danger" for limit in limits)
    return (
        f" {named([battery.name for battery in left])} would have to carry at least "
        f"{number(asked_A)} A; {labels}. A load that regulates its power draws more and more as "
        "the voltage falls, until something cuts out or fails."
    ), "danger" if surely else "warning"


def _asked_A(result: Result, asking: Asking, time_s: float) -> float | None:  # noqa: N802
    """Return what loads of constant current ask for; None where anything else asks, too. [A]"""
    asked = (load for load in result.scenario.bank.loads if load.name in asking.loads)
    if asking.heaters or any(load.exponent != 1.0 for load in asked):
        return None
    return _drawn_A(result, asking, time_s, 1.0)  # at any voltage


def _drawn_A(result: Result, asking: Asking, time_s: float, at_V: float) -> float:  # noqa: N802
    """Return what the loads that ask at an instant would draw at a voltage, without heaters. [A]"""
    bank, when_s = result.scenario.bank, np.array([time_s])
    amps = (
        float(load.amount(when_s, bank.starts_at_s)[0]) * at_V ** (load.exponent - 1.0)
        for load in bank.loads
        if load.name in asking.loads
    )
    return float(sum(amps))


def _source(result: Result, event: Event) -> tuple[float, float]:
    """Return the bank at an event as one source: its voltage and resistance. [V], [ohm]

    It gives E^2 / (4 R) at most, and E / R into a short. Links between batteries are left out.
    """
    bank = result.scenario.bank
    out = blocked_names(result, event.time_s, "discharge")
    row = max(int(np.searchsorted(result.trace[:, 0], event.time_s, side="left")), 0)
    siemens = pushed_A = 0.0
    for number_of, battery in enumerate(bank.batteries):
        if battery.name not in out:
            current_A, terminal_V, level = (
                float(column(result.trace, number_of, offset)[row]) for offset in range(3)
            )
            # charged just then, it meets another resistance than once it has to give
            ohm = max(ohm_at(result, number_of, row, giving=True), LEAST_OHM)
            siemens += 1.0 / ohm
            met_ohm = ohm if current_A >= 0.0 else ohm_at(result, number_of, row)
            emf_V = terminal_V + current_A * (met_ohm - battery.lead_ohm)
            if terminal_V <= 0.0:  # at the first instant the rows are empty
                emf_V = rest_voltage(battery, level)
            pushed_A += emf_V / ohm
    return pushed_A / siemens, 1.0 / siemens + bank.wiring.main_ohm


def _caution(topic: str, severity: str, time_s: float, text: str, advice: str) -> Caution:
    return Caution(topic, severity, time_s / 3600.0, None, "h", text, advice)


def _nobody_left(result: Result, event: Event) -> bool:
    """Tell whether the discharge of every battery was blocked at that instant."""
    return len(blocked_names(result, event.time_s, "discharge")) == len(result.batteries)

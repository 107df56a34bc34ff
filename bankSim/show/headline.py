"""The answer in a few sentences; the text, the page and the screen all begin with it."""

import numpy as np

from bankSim.model.battery import Battery
from bankSim.show.beware import beware, danger, on_paper
from bankSim.show.causes import UNFED, cut_outs, unfed
from bankSim.show.departures import departures
from bankSim.show.heated import heated
from bankSim.show.loads_off import loads_off, loads_off_lines
from bankSim.show.returns import has_returns, returns
from bankSim.show.stops import charger_to_come
from bankSim.show.words import percent, whole_or
from bankSim.sim.numbers import AT_ONCE_S, after, listing, number, quoted, span
from bankSim.sim.result import ALL_OVER, COLLAPSE, EMPTY, REFUSED, Result
from bankSim.sim.returns import column
from bankSim.sim.runtime import all_gone

CLOSE_TO_FULL = 0.995
NAMES_TOLD = 4
IDLE_FRACTION = 1e-6
PASSING = {COLLAPSE: UNFED, REFUSED: "charge is offered that the bank does not accept"}


def headline(result: Result) -> list[str]:
    """Say what the bank gives, how it ends, who cuts out and why, what to beware of.

    A danger follows the first answer; where a fuse would blow or cells are driven below empty or
    beyond full it comes before it.
    """
    answer = [
        _yield(result),
        *_supplied(result),
        *heated(result),
        *_started(result),
        *_ending(result),
        *loads_off_lines(result),
        *charger_to_come(result),
    ]
    answer += _passing(result)
    warned = danger(result)
    opening = [*warned, *answer] if on_paper(result) else [*answer, *warned]
    told = [*departures(result), *returns(result), *_left_behind(result)]
    return [*opening, *told, *beware(result)]


def delivers(result: Result) -> bool:
    """True when a charge worth naming leaves the bank through the take-off."""
    return result.bank.delivered_Ah > IDLE_FRACTION * labels_Ah(result)


def charges(result: Result) -> bool:
    """True when a charge worth naming enters the bank through the take-off."""
    return result.bank.charged_Ah > IDLE_FRACTION * labels_Ah(result)


def labels_Ah(result: Result) -> float:  # noqa: N802 - the unit as printed
    """Sum of the labels. [Ah]"""
    return sum(battery.rated_Ah for battery in result.batteries)


def _yield(result: Result) -> str:
    """Say what came out (and went in), of how much, and how long it took."""
    given, taken = result.bank.delivered_Ah, result.bank.charged_Ah
    labels = f"the {whole_or(labels_Ah(result))} Ah on the labels"
    time = span(result.end_time_s)
    fed = span(result.bank.runtime_s) if all_gone(result) else time
    who = "On paper the bank" if on_paper(result) else "The bank"
    if delivers(result) and charges(result):
        way = "" if given >= taken else " into it"
        return (
            f"{who} delivers {number(given)} Ah and takes in {number(taken)} Ah in {time}: net "
            f"{number(abs(given - taken))} Ah{way}, beside {labels}."
        )
    if delivers(result):
        return f"{who} delivers {number(given)} Ah of {labels} in {fed}."
    if charges(result):
        return f"{who} takes in {number(taken)} Ah in {time}."
    return _nothing_drawn(result)


def _supplied(result: Result) -> list[str]:
    """Say what the chargers give, part of it straight to the loads."""
    given = sum(charger.delivered_Ah for charger in result.chargers)
    if not result.chargers:
        return []
    who = "The charger gives" if len(result.chargers) == 1 else "The chargers give"
    return [f"{who} {number(given)} Ah."]


def _nothing_drawn(result: Result) -> str:
    """Say what the batteries do among themselves."""
    if result.end_reason == COLLAPSE or (cut_outs(result) and result.end_reason == EMPTY):
        return "The bank delivers nothing."
    moved = sum(battery.delivered_Ah for battery in result.batteries)
    if moved <= IDLE_FRACTION * labels_Ah(result):
        fed = sum(one.delivered_Ah for one in result.chargers) > IDLE_FRACTION * labels_Ah(result)
        where = " through the batteries" if fed else ""
        return f"Nothing flows{where} during the {span(result.end_time_s)}."
    return (
        f"Nothing is drawn from the bank; {number(moved)} Ah flow between its batteries in "
        f"{span(result.end_time_s)}, {number(_exchanged_A(result))} A at most."
    )


def _exchanged_A(result: Result) -> float:  # noqa: N802 - the unit as printed
    """Return the most that all who give then give to the others together. [A]"""
    places = range(len(result.batteries))
    amps = np.array([column(result.trace, place, 0) for place in places])
    given_A, taken_A = np.maximum(amps, 0.0).sum(axis=0), np.maximum(-amps, 0.0).sum(axis=0)
    # between rows one of them alone is known to have given more
    alone_A = max(battery.peak_discharge_A for battery in result.batteries)
    return max(float(np.minimum(given_A, taken_A).max(initial=0.0)), alone_A)


def _started(result: Result) -> list[str]:
    """Name the batteries, or the cells of them, that did not start full."""
    batteries = result.scenario.bank.batteries
    told = [start for start in map(_start_of, batteries) if start]
    if not told:
        return []
    texts = {percent(cell.state_of_charge) for one in batteries for cell in one.cells}
    if len(texts) == 1:
        return [f"It starts at {texts.pop()} of its charge, not full."]
    below = [cell.state_of_charge < CLOSE_TO_FULL for one in batteries for cell in one.cells]
    who = (
        "Not all start"
        if not all(below)
        else "None starts"
        if len(told) > 1
        else "It does not start"
    )
    return [f"{who} full: {listing(told, NAMES_TOLD)}."]


def _start_of(battery: Battery) -> str:
    """Return the battery, or its cells that are lower, with their charge; "" if it is full."""
    states = [cell.state_of_charge for cell in battery.cells]
    charges_C = [cell.charge_C for cell in battery.cells]
    held = float(np.average(states, weights=charges_C))
    if held >= CLOSE_TO_FULL:
        return ""
    lower = {n: state for n, state in enumerate(states, 1) if state < CLOSE_TO_FULL}
    if len(lower) == len(states):
        return f"{quoted(battery.name)} at {percent(held)}"
    at = " to ".join(dict.fromkeys(map(percent, (min(states), max(lower.values())))))
    who = f"cell {next(iter(lower))}" if len(lower) == 1 else f"{len(lower)} cells"
    return f"{who} of {quoted(battery.name)} at {at}"


def _ending(result: Result) -> list[str]:
    """Say why the run ends, and when the loads went without before that."""
    if result.end_reason == COLLAPSE:
        return [f"It ends because {unfed(result, result.end_time_s)}."]
    if result.end_reason == EMPTY:
        all_out = len(cut_outs(result)) == len(result.batteries) and not has_returns(result)
        return [] if all_out else ["It ends because no battery is left to feed the loads."]
    if result.end_reason != ALL_OVER or all_gone(result):
        return []
    off = loads_off(result)
    if result.bank.runtime_s < result.end_time_s * (1.0 - 1e-9):
        until_s = result.bank.runtime_s
        why = f"; then {unfed(result, until_s)}" if _unfed_at(result, until_s) else ""
        when = span(result.bank.runtime_s)
        earlier = any(times[0] < result.bank.runtime_s for times in off.values())
        who = "But for what cuts itself off, the" if earlier else "The"
        return [f"{who} loads are fed without a break for the first {when} only{why}."]
    all_off = off and len(off) == len(result.scenario.bank.loads)
    if all_off or not delivers(result):
        return []
    return [f"The loads are fed all that time{', except what cuts itself off' if off else ''}."]


def _unfed_at(result: Result, time_s: float) -> bool:
    """Tell whether it is then that the loads ask for too much, without ending the run."""
    times = [event.time_s for event in result.events if event.what == COLLAPSE]
    return result.end_reason != COLLAPSE and bool(times) and times[0] <= time_s + AT_ONCE_S


def _passing(result: Result) -> list[str]:
    """Tell what happened in between without ending the run, once a kind, with its time."""
    sentences = []
    for what, words in PASSING.items():
        events = [event for event in result.events if event.what == what]
        if what == COLLAPSE and result.end_reason == COLLAPSE:
            events = events[:-1]
        told = what == COLLAPSE and _unfed_at(result, result.bank.runtime_s)
        if events and not told:
            again = f" (the first of {len(events)} times)" if len(events) > 1 else ""
            why = unfed(result, events[0].time_s) if what == COLLAPSE else words
            sentences.append(f"In between, {after(events[0].time_s)}{again}, {why}.")
    return sentences


def _left_behind(result: Result) -> list[str]:
    """Name the charge that unequal cells lock in, when it is worth a sentence."""
    stranded = sum(battery.stranded_Ah for battery in result.batteries)
    over = cut_outs(result) and not has_returns(result)
    if not over or stranded < 0.005 * labels_Ah(result):
        return []
    return [f"{number(stranded)} Ah stay locked in cells that are fuller than their weakest one."]

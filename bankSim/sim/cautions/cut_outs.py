"""What a cut-out does to the others, and batteries that come and go."""

from collections import Counter
from collections.abc import Iterator, Sequence
from itertools import groupby
from typing import Literal

import numpy as np

from bankSim.kernels.arrays import CHARGE_BLOCKED, DISCHARGE_BLOCKED
from bankSim.sim.cascades import OVER_CURRENT, RAISED, Link, cascades, chain_events
from bankSim.sim.cautions.limits import Limit, limit_of
from bankSim.sim.hiccups import SHORT_RETURN
from bankSim.sim.numbers import AT_ONCE_S, after, named, number, quoted, sentence, span
from bankSim.sim.result import STAYS_OUT, TRIP, BatteryOutcome, Caution, Event, Result
from bankSim.sim.returns import column

MOST_HICCUPS = 3  # one or two returns in vain happen around every low battery


def of_cut_outs(result: Result) -> Iterator[Caution]:
    """Warn of cascades, of batteries overloaded by another one's leaving, and of hiccups."""
    told: set[str] = set()
    for direction in OVER_CURRENT:
        alike: dict[tuple[str | None, ...], list[list[Link]]] = {}
        for chain in cascades(result, direction):
            events = chain_events(chain)
            if any(event.watches == OVER_CURRENT[direction] for event in events):
                told.update(str(event.battery) for event in events[1:])
                key = (events[0].battery, *sorted(str(event.battery) for event in events[1:]))
                alike.setdefault(key, []).append(chain)
        for chains in alike.values():
            yield _cascade(result, chains, direction)
    yield from _of_overloads(result, told)
    yield from _of_hiccups(result)


def _cascade(result: Result, chains: list[list[Link]], direction: str) -> Caution:
    """Tell the first of some cascades of the same batteries, and count the others."""
    chain = chains[0]
    names, first = [battery.name for battery in result.batteries], chain[0].before
    last = chain[-1].event
    steps = [_step(link, first, direction) for link in chain]
    left = len(names) - len(blocked_names(result, last.time_s, direction))
    end = "No battery was left" if left == 0 else f"{left} of {len(names)} stayed connected"
    end += "." if direction == "discharge" else " to be charged."
    if len(chains) > 1:
        often = "once more" if len(chains) == 2 else f"{len(chains) - 1} more times, the last"
        end += f" The same happens {often} {after(chains[-1][0].before.time_s)}."
    out = blocked_names(result, first.time_s, direction, before=True)
    out = [*(name for name in out if name != first.battery), str(first.battery)]
    easier, what, does = "Use less power", "one cut-out takes others with it", "cuts out"
    if direction == "charge":
        charged = bool(result.scenario.bank.chargers)
        easier = "Use a smaller charger" if charged else "Charge with less"
        does = "blocks its charge"
        what = "one battery that blocks its charge takes others with it"
    return Caution(
        "over-current cascade",
        "danger",
        float(len(chain) + 1),
        1.0,
        "batteries",
        f"{sentence(after(first.time_s))} {what}. {first.text} {'; '.join(steps)}. {end}",
        f"{easier}, so that the others stay within their limits without {named(out)}, or stop "
        f"before {quoted(str(first.battery))} {does}.",
    )


def _step(link: Link, first: Event, direction: str) -> str:
    over = link.event.watches == OVER_CURRENT[direction]
    late_s = link.event.time_s - first.time_s
    return (
        f"{quoted(str(link.event.battery))} then carried {number(link.to_A)} A instead of "
        f"{number(max(link.from_A, 0.0))} A and tripped on "
        f"{'over-current' if over else f'its {link.event.watches}'} "
        f"{f'{span(late_s)} later' if late_s >= AT_ONCE_S else 'at the same instant'}"
    )


def _of_overloads(result: Result, told: set[str]) -> Iterator[Caution]:
    """Batteries pushed above their label when others cut out; the worst case of each."""
    worst: dict[str, tuple[float, Caution]] = {}
    cut_outs = [event for event in result.events if event.cuts_out]
    for _, together in groupby(cut_outs, key=lambda event: (event.time_s, event.currents_A)):
        group = list(together)
        for battery, before_A, after_A in zip(
            result.scenario.bank.batteries,
            group[0].currents_A,
            group[0].currents_after_A,
            strict=True,
        ):
            limit, known = limit_of(battery, "discharge"), worst.get(battery.name)
            if limit is None or battery.name in told:
                continue
            if after_A <= limit.amperes or after_A <= RAISED * max(before_A, 0.0):
                continue
            if known is None or after_A > known[0]:
                worst[battery.name] = (
                    after_A,
                    _overload(group, battery.name, before_A, after_A, limit),
                )
    for _, caution in worst.values():
        yield caution


def _overload(
    group: Sequence[Event], name: str, before_A: float, after_A: float, limit: Limit
) -> Caution:
    names = named([str(event.battery) for event in group])
    return Caution(
        "overload after a cut-out",
        limit.severity_of(after_A, np.inf),
        after_A,
        limit.amperes,
        "A",
        f"When {names} cut{'s' if len(group) == 1 else ''} out {after(group[0].time_s)}, "
        f"{quoted(name)} jumps from {number(before_A)} A to {number(after_A)} A; {limit.text}.",
        f"Keep the load small enough for the bank without {names}.",
    )


def blocked_names(
    result: Result, time_s: float, direction: str, *, before: bool = False
) -> list[str]:
    """Return the batteries that may not give ("discharge") or take ("charge") at an instant.

    Parameters
    ----------
    result : Result
    time_s : float
        [s]
    direction : str
    before : bool
        Just before what happens at that instant, instead of after it.
    """
    bit = DISCHARGE_BLOCKED if direction == "discharge" else CHARGE_BLOCKED
    side: Literal["left", "right"] = "left" if before else "right"
    row = max(int(np.searchsorted(result.trace[:, 0], time_s, side=side)) - 1, 0)
    # a run that ends at that instant has no row after it
    trips = {
        event.battery
        for event in result.events
        if event.time_s == time_s and event.what == TRIP and event.blocks in (direction, "both")
    }
    return [
        outcome.name
        for number_of, outcome in enumerate(result.batteries)
        if int(column(result.trace, number_of, 4)[row]) & bit
        or (not before and outcome.name in trips)
    ]


def _of_hiccups(result: Result) -> Iterator[Caution]:
    held = {event.battery: event for event in result.events if event.what == STAYS_OUT}
    for outcome in result.batteries:
        count = outcome.hiccups
        if count < MOST_HICCUPS:
            continue
        end = f" {held[outcome.name].text}" if outcome.name in held else ""
        yield Caution(
            "repeated hiccups",
            "warning",
            float(count),
            float(MOST_HICCUPS),
            "times",
            f"{quoted(outcome.name)} comes back {count} times only to be blocked again within the "
            f"hour, before it has passed {number(100.0 * SHORT_RETURN)} % of its label capacity."
            f"{end}",
            _hiccup_cure(result, outcome),
        )


def _hiccup_cure(result: Result, outcome: BatteryOutcome) -> str:
    """What ends the coming and going, by what blocks it most often."""
    trips = [e for e in result.events if e.what == TRIP and e.battery == outcome.name]
    often = Counter(one.watches for one in trips)
    most = max(trips, key=lambda one: often[one.watches], default=None)
    if most is not None and most.blocks == "charge":
        lower = "a smaller charger" if most.watches == OVER_CURRENT["charge"] else "a lower voltage"
        return f"Set its release further from its trip, and charge with {lower}."
    if most is not None and most.watches == OVER_CURRENT["discharge"]:
        return (
            "Let it wait for the load's removal before it comes back, and use less power at a time."
        )
    return (
        "Set its release further from its trip, or let it wait for a charger or for the load's "
        "removal; give the load a cut-off of its own that acts before the batteries do."
    )

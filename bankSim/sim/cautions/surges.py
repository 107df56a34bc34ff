"""What flows when a battery comes back in a run."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import partial

import numpy as np

from bankSim.model.rule import Watch
from bankSim.sim.cautions.cold import heating
from bankSim.sim.cautions.joined import WORTH_PER_H
from bankSim.sim.cautions.limits import Limit, limit_for
from bankSim.sim.joining_result import Return
from bankSim.sim.numbers import after, named, number, quoted, span
from bankSim.sim.result import TRIP, Caution, Event, Result
from bankSim.sim.returns import column, rows_between, time_above

COLDER_K = 1.0  # than all others, to be told of as the cold one; own choice
WARM_ENOUGH = {"charge": ("to take charge", "charge"), "discharge": ("to give", "draw")}


@dataclass(frozen=True, slots=True)
class Pushed:
    """A battery above its label because one came back.

    Parameters
    ----------
    name : str
    current_A : float
        Discharge positive. [A]
    limit : Limit
    above_s : float
        Until the look at that return ends. [s]
    """

    name: str
    current_A: float
    limit: Limit
    above_s: float

    @property
    def ratio(self) -> float:
        """Current over its limit. [1]"""
        return abs(self.current_A) / self.limit.amperes

    @property
    def severity(self) -> str:
        """Seconds of a little more are a warning."""
        return self.limit.severity_of(self.current_A, self.above_s)


def of_surges(result: Result) -> Iterator[Caution]:
    """Tell of the worst surge at the return of each battery."""
    yield from (telling() for _, telling in _worst(result))


def told_returns(result: Result) -> list[Return]:
    """Return those returns of a run whose surge is told; smaller ones of a battery are not.

    Parameters
    ----------
    result : Result
    """
    return [back for back, _ in _worst(result)]


def _worst(result: Result) -> list[tuple[Return, Callable[[], Caution]]]:
    """The worst surge of each battery; of several that come back together one is told."""
    worst: dict[str, tuple[tuple[int, float], Callable[[], Caution], Return]] = {}
    for back in result.returns:
        for rank, telling in _surges(result, back):
            if back.battery not in worst or rank > worst[back.battery][0]:
                worst[back.battery] = rank, telling, back
    told: dict[float, tuple[Return, Callable[[], Caution]]] = {}
    for _, telling, back in worst.values():
        told.setdefault(back.time_s, (back, telling))
    return list(told.values())


def pushed_above(result: Result, back: Return) -> list[Pushed]:
    """Return the batteries that a return pushes above their labels, the worst first.

    Parameters
    ----------
    result : Result
    back : Return
        One of its returns.
    """
    rows = []
    for number_of, battery in enumerate(result.scenario.bank.batteries):
        before, after = back.currents_A[number_of], back.currents_after_A[number_of]
        limit, jump_A = limit_for(battery, after), WORTH_PER_H * battery.rated_C / 3600.0
        if limit is None or abs(after) <= limit.amperes or abs(after) - abs(before) <= jump_A:
            continue
        above_s = _above_s(result, back, number_of, limit)
        rows.append(Pushed(battery.name, after, limit, above_s))
    rows = [one for one in rows if not one.limit.is_met(one.current_A, one.above_s)]
    return sorted(rows, key=lambda one: -one.ratio)


def _above_s(result: Result, back: Return, number_of: int, limit: Limit) -> float:
    """Time above the label after a return; coarse rows must not make it more than in all. [s]"""
    sign = 1.0 if back.currents_after_A[number_of] > 0.0 else -1.0
    rows = rows_between(result.trace, back.time_s, back.time_s + back.looked_at_s)
    above_s = time_above(rows[:, 0], sign * column(rows, number_of, 0), limit.amperes)
    outcome = result.batteries[number_of]
    in_all_s = outcome.above_discharge_label_s if sign > 0.0 else outcome.above_charge_label_s
    return min(above_s, in_all_s)


def _surges(
    result: Result, back: Return
) -> Iterator[tuple[tuple[int, float], Callable[[], Caution]]]:
    """Rank the surge of one return: who is pushed above a label, else what is exchanged.

    It is put into words only when asked: of thousands, one a battery is told.
    """
    bank, pushed = result.scenario.bank, pushed_above(result, back)
    if pushed:
        yield (2, pushed[0].ratio), partial(_pushing, result, back, pushed)
        return
    given = sum(max(amps, 0.0) for amps in back.currents_after_A)
    exchanged = min(given, given - sum(back.currents_after_A))
    worth_A = WORTH_PER_H * min(battery.rated_C for battery in bank.batteries) / 3600.0
    own = back.currents_after_A[[one.name for one in bank.batteries].index(back.battery)]
    if min(exchanged, abs(own)) > worth_A:
        text = f"{number(exchanged)} A flow from battery to battery."
        telling = partial(_surge, result, back, "warning", exchanged, worth_A, text)
        yield (1, exchanged / worth_A), telling


def _pushing(result: Result, back: Return, pushed: list[Pushed]) -> Caution:
    text = " ".join(
        f"{quoted(one.name)} jumps to {number(abs(one.current_A))} A; {one.limit.text}."
        for one in pushed
    )
    severity = min((one.severity for one in pushed), key=["danger", "warning"].index)
    value, limit_A = abs(pushed[0].current_A), pushed[0].limit.amperes
    return _surge(result, back, severity, value, limit_A, text)


def _surge(
    result: Result, back: Return, severity: str, value: float, limit: float, text: str
) -> Caution:
    who = ""
    if back.gives and back.takes:
        who = f" {named(back.gives)} {_verb(back.gives, 'give')}, "
        who += f"{named(back.takes)} {_verb(back.takes, 'take')} charge."
    allowed = "charge and discharge" if back.direction == "both" else back.direction
    return Caution(
        "surge when one comes back",
        severity,
        value,
        limit,
        "A",
        f"When {quoted(back.battery)} allows {allowed} again {after(back.time_s)}, "
        f"{text}{who} In the next "
        f"{span(back.looked_at_s)} {quoted(back.battery)} {_passes(result, back)}.",
        cure(result, back),
    )


def cure(result: Result, back: Return) -> str:
    """Return what keeps this battery from leaving, by the rule that last blocked what comes back.

    Parameters
    ----------
    result : Result
    back : Return
        One of its returns.
    """
    trips = [
        event
        for event in result.events
        if event.what == TRIP
        and event.battery == back.battery
        and event.time_s < back.time_s
        and (back.direction == "both" or event.blocks in (back.direction, "both"))
    ]
    watches = trips[-1].watches if trips else None
    if watches == Watch.TEMPERATURE.value:
        value, limit = trips[-1].value, trips[-1].threshold
        if value is not None and limit is not None and value > limit:
            return "Keep the batteries cool enough that none drops out alone."
        return _cold_cure(result, back, trips[-1])
    charged = bool(result.scenario.bank.chargers)
    if watches == Watch.CHARGE_CURRENT.value:
        return (
            f"{'Use a smaller charger' if charged else 'Charge with less'}, or more and evener "
            "batteries, so that none blocks its charge for its current."
        )
    if back.direction == "charge":
        return _charge_cure(result, back)
    return (
        "Use less power at a time, or stop the loads earlier, before the first battery cuts out; "
        "let one that was out come back only when its voltage matches that of the others."
    )


def _charge_cure(result: Result, back: Return) -> str:
    """What keeps a battery in whose voltage blocked its charge, by what it does when it is back."""
    charged, names = bool(result.scenario.bank.chargers), [one.name for one in result.batteries]
    even = f"{'Set a charge voltage' if charged else 'Stop the charge at a voltage'} that every "
    even += "battery accepts, balance the cells so that none blocks early, and "
    if back.currents_after_A[names.index(back.battery)] < 0.0:
        return f"{even}{'use a smaller charger' if charged else 'charge with less'}."
    return (
        f"{even}let {quoted(back.battery)} allow charge again (its release) before the others have "
        "drained far below it."
    )


def _cold_cure(result: Result, back: Return, trip: Event) -> str:
    """What keeps a battery in that left because it was too cold, by who was colder then."""
    name, names = quoted(back.battery), [one.name for one in result.batteries]
    number_of = names.index(back.battery)
    warmer = heating(result, number_of)
    to_do, do_it = WARM_ENOUGH.get(trip.blocks or "", ("to work", "use the bank"))
    if trip.blocks == "charge" and back.currents_after_A[number_of] > 0.0 and back.takes:
        # warmth would only have let it give as much from the first
        each = "itself" if len(back.takes) == 1 else "themselves"
        return (
            f"Charge {named(back.takes)} by {each} first, so that voltages match; {name} was too "
            "cold to be charged, not to give."
        )
    row = int(np.searchsorted(result.trace[:, 0], trip.time_s, side="left"))
    row = min(row, result.trace.shape[0] - 1)
    warmth_K = [float(column(result.trace, place, 3)[row]) for place in range(len(names))]
    others_K = [kelvin for place, kelvin in enumerate(warmth_K) if place != number_of]
    if warmth_K[number_of] < min(others_K, default=0.0) - COLDER_K:
        return (
            f"Keep {name} as warm as the others (insulation, {warmer}), or charge when all of "
            "them are warm enough."
        )
    return f"Keep {name} warm enough {to_do} (insulation, {warmer}), or {do_it} only when it is."


def _passes(result: Result, back: Return) -> str:
    """What the battery that came back then did; a time shorter than the rows is not known."""
    done = f"{'gives' if back.given_Ah >= 0.0 else 'takes'} {number(abs(back.given_Ah))} Ah"
    if back.above_label_s > result.scenario.bank.output_every_s:
        done += f" and is above its label for {span(back.above_label_s)}"
    elif back.above_label_s > 0.0:
        done += " and is above its label at first"
    return done


def _verb(names: tuple[str, ...], verb: str) -> str:
    return f"{verb}s" if len(names) == 1 else verb

"""What may differ from the scenario: its unknowns, what it gives as exact, and the meters."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from bankSim.model.bank import Bank
from bankSim.model.rule import Watch
from bankSim.model.spread import Shape, Spread
from bankSim.study.fields import Field, cell_places, rule_places
from bankSim.study.given_effects import scaled_capacity, scaled_pairs
from bankSim.study.unknown import Effect, Kind, Op, Unknown

EXACT = "the file gives it as exact; so much was taken here, choice"
FAR_SD = 6.0  # so far most values are moved
FARTHEST_SD = 12.0  # capacities and loads: a label may promise far too much
FAR_KINDS = (Kind.CAPACITY, Kind.LOAD)
CELL_KINDS = (Kind.CELL_CAPACITY, Kind.CELL_RESISTANCE, Kind.CELL_CHARGE)


@dataclass(frozen=True, slots=True)
class Reach:
    """How far a value may be moved, counted in standard deviations from its middle.

    Parameters
    ----------
    sd : float
        Root mean square distance from the middle; of the logarithm where `by_ratio`.
        In the unit of the value, or [1].
    low, high : float
        In standard deviations; 0 lies between. [1]
    by_ratio : bool
    """

    sd: float
    low: float
    high: float
    by_ratio: bool


def reach_of(spread: Spread) -> Reach:
    """Return how far a value may be moved."""
    low, high, middle = spread.low, spread.high, spread.value
    if spread.shape is Shape.LOGNORMAL:
        return Reach(spread.sd, -FAR_SD, FAR_SD, True)
    if spread.shape is Shape.NORMAL:
        sd = spread.sd
    elif spread.shape is Shape.UNIFORM:
        sd = math.sqrt(((high - middle) ** 3 + (middle - low) ** 3) / (3.0 * (high - low)))
    else:  # mean square distance from the peak of a triangle
        left, right = middle - low, high - middle
        sd = math.sqrt((left**3 + right**3) / (6.0 * (high - low)))
    lowest = max((low - middle) / sd, -FARTHEST_SD)
    return Reach(sd, lowest, min((high - middle) / sd, FARTHEST_SD), False)


def moved(spread: Spread, sds: float) -> float:
    """Return the value so many standard deviations from the middle. In the unit of the unknown."""
    reach = reach_of(spread)
    if reach.by_ratio:
        return float(spread.value * math.exp(reach.sd * sds))
    return float(np.clip(spread.value + reach.sd * sds, spread.low, spread.high))


def widened(one: Unknown) -> Unknown:
    """Return an unknown that may be moved beyond where typical spreads are cut; given ones stay."""
    spread = one.spread
    if one.given or spread.shape is not Shape.NORMAL:
        return one
    far = (FARTHEST_SD if one.kind in FAR_KINDS else FAR_SD) * spread.sd
    low = max(spread.value - far, 0.05) if one.is_factor else spread.value - far
    wide = replace(spread, low=min(low, spread.low), high=max(spread.value + far, spread.high))
    return replace(one, spread=wide)


def given_as_exact(bank: Bank, unknowns: Sequence[Unknown]) -> tuple[Unknown, ...]:
    """Return what the file gives without a spread and might be wrong all the same.

    Parameters
    ----------
    bank : Bank
    unknowns : sequence of Unknown
        What no stand-in is made for.
    """
    taken = {
        (effect.field, place)
        for one in unknowns
        if one.kind not in CELL_KINDS
        for effect in one.effects
        for place in effect.places
    }
    rebuilt = [one.key for one in unknowns if not one.effects]

    def is_open(one: Unknown) -> bool:
        last, first = one.key.rpartition(".")[2], one.effects[0]
        return not any((first.field, place) in taken for place in first.places) and not any(
            key.endswith(last) for key in rebuilt
        )

    found = [*_of_loads(bank), *_around(bank)]
    for number in range(len(bank.batteries)):
        found += _of_battery(bank, number)
    balance = {one.subject for one in unknowns if one.kind is Kind.CELL_CHARGE}
    found += [one for one in _balance(bank) if one.subject not in balance]
    return tuple(one for one in found if one.kind is Kind.CELL_CHARGE or is_open(one))


def worth_a_run(unknowns: Sequence[Unknown], bank: Bank) -> list[int]:
    """Return the places of unknowns to be tried: of cells that are alike only the first.

    A factor that is divided by the smallest of several is left out: it leaves the weakest cell.
    """
    seen: set[tuple[Kind, str, tuple[float, ...]]] = set()
    found = []
    for place, one in enumerate(unknowns):
        if one.pinned:
            continue
        if one.kind in CELL_KINDS:
            key = (one.kind, one.subject, _numbers(bank, one))
            if key in seen:
                continue
            seen.add(key)
        found.append(place)
    return found


def _numbers(bank: Bank, one: Unknown) -> tuple[float, ...]:
    """Return what tells a cell from its neighbours."""
    cells = [cell for battery in bank.batteries for cell in battery.cells]
    cell = cells[one.effects[0].places[0]] if one.effects[0].field is not Field.PAIR_OHM else None
    return () if cell is None else (cell.charge_C, cell.state_of_charge)


def _exact(
    kind: Kind, subject: str, key: str, spread: Spread, *effects: Effect, unit: str = "",
    words: str = "",
) -> Unknown:  # fmt: skip
    what = words or kind.value
    label = f'{what} of "{subject}"' if subject else what
    return Unknown(label, kind, subject, key, unit, spread, effects, EXACT)


def _factor(sd: float) -> Spread:
    return Spread(Shape.NORMAL, 1.0, sd, max(1.0 - FARTHEST_SD * sd, 0.05), 1.0 + FARTHEST_SD * sd)


def _ratio(sd: float) -> Spread:
    return Spread(Shape.LOGNORMAL, 1.0, sd, 0.0)


def _shift(sd: float, low: float | None = None, high: float | None = None) -> Spread:
    ends = (-FAR_SD * sd if low is None else low, FAR_SD * sd if high is None else high)
    return Spread(Shape.NORMAL, 0.0, sd, *ends)


def _of_battery(bank: Bank, number: int) -> Iterator[Unknown]:
    battery, places = bank.batteries[number], tuple(cell_places(bank, number))
    name, key = battery.name, f"battery[{number + 1}]"
    yield _exact(
        Kind.CAPACITY, name, f"{key}.capacity_fraction", _factor(0.03), *scaled_capacity(places)
    )
    yield _exact(
        Kind.RESISTANCE, name, f"{key}.resistance_factor", _ratio(0.10),
        Effect(Field.OHMIC, places), scaled_pairs(places),
    )  # fmt: skip
    full = max(cell.state_of_charge for cell in battery.cells)
    room = _shift(0.01, -0.06, max(1.0 - full, 1e-9))
    yield _exact(
        Kind.CHARGE, name, f"{key}.state_of_charge", room, Effect(Field.SOC, places, Op.SHIFT)
    )
    if battery.lead_ohm > 0.0:
        yield _exact(
            Kind.LEAD, name, f"{key}.lead_mohm", _ratio(0.2), Effect(Field.LEAD, (number,))
        )
    if battery.internal_ohm > 0.0:
        effect = Effect(Field.INTERNAL, (number,))
        yield _exact(Kind.INTERNAL, name, f"{key}.internal_mohm", _ratio(0.3), effect)
    for place, rule in zip(rule_places(bank, number), battery.rules, strict=True):
        if rule.watches in (Watch.LOWEST_CELL, Watch.BATTERY_VOLTAGE) and rule.below:
            width = 0.05 * (len(places) if rule.watches is Watch.BATTERY_VOLTAGE else 1)
            effects = [Effect(f, (place,), Op.SHIFT) for f in (Field.THRESHOLD, Field.LET_GO)]
            words = f"{rule.watches.value} limit (below)"
            where = f"{key}.protection[{place - rule_places(bank, number)[0] + 1}].trips_below"
            yield _exact(Kind.LIMITS, name, where, _shift(width), *effects, unit="V", words=words)


def _balance(bank: Bank) -> Iterator[Unknown]:
    for number, battery in enumerate(bank.batteries):
        if len(battery.cells) > 1:
            effect = Effect(Field.SOC, (cell_places(bank, number)[0],), Op.SHIFT)
            spread = _shift(0.01, -0.06, 0.0)
            key = f"battery[{number + 1}].cells[1].state_of_charge"
            yield _exact(
                Kind.CELL_CHARGE, battery.name, key, spread, effect, words="charge of cell 1"
            )


def _of_loads(bank: Bank) -> Iterator[Unknown]:
    for number, load in enumerate(bank.loads):
        what, unit = ("current", "current_A") if load.exponent == 1.0 else ("power", "power_W")
        key, effect = f"load[{number + 1}].{unit}", Effect(Field.LOAD, (number,))
        yield _exact(Kind.LOAD, load.name, key, _factor(0.05), effect, words=f"{what} of load")


def _around(bank: Bank) -> Iterator[Unknown]:
    effect = Effect(Field.TEMPERATURE, (0,), Op.SHIFT)
    yield _exact(Kind.TEMPERATURE, "", "surroundings.temperature_C", _shift(2.0), effect, unit="K")
    if bank.wiring.main_ohm > 0.0:
        yield _exact(Kind.MAIN, "", "wiring.main", _ratio(0.2), Effect(Field.MAIN, (0,)))
    if bank.wiring.link_ohm > 0.0 and len(bank.batteries) > 1:
        yield _exact(Kind.LINK, "", "wiring.link", _ratio(0.2), Effect(Field.LINK, (0,)))

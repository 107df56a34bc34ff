"""Unknowns from the file: keys that were given with a spread."""

from collections.abc import Iterator, Sequence

from bankSim.model.cell import MOST_PAIRS
from bankSim.model.chemistry import chemistry_of
from bankSim.scenario.given_spreads import GivenSpread, given_spreads
from bankSim.scenario.glossary import QUANTITIES
from bankSim.scenario.keys import ScenarioKeys
from bankSim.scenario.record import Scenario
from bankSim.study.fields import Field, cell_places
from bankSim.study.given_effects import effects_of
from bankSim.study.unknown import Effect, Kind, Unknown

FROM_FILE = "given in the file"


def given_unknowns(scenario: Scenario, keys: ScenarioKeys) -> Iterator[Unknown]:
    """Yield one unknown for each key with a spread, or one for each of its independent cells.

    Parameters
    ----------
    scenario : Scenario
    keys : ScenarioKeys
        Those of the scenario.
    """
    for given in given_spreads(keys):
        effects = effects_of(given.path, given.spread.value, keys, scenario.bank)
        if not effects and _does_nothing(given, keys):
            continue
        whole = _from_file(scenario, given, effects)
        if not given.independent:
            yield whole
            continue
        yield from _one_for_each_cell(scenario, given, whole)


def _from_file(scenario: Scenario, given: GivenSpread, effects: tuple[Effect, ...]) -> Unknown:
    name = str(given.path[-1])
    quantity = QUANTITIES.get(name)
    subject = _subject(scenario, given)
    inside = given.key.split(".", 1)[-1] if subject else given.key
    label = f'{inside} of "{subject}"' if subject else given.key
    unit = quantity.unit if quantity is not None else name.rpartition("_")[2]
    if "protection" in given.path:
        unit = _limit_unit(scenario, given, unit)
    return Unknown(
        label, Kind.KEY, subject, given.key, unit, given.spread, effects, FROM_FILE,
        path=given.path, given=True,
    )  # fmt: skip


def _subject(scenario: Scenario, given: GivenSpread) -> str:
    """Return the name of the battery, load or charger that a key belongs to."""
    bank = scenario.bank
    named: dict[object, Sequence[object]] = {
        "battery": bank.batteries, "load": bank.loads, "charger": bank.chargers,
    }  # fmt: skip
    of = named.get(given.path[0])
    return "" if of is None else str(of[int(given.path[1])].name)  # type: ignore[attr-defined]


def _does_nothing(given: GivenSpread, keys: ScenarioKeys) -> bool:
    """Tell of a factor on typical resistances that there are none."""
    if given.path[-1] != "resistance_factor":
        return False
    return chemistry_of(keys.battery[int(given.path[1])].chemistry) is None


def _limit_unit(scenario: Scenario, given: GivenSpread, unit: str) -> str:
    """Return the unit of a rule's limit, which depends on what it watches."""
    if unit == "s":
        return unit
    rule = scenario.bank.batteries[int(given.path[1])].rules[int(given.path[3])]
    return rule.watches.unit


def _one_for_each_cell(scenario: Scenario, given: GivenSpread, whole: Unknown) -> Iterator[Unknown]:
    number, name = int(given.path[1]), given.path[-1]
    places = cell_places(scenario.bank, number)
    for cell, place in enumerate(places):
        effects = tuple(_only(effect, place) for effect in whole.effects)
        effects = tuple(effect for effect in effects if effect.places)
        own = scenario.keys.battery[number].cells if scenario.keys else None
        settled = own is not None and getattr(own[cell], str(name), None) is not None
        if settled or (whole.effects and not effects):
            continue  # the cell has a value of its own
        yield Unknown(
            f"{whole.label}, cell {cell + 1}",
            whole.kind,
            whole.subject,
            whole.key,
            whole.unit,
            whole.spread,
            effects,
            f"{FROM_FILE}, independent cells",
            path=("battery", number, "cells", cell, name),
            given=True,
        )


def _only(effect: Effect, cell: int) -> Effect:
    """Return the part of an effect that concerns one cell."""
    pairs = effect.field in (Field.PAIR_OHM, Field.PAIR_TIME)
    per_cell = MOST_PAIRS if pairs else 1
    places = tuple(place for place in effect.places if place // per_cell == cell)
    return Effect(effect.field, places, effect.op, effect.per_unit, effect.zero)

"""All that is not known exactly of a scenario: given spreads, and typical ones for what is open."""

from collections.abc import Iterator, Sequence
from dataclasses import replace

from bankSim.model.battery import Battery
from bankSim.model.cell import MOST_PAIRS, Cell
from bankSim.model.chemistry import Chemistry, chemistry_of
from bankSim.model.rule import Rule, Watch
from bankSim.scenario.given_spreads import GivenSpread, given_spreads
from bankSim.scenario.glossary import QUANTITIES
from bankSim.scenario.keys import LoadKeys, ScenarioKeys
from bankSim.scenario.keys_battery import BatteryKeys, CellKeys
from bankSim.scenario.record import Scenario
from bankSim.scenario.uncertain import Uncertain
from bankSim.study import priors
from bankSim.study.fields import Field, cell_places, rule_places
from bankSim.study.given_effects import (
    copper,
    effects_of,
    open_cells,
    scaled_capacity,
    scaled_pairs,
    typical_ohmic,
)
from bankSim.study.priors import Prior
from bankSim.study.unknown import Effect, Kind, Op, Unknown

FROM_FILE = "given in the file"


def find_unknowns(scenario: Scenario) -> tuple[Unknown, ...]:
    """Return everything that draws of a scenario differ in; pinned values are left out.

    Parameters
    ----------
    scenario : Scenario
        Read from a file: without its keys nothing can be told of what was given.
    """
    keys = scenario.keys
    if keys is None:
        return ()
    found = [*_given(scenario, keys), *_around(keys)]
    for number, battery in enumerate(keys.battery):
        found += _OneBattery(scenario, keys, number).unknowns()
        found += _lead(scenario, battery, number)
    found += [*_wiring(scenario, keys), *_loads(scenario, keys)]
    return tuple(one for one in found if not one.spread.is_sure)


def _given(scenario: Scenario, keys: ScenarioKeys) -> Iterator[Unknown]:
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


class _OneBattery:
    """Typical spreads of one battery; none for one without typical values of a chemistry."""

    def __init__(self, scenario: Scenario, keys: ScenarioKeys, number: int) -> None:
        self.keys, self.number = keys.battery[number], number
        self.bank = scenario.bank
        self.battery: Battery = scenario.bank.batteries[number]
        self.key = f"battery[{number + 1}]"
        self.places = cell_places(scenario.bank, number)
        self.assumed = {one.key for one in scenario.assumed}

    def unknowns(self) -> list[Unknown]:
        chemistry = chemistry_of(self.keys.chemistry)
        if chemistry is None:
            return []
        return [
            *self.ageing(chemistry),
            *self.cells(),
            *self.charge(),
            *self.inside(chemistry),
            *self.wells(),
            *self.warmth(),
            *self.rules(),
        ]

    def one(
        self, kind: Kind, key: str, prior: Prior, *effects: Effect, unit: str = "", label: str = ""
    ) -> Unknown:
        name = self.battery.name
        words = f'{label or kind.value} of "{name}"'
        where = f"{self.key}.{key}" if key else self.key
        return Unknown(words, kind, name, where, unit, prior.spread, effects, prior.source)

    def at(self, cells: Sequence[int]) -> tuple[int, ...]:
        return tuple(self.places[cell] for cell in cells)

    def ageing(self, chemistry: Chemistry) -> Iterator[Unknown]:
        capacity, resistance = priors.battery_priors(chemistry)
        cells = self.at(open_cells(self.keys, lambda cell: cell.capacity_Ah is not None))
        first = None
        if self.keys.capacity_fraction is None and cells:
            first = self.one(Kind.CAPACITY, "capacity_fraction", capacity, *scaled_capacity(cells))
            yield first
        cells = self.at(self.without_ohmic())
        if self.keys.resistance_factor is None and cells:
            second = self.one(
                Kind.RESISTANCE, "resistance_factor", resistance,
                Effect(Field.OHMIC, cells), scaled_pairs(self.without_pairs()),
            )  # fmt: skip
            yield second if first is None else _following(second, first)

    def without_ohmic(self) -> list[int]:
        """Cells whose resistance is a typical one."""
        return typical_ohmic(self.keys, self.battery)

    def without_pairs(self) -> tuple[int, ...]:
        """Places of the cells whose relaxation pairs are typical ones."""
        return self.at(open_cells(self.keys, lambda cell: cell.relaxation is not None))

    def cells(self) -> Iterator[Unknown]:
        fraction = self.keys.capacity_fraction
        aged = fraction is not None and fraction < priors.AGED_BELOW
        pinned = fraction is not None
        own = isinstance(fraction, Uncertain) and fraction.independent
        open_ones = [] if own else open_cells(self.keys, lambda cell: cell.capacity_Ah is not None)
        ohmic = self.without_ohmic()
        factor = self.keys.resistance_factor
        if isinstance(factor, Uncertain) and factor.independent:
            ohmic = []
        for cell in range(len(self.places)):
            capacity = None
            if cell in open_ones:
                capacity = self.cell(
                    cell, Kind.CELL_CAPACITY, "capacity_Ah", priors.CELL_CAPACITY[aged],
                    "capacity", *scaled_capacity((self.places[cell],)),
                )  # fmt: skip
                capacity = _pinned(capacity) if pinned else capacity
                yield capacity
            if cell in ohmic:
                pairs = tuple({self.places[cell]} & set(self.without_pairs()))
                resistance = self.cell(
                    cell, Kind.CELL_RESISTANCE, "ohmic_mohm", priors.CELL_RESISTANCE[aged],
                    "resistance", Effect(Field.OHMIC, (self.places[cell],)), scaled_pairs(pairs),
                )  # fmt: skip
                yield resistance if capacity is None else _following(resistance, capacity)

    def cell(
        self, cell: int, kind: Kind, key: str, prior: Prior, word: str, *effects: Effect
    ) -> Unknown:
        where = f"cells[{cell + 1}].{key}"
        return self.one(kind, where, prior, *effects, label=f"{word} of cell {cell + 1}")

    def charge(self) -> Iterator[Unknown]:
        has = _has_charge
        common = self.keys.state_of_charge is None and not has(self.keys.cell)
        cells = self.at(open_cells(self.keys, has))
        if common and cells:
            effect = Effect(Field.SOC, cells, Op.SET)
            yield self.one(Kind.CHARGE, "state_of_charge", priors.FULL, effect)
        shared = self.keys.cell.state_of_charge, self.keys.state_of_charge
        if any(isinstance(one, Uncertain) and one.independent for one in shared):
            return
        own = self.keys.cells or [CellKeys()] * len(self.places)
        for cell, written in enumerate(own):
            if not has(written):
                effect = Effect(Field.SOC, (self.places[cell],), Op.SHIFT)
                yield self.cell(
                    cell, Kind.CELL_CHARGE, "state_of_charge", priors.CELL_CHARGE, "charge", effect
                )

    def inside(self, chemistry: Chemistry) -> Iterator[Unknown]:
        if self.keys.internal_mohm is None:
            effect = Effect(Field.INTERNAL, (self.number,))
            yield self.one(Kind.INTERNAL, "internal_mohm", priors.INTERNAL, effect)
        pairs = self.without_pairs()
        if pairs:
            effect = scaled_pairs(pairs, Field.PAIR_TIME)
            yield self.one(Kind.RELAXATION, "cell.relaxation", priors.RELAXATION, effect)
        cells = self.at(open_cells(self.keys, lambda cell: cell.hysteresis_mV is not None))
        if cells and chemistry.hysteresis_V > 0.0:
            effect = Effect(Field.HYSTERESIS, cells)
            yield self.one(Kind.HYSTERESIS, "cell.hysteresis_mV", priors.HYSTERESIS, effect)
        every = tuple(self.places)
        effect = Effect(Field.STANDING, every)
        yield self.one(Kind.STANDING, "cell (self-discharge)", priors.STANDING, effect)
        if f"{self.key}.diode_drop_V" in self.assumed:
            effect = Effect(Field.DROP, (self.number,), Op.SHIFT)
            yield self.one(Kind.DROP, "diode_drop_V", priors.DROP, effect, unit="V")

    def wells(self) -> Iterator[Unknown]:
        for name, field, prior in (
            ("available_fraction", Field.AVAILABLE, priors.WELL_PART),
            ("well_rate_per_h", Field.WELL_RATE, priors.WELL_RATE),
        ):
            if f"{self.key}.cell.{name}" in self.assumed:
                cells = self.at(open_cells(self.keys, lambda cell: getattr(cell, name) is not None))  # noqa: B023
                two = tuple(p for p in cells if self.cell_at(p).available_fraction < 1.0)
                effect = Effect(field, two)
                yield self.one(Kind.WELLS, f"cell.{name}", prior, effect, label=_WELL_WORDS[name])

    def cell_at(self, place: int) -> Cell:
        return self.battery.cells[place - self.places[0]]

    def warmth(self) -> Iterator[Unknown]:
        if self.battery.cells[0].activation_J_mol > 0.0:
            effect = Effect(Field.ACTIVATION, (self.number,))
            yield self.one(Kind.WARMTH, "cell (activation energy)", priors.WARMTH, effect)
        if self.battery.thermal is not None:
            effect = Effect(Field.HEAT_LOSS, (self.number,))
            yield self.one(Kind.HEAT, "(heat loss)", priors.HEAT_LOSS, effect)

    def rules(self) -> Iterator[Unknown]:
        if self.keys.protection is not None:
            return
        places = rule_places(self.bank, self.number)
        for place, rule in zip(places, self.battery.rules, strict=True):
            prior, unit = _limit_prior(rule)
            op = Op.SHIFT if unit else Op.SCALE
            effects = (Effect(Field.THRESHOLD, (place,), op), Effect(Field.LET_GO, (place,), op))
            side = "below" if rule.below else "above"
            key = f"protection[{place - places[0] + 1}]"
            words = f"{rule.watches.value} limit ({side})"
            yield self.one(Kind.LIMITS, f"{key}.trips_{side}", prior, *effects, unit=unit,
                           label=words)  # fmt: skip
        every = tuple(places)
        if every:
            effects = (Effect(Field.DELAY, every), Effect(Field.LET_GO_DELAY, every))
            yield self.one(Kind.DELAYS, "protection", priors.DELAY, *effects)


_WELL_WORDS = {
    "available_fraction": "part of the charge at hand at once",
    "well_rate_per_h": "rate at which bound charge follows",
}


def _has_charge(cell: CellKeys) -> bool:
    return cell.state_of_charge is not None


def _limit_prior(rule: Rule) -> tuple[Prior, str]:
    if rule.watches in (Watch.DISCHARGE_CURRENT, Watch.CHARGE_CURRENT):
        return priors.CURRENT_LIMIT, ""
    if rule.watches is Watch.TEMPERATURE:
        return priors.WARM_LIMIT, "K"
    return (priors.LOW_LIMIT if rule.below else priors.HIGH_LIMIT), "V"


def _following(unknown: Unknown, first: Unknown) -> Unknown:
    return replace(
        unknown,
        follows=first.label,
        correlation=priors.CELL_CORRELATION,
        source=f"{unknown.source}; {priors.CORRELATION_SOURCE}",
    )


def _pinned(unknown: Unknown) -> Unknown:
    return replace(
        unknown,
        pinned=True,
        source=f"{unknown.source}; the weakest cell has what capacity_fraction says",
    )


def _lead(scenario: Scenario, keys: BatteryKeys, number: int) -> list[Unknown]:
    battery = scenario.bank.batteries[number]
    if keys.lead_mohm is not None or battery.lead_ohm == 0.0:
        return []
    key = f"battery[{number + 1}].lead" + ("" if keys.lead else "_mohm")
    return [_cable(Kind.LEAD, battery.name, key, Effect(Field.LEAD, (number,)))]


def _cable(kind: Kind, subject: str, key: str, effect: Effect) -> Unknown:
    label = f'{kind.value} of "{subject}"' if subject else kind.value
    prior = priors.COPPER
    return Unknown(label, kind, subject, key, "", prior.spread, (effect,), prior.source)


def _wiring(scenario: Scenario, keys: ScenarioKeys) -> Iterator[Unknown]:
    if keys.wiring.link is not None and scenario.bank.wiring.link_ohm > 0.0:
        yield _cable(Kind.LINK, "", "wiring.link", Effect(Field.LINK, (0,)))
    if keys.wiring.main is not None:
        yield _cable(Kind.MAIN, "", "wiring.main", Effect(Field.MAIN, (0,)))


def _around(keys: ScenarioKeys) -> Iterator[Unknown]:
    if "temperature_C" not in keys.surroundings.model_fields_set:
        prior, key = priors.TEMPERATURE, "surroundings.temperature_C"
        effects = (Effect(Field.TEMPERATURE, (0,), Op.SHIFT), *copper(keys))
        kind = Kind.TEMPERATURE
        yield Unknown(kind.value, kind, "", key, "K", prior.spread, effects, prior.source)


def _loads(scenario: Scenario, keys: ScenarioKeys) -> Iterator[Unknown]:
    for number, load in enumerate(keys.load):
        if not _is_label_power(load):
            continue
        name, prior = scenario.bank.loads[number].name, priors.LOAD
        effect = Effect(Field.LOAD, (number,))
        key = f"load[{number + 1}].power_W"
        label = f'power of load "{name}"'
        yield Unknown(label, Kind.LOAD, name, key, "", prior.spread, (effect,), prior.source)


def _is_label_power(load: LoadKeys) -> bool:
    """Tell whether a load is a plain power, as labels give it."""
    return (
        load.power_W is not None and load.power_W > 0.0 and not isinstance(load.power_W, Uncertain)
    )

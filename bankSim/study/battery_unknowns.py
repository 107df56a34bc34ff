"""Typical unknowns of one battery: what its chemistry says of all that the file leaves open."""

from collections.abc import Iterator, Sequence
from dataclasses import replace

from bankSim.model.battery import Battery
from bankSim.model.cell import Cell
from bankSim.model.chemistry import Chemistry, chemistry_of
from bankSim.model.rule import Rule, Watch
from bankSim.scenario.keys import ScenarioKeys
from bankSim.scenario.keys_battery import CellKeys
from bankSim.scenario.record import Scenario
from bankSim.scenario.uncertain import Uncertain
from bankSim.study import priors
from bankSim.study.fields import Field, cell_places, rule_places
from bankSim.study.given_effects import (
    open_cells,
    scaled_capacity,
    scaled_pairs,
    typical_ohmic,
)
from bankSim.study.priors import Prior
from bankSim.study.unknown import Effect, Kind, Op, Unknown


def battery_unknowns(scenario: Scenario, keys: ScenarioKeys, number: int) -> list[Unknown]:
    """Return the typical unknowns of one battery; none without the typical values of a chemistry.

    Parameters
    ----------
    scenario : Scenario
    keys : ScenarioKeys
        Those of the scenario.
    number : int
        Of the battery, from 0.
    """
    return _OneBattery(scenario, keys, number).unknowns()


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
                Effect(Field.LAG, tuple(self.places)),
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
        of_capacity, of_resistance = priors.cell_priors(fraction)
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
                    cell, Kind.CELL_CAPACITY, "capacity_Ah", of_capacity, "capacity",
                    *scaled_capacity((self.places[cell],)),
                )  # fmt: skip
                capacity = _pinned(capacity) if pinned else capacity
                yield capacity
            if cell in ohmic:
                pairs = tuple({self.places[cell]} & set(self.without_pairs()))
                resistance = self.cell(
                    cell, Kind.CELL_RESISTANCE, "ohmic_mohm", of_resistance, "resistance",
                    Effect(Field.OHMIC, (self.places[cell],)), scaled_pairs(pairs),
                    Effect(Field.LAG, (self.places[cell],)),
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
        source=f"{unknown.source}; the weakest cell holds what the file gives",
    )

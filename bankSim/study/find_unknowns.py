"""All that is not known exactly of a scenario: given spreads, and typical ones for what is open."""

from collections.abc import Iterator

from bankSim.scenario.keys import LoadKeys, ScenarioKeys
from bankSim.scenario.keys_battery import BatteryKeys
from bankSim.scenario.record import Scenario
from bankSim.scenario.uncertain import Uncertain
from bankSim.study import priors
from bankSim.study.battery_unknowns import battery_unknowns
from bankSim.study.fields import Field
from bankSim.study.given_effects import copper
from bankSim.study.given_unknowns import given_unknowns
from bankSim.study.unknown import Effect, Kind, Op, Unknown


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
    found = [*given_unknowns(scenario, keys), *_around(keys)]
    for number, battery in enumerate(keys.battery):
        found += battery_unknowns(scenario, keys, number)
        found += _lead(scenario, battery, number)
    found += [*_wiring(scenario, keys), *_loads(scenario, keys)]
    return tuple(one for one in found if not one.spread.is_sure)


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

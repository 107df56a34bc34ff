"""Protection rules of a battery in SI, from their keys or from its chemistry."""

from bankSim.model.cell import ZERO_C_K
from bankSim.model.chemistry import chemistry_of
from bankSim.model.rule import Blocks, Needs, Release, Rule, Watch
from bankSim.scenario.assumptions import note_delays, note_rules
from bankSim.scenario.keys_battery import BatteryKeys, RuleKeys
from bankSim.scenario.notes import Notes

USUAL_DROP_V = 0.7
_DROP_SOURCE = "not given: about 0.7 V for the body diode of a switch, common practice"


def build_rules(
    keys: BatteryKeys, discharge_A: float | None, key: str, notes: Notes
) -> tuple[Rule, ...]:
    """Return the rules of one battery: the written ones, else the usual ones of its chemistry.

    Parameters
    ----------
    keys : BatteryKeys
        They have passed all checks.
    discharge_A : float or None
        Its label limit. [A]
    key : str
        Key path of the battery.
    notes : Notes
        Gets what was assumed or has no effect.
    """
    if keys.protection is not None:
        note_delays(keys.protection, key, notes)
        for number, rule in enumerate(keys.protection, 1):
            _note_release(rule, f"{key}.protection[{number}]", notes)
        return tuple(_rule(rule) for rule in keys.protection)
    chemistry = chemistry_of(keys.chemistry)
    if chemistry is None or discharge_A is None:
        return ()
    rules = chemistry.usual_rules(discharge_A)
    note_rules(rules, key, notes)
    return rules


def diode_drop(keys: BatteryKeys, rules: tuple[Rule, ...], key: str, notes: Notes) -> float:
    """Return the drop of the body diode, which matters where one direction is blocked alone. [V]"""
    where = f"{key}.diode_drop_V"
    if any(rule.blocks is not Blocks.BOTH for rule in rules):
        return notes.given_or(keys.diode_drop_V, where, USUAL_DROP_V, "V", _DROP_SOURCE)
    if keys.diode_drop_V is None:
        return USUAL_DROP_V
    notes.no_effect(where, "no rule of the battery blocks one direction alone")
    return keys.diode_drop_V


def _rule(keys: RuleKeys) -> Rule:
    below = keys.trips_below is not None
    limit = keys.trips_below if keys.trips_below is not None else keys.trips_above
    assert limit is not None
    return Rule(
        Watch(keys.watches),
        below,
        limit + _zero(keys),
        keys.after_s,
        Blocks[keys.blocks.upper()],
        _release(keys),
    )


def _release(keys: RuleKeys) -> Release | None:
    value = _released_at(keys)
    if value is None:
        return None
    needs = Needs(keys.release_needs or Needs.NOTHING.value)
    return Release(value + _zero(keys), keys.release_after_s or 0.0, needs)


def _zero(keys: RuleKeys) -> float:
    """Return what makes SI of a limit: temperatures become kelvin."""
    return ZERO_C_K if Watch(keys.watches) is Watch.TEMPERATURE else 0.0


def _released_at(keys: RuleKeys) -> float | None:
    return keys.releases_below if keys.releases_above is None else keys.releases_above


def _note_release(keys: RuleKeys, where: str, notes: Notes) -> None:
    if _released_at(keys) is not None:
        if keys.release_needs == Needs.HAND.value:
            given = "releases_below" if keys.releases_above is None else "releases_above"
            notes.no_effect(f"{where}.{given}", 'release_needs = "hand" never happens in a run')
        elif keys.release_after_s is None:
            source = "not given: lets go at once"
            notes.assume(f"{where}.release_after_s", 0.0, "s", source)
        return
    side = "releases_above" if keys.trips_below is not None else "releases_below"
    for name in ("release_after_s", "release_needs"):
        if getattr(keys, name) is not None:
            notes.no_effect(f"{where}.{name}", f"the rule stays tripped without {side}")

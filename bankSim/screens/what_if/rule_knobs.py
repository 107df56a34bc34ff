"""What can be moved of a battery's own rules: their limits and delays."""

from collections.abc import Iterator

from bankSim.model.battery import Battery
from bankSim.model.cell import ZERO_C_K
from bankSim.model.rule import Blocks, Rule, Watch
from bankSim.scenario.keys_battery import BatteryKeys
from bankSim.scenario.lines import Path
from bankSim.screens.what_if.knob import Knob, Move, knob

CELL_STEP_V, BATTERY_STEP_V = 0.05, 0.1
CELL_REACH_V, BATTERY_REACH_V = 0.5, 2.0
LONGEST_S = 60.0
MOST_RULES = 8
BLOCK_WORDS = {Blocks.CHARGE: "charge", Blocks.DISCHARGE: "discharge", Blocks.BOTH: "both"}


def rule_knobs(keys: BatteryKeys, battery: Battery, place: int) -> Iterator[Knob]:
    """Yield a slider for the limit and one for the delay of each rule.

    Parameters
    ----------
    keys : BatteryKeys
        As written; rules that only the chemistry implies are written out before one is moved.
    battery : Battery
    place : int
        From 0.
    """
    here: Path = ("battery", place, "protection")
    implied = keys.protection is None
    first = ((here, [written_rule(rule) for rule in battery.rules]),) if implied else ()
    low = next((n for n, rule in enumerate(battery.rules) if _is_low_voltage(rule)), None)
    for number, rule in enumerate(battery.rules[:MOST_RULES]):
        yield _limit(rule, battery, place, number, first, number == low)
        yield _delay(rule, battery, place, number, first)


def written_rule(rule: Rule) -> dict[str, object]:
    """Return a rule as the scenario file writes it."""
    found: dict[str, object] = {
        "watches": rule.watches.value,
        "trips_below" if rule.below else "trips_above": _shown(rule, rule.threshold),
        "after_s": rule.delay_s,
        "blocks": BLOCK_WORDS[rule.blocks],
    }
    if rule.release is not None:
        side = "releases_above" if rule.below else "releases_below"
        found[side] = _shown(rule, rule.release.threshold)
        found["release_after_s"] = rule.release.delay_s
        found["release_needs"] = rule.release.needs.value
    return found


def _limit(
    rule: Rule, battery: Battery, place: int, number: int, first: object, main: bool
) -> Knob:
    start = _shown(rule, rule.threshold)
    name = "trips_below" if rule.below else "trips_above"
    path: Path = ("battery", place, "protection", number, name)
    return knob(
        f"limit/{place}/{number}",
        f"Trip of {{}}: {_subject(rule)}",
        rule.watches.unit.replace("deg", "°"),
        start,
        _reach(rule, start),
        help=f"Blocks {_blocked(rule)} when the {rule.watches.value} stays "
        f"{'below' if rule.below else 'above'} it for the delay.",
        moves=(Move(path, start),),
        battery=place,
        subject=battery.name,
        main=main,
        first=first,
    )


def _delay(rule: Rule, battery: Battery, place: int, number: int, first: object) -> Knob:
    path: Path = ("battery", place, "protection", number, "after_s")
    return knob(
        f"delay/{place}/{number}",
        f"Delay of the trip of {{}}: {_subject(rule)}",
        "s",
        rule.delay_s,
        (0.0, max(LONGEST_S, 2.0 * rule.delay_s), 1.0),
        help="How long it must stay beyond the limit without a break.",
        moves=(Move(path, rule.delay_s, lowest=0.0, highest=86_400.0),),
        battery=place,
        subject=battery.name,
        first=first,
    )


def _reach(rule: Rule, start: float) -> tuple[float, float, float]:
    """Return low, high and step; a limit stays on its side of the release."""
    if rule.watches in (Watch.LOWEST_CELL, Watch.HIGHEST_CELL):
        low, high, step = start - CELL_REACH_V, start + CELL_REACH_V, CELL_STEP_V
    elif rule.watches is Watch.BATTERY_VOLTAGE:
        low, high, step = start - BATTERY_REACH_V, start + BATTERY_REACH_V, BATTERY_STEP_V
    elif rule.watches is Watch.TEMPERATURE:
        low, high, step = start - 20.0, start + 20.0, 1.0
    else:
        low, high, step = 0.2 * start, 2.0 * start, max(round(start / 50.0), 1.0)
    if rule.release is not None:
        back = _shown(rule, rule.release.threshold)
        low, high = (low, min(high, back)) if rule.below else (max(low, back), high)
    return max(low, 0.0) if rule.watches is not Watch.TEMPERATURE else low, high, step


def _shown(rule: Rule, value: float) -> float:
    """Return a limit in the unit in which people write it."""
    return round(value - ZERO_C_K, 9) if rule.watches is Watch.TEMPERATURE else value


def _is_low_voltage(rule: Rule) -> bool:
    watched = rule.watches in (Watch.LOWEST_CELL, Watch.BATTERY_VOLTAGE)
    return rule.below and watched and rule.blocks is not Blocks.CHARGE


def _subject(rule: Rule) -> str:
    """Return what a rule trips on, as in "lowest cell below"."""
    what = rule.watches.value.removesuffix(" voltage")
    what = "voltage" if rule.watches is Watch.BATTERY_VOLTAGE else what
    return f"{what} {'below' if rule.below else 'above'}"


def _blocked(rule: Rule) -> str:
    return "both ways" if rule.blocks is Blocks.BOTH else BLOCK_WORDS[rule.blocks]

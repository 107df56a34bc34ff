"""How sure a comparison is: what both sides share, by which names, what the draws leave open."""

from bankSim.scenario.keys_battery import BatteryKeys
from bankSim.scenario.record import Scenario
from bankSim.show.blocks import Section
from bankSim.show.study_words import HIGH, LOW
from bankSim.show.versus_names import Side
from bankSim.show.versus_numbers import below, decimals_of, is_nothing, is_slight, signed
from bankSim.show.words import counted
from bankSim.sim.numbers import listing, named, quoted
from bankSim.study.spread import Band
from bankSim.study.versus import Difference, VersusResult

KIND = ("chemistry", "cells_in_series", "rated_capacity_Ah", "capacity_fraction")


def how_sure(result: VersusResult, sides: tuple[Side, Side]) -> Section:
    """Tell how many draws there are, what they have in common and how well they answer."""
    if result.shared == 0 and not any(result.alone):
        lines = [
            "Nothing is drawn in either file: every draw is the single run, and the difference is "
            "that of two single runs."
        ]
        return Section("How sure this is", tuple(lines))
    lines = [_shared(result, sides), *_names(result), _known(result.differences[0])]
    if not result.reached:
        lines.append("So many draws did not reach the precision wanted; ask for more with --draws.")
    return Section("How sure this is", tuple(lines))


def _shared(result: VersusResult, sides: tuple[Side, Side]) -> str:
    told = f"{result.one.count:,} pairs of draws, seed {result.seed}: "
    alone = [
        f"{count} {'is' if count == 1 else 'are'} only in {side.said}"
        for count, side in zip(result.alone, sides, strict=True)
        if count
    ]
    if result.shared:
        have = "has" if result.shared == 1 else "have"
        parts = [f"{counted(result.shared, 'unknown')} {have} the same value in both", *alone]
        return f"{told}{listing(parts)}."
    return (
        f"{told}of the unknowns {listing(alone)}. Nothing is the same in both, so the differences "
        "that chance makes between the two do not cancel; give what is the same the same name."
    )


def _names(result: VersusResult) -> list[str]:
    """Say what counts as the same, when there is a doubt about it."""
    if not result.shared:
        return []
    pairs = _same_names(result.one.plan.scenario, result.other.plan.scenario)
    told = ["What has the same name in both counts as the same and has the same drawn values."]
    unnamed = [name for name, *both in pairs if all(keys.name is None for keys in both)]
    if unnamed:
        told.append(f"Batteries without a name are paired by their place: {named(unnamed)}.")
    unlike = [name for name, *both in pairs if _kind(both[0]) != _kind(both[1])]
    told += [
        f"{quoted(name)} is not the same in both files (chemistry, cells, label or age): if it is "
        "another battery, give it another name."
        for name in unlike
    ]
    return [" ".join(told)]


def _same_names(one: Scenario, other: Scenario) -> list[tuple[str, BatteryKeys, BatteryKeys]]:
    """Return the keys of the batteries that both have."""
    if one.keys is None or other.keys is None:
        return []
    first, second = (
        dict(zip((battery.name for battery in side.bank.batteries), keys.battery, strict=True))
        for side, keys in ((one, one.keys), (other, other.keys))
    )
    return [(name, first[name], second[name]) for name in first if name in second]


def _kind(keys: BatteryKeys) -> list[object]:
    return [getattr(keys, key) for key in KIND]


def _known(one: Difference) -> str:
    """Say how well the mean difference and the ends of its range are known."""
    unit, gap = one.answer.unit, one.mean
    if is_slight(one):
        largest = max(abs(gap.low), abs(gap.high))
        if largest == 0.0 and is_nothing(one):
            return f"Neither gives any {unit} in any draw."
        return f"On average the difference is less than {below(largest, one)} (95 of 100 studies)."
    places = decimals_of(one)
    low, high = (signed(end, places) for end in (gap.low, gap.high))
    error = max(_error(one.difference), 10.0**-places)
    lies = f"is {low}" if low == high else f"lies within {low} to {high}"
    return (
        f"The mean difference {lies} {unit} (95 of 100 studies); the ends of the range of "
        f"differences are known to within {error:.{places}f} {unit}."
    )


def _error(band: Band) -> float:
    return max(band.percentiles[place].half_width for place in (LOW, HIGH))

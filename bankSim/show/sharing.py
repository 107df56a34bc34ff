"""How the current is split when it first flows, and what that has to do with the labels."""

from bankSim.show.blocks import Section
from bankSim.show.headline import charges, delivers, labels_Ah
from bankSim.show.words import listing, percent, quoted
from bankSim.sim.result import BatteryOutcome, Result

MOST_TOLD = 4


def sharing(result: Result) -> Section | None:
    """Return the section, or None when nothing was drawn or nothing can be shared."""
    known = [battery for battery in result.batteries if battery.share_at_start is not None]
    if len(known) < 2:
        return None
    if not (delivers(result) or charges(result)):
        return None
    ranked = sorted(known, key=lambda battery: -(battery.share_at_start or 0.0))
    lines = _everyone(result, ranked) if len(ranked) <= MOST_TOLD else _extremes(result, ranked)
    return Section("How the current was shared at the start", (*lines, *_backwards(ranked)))


def _everyone(result: Result, ranked: list[BatteryOutcome]) -> list[str]:
    parts = [f"{quoted(battery.name)} {percent(battery.share_at_start)}" for battery in ranked]
    labels = [f"{quoted(battery.name)} {_by_label(result, battery)}" for battery in ranked]
    return [
        f"Of the bank current {listing(parts)}.",
        f"By their labels it would be {listing(labels)}.",
    ]


def _extremes(result: Result, ranked: list[BatteryOutcome]) -> list[str]:
    most, least = ranked[0], ranked[-1]
    return [
        f"{quoted(most.name)} carried most, {percent(most.share_at_start)} of the bank current "
        f"(by its label {_by_label(result, most)}), and {quoted(least.name)} least, "
        f"{percent(least.share_at_start)} (by its label {_by_label(result, least)})."
    ]


def _by_label(result: Result, battery: BatteryOutcome) -> str:
    return percent(battery.rated_Ah / labels_Ah(result))


def _backwards(ranked: list[BatteryOutcome]) -> list[str]:
    """Explain a share below zero: that battery flows against the bank current."""
    against = [quoted(b.name) for b in ranked if (b.share_at_start or 0.0) < -0.005]
    if not against:
        return []
    return [f"A share below zero: the current of {listing(against, 4)} ran the other way."]

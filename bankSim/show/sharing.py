"""How the current is split when it first flows, and what that has to do with the labels."""

import numpy as np

from bankSim.show.blocks import Section
from bankSim.show.headline import charges, delivers, labels_Ah
from bankSim.show.words import percent
from bankSim.sim.numbers import listing, number, quoted
from bankSim.sim.result import BatteryOutcome, Result
from bankSim.sim.timeline import timeline_columns

MOST_TOLD = 4
HIGHEST_SHARE, LOWEST_SHARE = 2.0, -1.0
FLOW_A = 1e-6


def sharing(result: Result) -> Section | None:
    """Return the section, or None when nothing was drawn or nothing can be shared."""
    known = [battery for battery in result.batteries if battery.share_at_start is not None]
    if len(known) < 2:
        return None
    if not (delivers(result) or charges(result)):
        return None
    if evens_out(result):
        return Section("What flowed at the start", (_evening(result),))
    ranked = sorted(known, key=lambda battery: -(battery.share_at_start or 0.0))
    lines = _everyone(result, ranked) if len(ranked) <= MOST_TOLD else _extremes(result, ranked)
    return Section("How the first current was shared", (*lines, *_backwards(ranked)))


def evens_out(result: Result) -> bool:
    """Tell whether currents between the batteries dwarf the first current of the bank.

    A share of that current then says nothing; amperes do.
    """
    shares = [battery.share_at_start or 0.0 for battery in result.batteries]
    return max(shares) > HIGHEST_SHARE or min(shares) < LOWEST_SHARE


def currents_at_start(result: Result) -> list[float]:
    """Current of every battery when a bank current first flows, discharge positive. [A]"""
    columns = timeline_columns(result, jumps=True)
    first = int((np.abs(columns["bank.current_A"]) > FLOW_A).argmax())
    return [float(columns[f"{battery.name}.current_A"][first]) for battery in result.batteries]


def _evening(result: Result) -> str:
    """Tell the currents themselves, those that give before those that take."""
    pairs = zip(result.batteries, currents_at_start(result), strict=True)
    ordered = sorted(pairs, key=lambda pair: -pair[1])
    texts = [
        f"{quoted(battery.name)} {'gives' if amps >= 0.0 else 'takes'} {number(abs(amps))} A"
        for battery, amps in ordered
    ]
    if len(texts) > MOST_TOLD:
        texts = [texts[0], f"{len(texts) - 2} others lie in between", texts[-1]]
    total = abs(sum(amps for _, amps in ordered))
    return (
        "The batteries even each other out, and the current of the bank itself is small beside "
        f"that ({number(total)} A): {listing(texts)}."
    )


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

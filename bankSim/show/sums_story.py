"""The bank against the sum of its batteries alone, told step by step."""

from bankSim.show.blocks import Grid, Section, Story
from bankSim.show.study_words import HIGH, LOW, MIDDLE, bare, range_of
from bankSim.show.words import whole_or
from bankSim.sim.numbers import clean, number, quoted
from bankSim.sim.summary import SAFETY_TEXT
from bankSim.study.spread import Band
from bankSim.study.sums import Part, SumsResult

TRACE = 0.002  # of the labels
WHY = {
    "held": "capacity that is not what the label says (age, make), and what was not charged",
    "equal cells": "what cannot be drawn before a cut-out",
    "alone": "locked in behind the weakest cell of each battery",
    "no leads": "by the order in which they cut out and how they share the current",
    "bank": "by the resistance of leads, links and main cable",
}


def tell_sums(result: SumsResult) -> Story:
    """Turn the result of `study sums` into a headline and sections."""
    sections = (
        _steps(result),
        _batteries(result),
        _meaning(result),
        Section("Safety", (SAFETY_TEXT,)),
    )
    title = f"{clean(result.plan.scenario.title)}: the bank and the sum of its batteries"
    return Story(title, tuple(sums_headline(result)), sections)


def sums_headline(result: SumsResult) -> list[str]:
    """Say whether the bank gives the sum of its batteries, and where the rest goes."""
    parts = {part.word: part for part in result.parts}
    alone, bank, labels = parts["alone"], parts["bank"], parts["labels"]
    lost = _middle(alone.Ah) - _middle(bank.Ah)
    scale = _middle(labels.Ah)
    start = (
        f"Each battery alone, the bank's batteries deliver {_told(alone.Ah)} together; as a bank "
        f"{_told(bank.Ah)}"
    )
    if abs(lost) <= TRACE * scale:
        first = f"{start}: parallel capacities add."
    else:
        way = "less" if lost > 0.0 else "more"
        first = f"{start}, {number(abs(lost))} Ah {way}."
    return [first, *_largest(result, scale)]


def _largest(result: SumsResult, scale: float) -> list[str]:
    """Name what takes most on the way from the labels."""
    steps = [part for part in result.parts if part.change is not None]
    steps.sort(key=lambda part: _middle(_change(part)))
    told = [
        f"{number(-_middle(_change(part)))} Ah {WHY[part.word]}"
        for part in steps
        if -_middle(_change(part)) > TRACE * scale
    ]
    if not told:
        return ["Next to nothing is lost on the way from the labels."]
    return [f"Of the {whole_or(scale)} Ah on the labels go: {'; '.join(told)}."]


def _middle(band: Band) -> float:
    return band.percentiles[MIDDLE].value


def _change(part: Part) -> Band:
    assert part.change is not None
    return part.change


def _told(band: Band) -> str:
    return f"{number(_middle(band), 4)} Ah ({range_of(band)})"


def _steps(result: SumsResult) -> Section:
    rows = []
    for part in result.parts:
        points = [bare(part.Ah, place, 4) for place in (LOW, MIDDLE, HIGH)]
        change = "-" if part.change is None else _signed(_middle(part.change))
        rows.append((part.text, *points, change))
    columns = ("Step", "5 % Ah", "middle Ah", "95 % Ah", "change Ah")
    return Section("From the labels to the bank", (), Grid(columns, tuple(rows), words=1))


def _signed(value: float) -> str:
    text = number(value)
    return f"+{text}" if value > 0.0 and text != "0" else text


def _batteries(result: SumsResult) -> Section:
    rows = tuple(
        (
            clean(one.name),
            *(bare(band, MIDDLE) for band in (one.alone, one.in_bank, one.left, one.locked)),
        )
        for one in result.batteries
    )
    columns = ("Battery", "alone Ah", "in the bank Ah", "left Ah", "locked in Ah")
    lines = (
        "Medians. Left: what its weakest cell still holds when the bank is empty. Locked in: what "
        "its other cells hold above that, on average.",
    )
    return Section("Battery by battery", lines, Grid(columns, rows, words=1))


def _meaning(result: SumsResult) -> Section:
    names = [quoted(one.name) for one in result.batteries]
    seed = getattr(result.plan.design, "seed", "-")
    return Section(
        "What is compared",
        (
            "Alone: each battery by itself, without leads, feeding its part of every load by its "
            f"label until it cuts out (chargers left out), {len(names)} batteries.",
            "The steps change one thing each: the label; what the cells hold; alone with equal "
            "cells; alone as it is; all in one bank with 1 % of the wiring's resistance; as wired.",
            f"{result.draws:,} draws, seed {seed}. Changes are those of the same draw; their "
            "medians need not add up to the last digit.",
        ),
    )

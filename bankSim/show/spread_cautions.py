"""The cautions of a study of the spread, with their chances."""

from bankSim.show.blocks import Section
from bankSim.show.figure_words import draws_words
from bankSim.show.paper import in_truth, on_paper
from bankSim.show.study_words import of_100, per_100
from bankSim.sim.numbers import listing
from bankSim.study.spread import SpreadResult
from bankSim.study.statistics import chance
from bankSim.study.traced import CautionChance

SINGLE = "A single run with every value in the middle"
MOST_WARNINGS = 3
CAUTION_WORDS = {"danger": "DANGER", "warning": "WARNING", "note": "Note"}


def danger_lines(result: SpreadResult) -> list[str]:
    """Name the dangers with their chance, and count the warnings."""
    traced = result.traced.cautions
    dangers = [one for one in traced if one.severity == "danger"]
    warnings = [one for one in traced if one.severity == "warning"]
    told = [f"DANGER in {of_100(one.chance)}: {one.topic}." for one in dangers]
    if found := on_paper(traced):
        told.append(f"Ah and hours are then on paper only: {in_truth(found)}.")
    told += _unlike_the_middle(result)
    if warnings:
        told.append(f"Warnings: {listing([one.topic for one in warnings], MOST_WARNINGS)}.")
    return told


def _unlike_the_middle(result: SpreadResult) -> list[str]:
    """Say which dangers the run with every value in the middle has not, or has alone."""
    middle = result.traced.middle
    if middle is None:
        return []
    drawn, single = (
        list(dict.fromkeys(one.topic for one in cautions if one.severity == "danger"))
        for cautions in (result.traced.cautions, middle.cautions)
    )
    known = {one.topic for one in middle.cautions}
    unseen = [topic for topic in drawn if topic not in known]
    milder = [topic for topic in drawn if topic in known and topic not in single]
    alone = [topic for topic in single if topic not in drawn]
    told = []
    if unseen:
        what = "none of this" if unseen == drawn else f"no {listing(unseen)}"
        told.append(f"{SINGLE} shows {what}.")
    if milder:
        told.append(f"{SINGLE} shows {listing(milder)} as less than a danger.")
    if alone:
        told.append(f"{SINGLE} shows a danger that no draw run in full has: {listing(alone)}.")
    return told


def cautions_section(result: SpreadResult, *, briefly: bool) -> Section:
    """Tell every caution with its chance and one draw as an example; briefly: without notes."""
    shown = [one for one in result.traced.cautions if not (briefly and one.severity == "note")]
    lines = [
        f"{CAUTION_WORDS[one.severity]}: in {of_100(one.chance)}: {_example(one)}" for one in shown
    ]
    draws = result.traced.fan.draws
    drawn = draws_words(draws, None)
    if not any(one.severity == "danger" for one in result.traced.cautions):
        rare = per_100(chance(0, draws).high)
        told = f"No danger in {drawn} run in full; it may be in up to {rare} of 100 cases."
        lines.insert(0, told)
    lines.append(
        f"Chances of cautions are from {drawn} run in full; the numbers are those of one "
        "draw that raised it."
    )
    return Section("Cautions", tuple(lines))


def _example(one: CautionChance) -> str:
    advice = f" What to do: {one.example.advice}" if one.example.advice else ""
    return f"(draw {one.draw}) {one.example.text}{advice}"

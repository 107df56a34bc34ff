"""The parts of a report in reading order: sections, tables and figures, free of any markup."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from bankSim.scenario.record import Scenario
from bankSim.show.basis import assumed, remarks, solved
from bankSim.show.beware import cautions
from bankSim.show.blocks import Grid, Section
from bankSim.show.causes import cause, cut_outs
from bankSim.show.energy import energy_section
from bankSim.show.figure_words import draws_words, seed_of
from bankSim.show.life import life
from bankSim.show.moments import cut_out_moments
from bankSim.show.outcomes import LONGEST_NAME, charge_table, event_table
from bankSim.show.plain_words import plain_section
from bankSim.show.report_pictures import Picture
from bankSim.show.sharing import sharing
from bankSim.show.spread_story import tell_spread
from bankSim.show.study_words import SAFETY_OF_CHANCES
from bankSim.show.whens import when
from bankSim.show.words import volts
from bankSim.sim.numbers import clean, named
from bankSim.sim.result import Result
from bankSim.sim.summary import SAFETY_TEXT, program_version
from bankSim.study.spread import SpreadResult

MOST_MOMENTS = 6
CAUTIONS, SAFETY = "Cautions", "Safety"
WARNED = ("DANGER", "WARNING", "NOTE", "Note")


@dataclass(frozen=True, slots=True)
class Part:
    """A chapter of the page.

    Parameters
    ----------
    key : str
        Its place for links; from this program.
    title : str
    sections : tuple of Section
    pictures : tuple of Picture
    """

    key: str
    title: str
    sections: tuple[Section, ...] = ()
    pictures: tuple[Picture, ...] = ()


def report_parts(
    result: Result, spread: SpreadResult | None, pictures: Mapping[str, Picture]
) -> list[Part]:
    """Return all parts behind the drawing of the bank, empty ones left out.

    Parameters
    ----------
    result : Result
    spread : SpreadResult or None
    pictures : mapping
        Of the run and of the draws, by name.
    """

    def part(key: str, title: str, sections: Sequence[Section | None], *figures: str) -> Part:
        shown = tuple(pictures[name] for name in figures if name in pictures)
        told = tuple(plain_section(one) for one in sections if one is not None)
        return Part(key, title, told, shown)

    moments = cut_out_moments(result, MOST_MOMENTS)
    parts = [
        part("out", "Who cuts out, and why", [cut_out_section(result), *moments], "cells"),
        part("gave", "Delivered, label and stranded", [charge_table(result)], "charge"),
        part("life", "What happens over time", [life(result)], "lanes", "current", "voltage",
             "temperature"),
        part("draws", "What may happen: many draws", _draw_sections(spread), "fan", "shares",
             "chances"),
        part("events", "Everything that switched", [event_table(result)]),
        part("shares", "Sharing and energy", [sharing(result), energy_section(result)]),
        part("basis", "What this rests on", _basis(result, spread)),
    ]  # fmt: skip
    return [one for one in parts if one.sections or one.pictures]


def caution_sections(result: Result, spread: SpreadResult | None) -> list[Section]:
    """Return the cautions of the run, and those among the draws."""
    own = plain_section(Section("In this run", cautions(result).lines))
    if spread is None:
        return [own]
    drawn = [one for one in tell_spread(spread).sections if one.title == CAUTIONS]
    return [own, *(plain_section(Section("Among the draws", one.lines)) for one in drawn)]


def warned(line: str) -> tuple[str, str]:
    """Return the severity that a line of cautions begins with, and the rest of it."""
    word, colon, rest = line.partition(": ")
    return (word.upper(), rest) if colon and word in WARNED else ("", line)


def cut_out_section(result: Result) -> Section:
    """First cut-out of each battery, in the order of time, with the reason."""
    rows = tuple(
        (
            clean(event.battery or "", LONGEST_NAME),
            when(result, event.time_s),
            cause(result, event),
            volts(event.battery_voltage_V).removesuffix(" V"),
            volts(event.bus_voltage_V).removesuffix(" V"),
        )
        for event in cut_outs(result)
    )
    out = {event.battery for event in cut_outs(result)}
    still = [one.name for one in result.batteries if one.name not in out]
    lines = (f"Not cut out in this run: {named(still)}.",) if still else ()
    grid = Grid(("Battery", "After", "Why", "Battery V", "Bus V"), rows, words=3) if rows else None
    return Section("In the order of their first cut-out", lines, grid)


def _draw_sections(spread: SpreadResult | None) -> list[Section]:
    if spread is None:
        return []
    told = tell_spread(spread, in_words=True).sections
    return [one for one in told if one.title not in (CAUTIONS, SAFETY)]


def _basis(result: Result, spread: SpreadResult | None) -> list[Section | None]:
    return [
        assumed(result, in_words=True),
        remarks(result),
        solved(result),
        _sources(result.scenario, spread),
    ]


def _sources(scenario: Scenario, spread: SpreadResult | None) -> Section:
    """Program, files and draws: what is needed to do it again."""
    tables = [clean(name) for name in scenario.tables]
    lines = [
        f"Program: bankSim {program_version()}.",
        f"Scenario file: {file_name(scenario) or 'none, made in the program'}.",
        f"Tables it names: {', '.join(tables) if tables else 'none'}.",
    ]
    lines += [f"Changed after reading: {_change(*change)}." for change in scenario.changes]
    if spread is None:
        lines.append("No draws were made: nothing here tells how sure these numbers are.")
    else:
        plan = spread.draws.plan
        lines.append(
            f"{draws_words(spread.draws.count, seed_of(plan))}, {spread.traced.fan.draws} of them "
            f"run in full; relative tolerance of each {plan.tolerance:.0e}."
        )
    return Section("Program and files", tuple(lines))


def file_name(scenario: Scenario) -> str:
    """Return the name of the scenario's file without its folder, which is nobody's business."""
    return clean(re.split(r"[/\\]", scenario.file)[-1])


def _change(key: str, value: object) -> str:
    return f"{clean(key)} = {clean(str(value), 80)}"


def safety_lines(spread: SpreadResult | None) -> list[str]:
    """Return what every report ends with."""
    return [SAFETY_TEXT] if spread is None else [SAFETY_TEXT, SAFETY_OF_CHANCES]

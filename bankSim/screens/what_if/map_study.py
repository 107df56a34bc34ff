"""The work of a map over two sliders: a sweep of the study room, asked in the sliders' words."""

import copy
import itertools
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import TypeVar

import numpy as np

from bankSim.kernels.arrays import Floats
from bankSim.scenario.lines import Path
from bankSim.screens.what_if.knob import Knob, moved
from bankSim.screens.what_if.outcome import Bench
from bankSim.show.paper import in_truth_of_one, on_paper
from bankSim.show.sweep_paper import Ah_of, is_paper, median
from bankSim.show.words import whole_or
from bankSim.sim.numbers import number, quoted
from bankSim.study.blocks import threads
from bankSim.study.sweep import SweepResult, SweptPoint, study_sweep
from bankSim.study.swept_keys import SweptKey

STEPS, DRAWS = 7, 40
TOGETHER = "several at once"
Told = TypeVar("Told")


@dataclass(frozen=True, eq=False)
class MapAsked:
    """What a map was asked.

    Parameters
    ----------
    digest : str
    settings : mapping of str to float
        Of the bench at that time. In the units of the sliders.
    knobs : (Knob, Knob)
        Along x and along y.
    values : (tuple of float, tuple of float)
        In the units of the sliders, rising.
    """

    digest: str
    settings: Mapping[str, float]
    knobs: tuple[Knob, Knob]
    values: tuple[tuple[float, ...], tuple[float, ...]]


def key_of(knob: Knob) -> Path | None:
    """Return the one key that a slider writes; None where it writes several."""
    paths = [move.path for move in knob.moves if not move.silent]
    return paths[0] if len(paths) == 1 else None


def steps_between(knob: Knob, low: float, high: float, count: int = STEPS) -> tuple[float, ...]:
    """Return values of a slider from low to high, each on its grid, rising.

    In the unit of the slider.
    """
    wanted = np.linspace(low, high, count)
    places = np.unique(np.round((wanted - knob.low) / knob.step))
    return tuple(float(f"{knob.low + place * knob.step:.12g}") for place in places)


def axis_numbers(bench: Bench, asked: MapAsked, place: int) -> tuple[float, ...]:
    """Return what one slider writes along its axis, all others but the map's as they stand.

    In the unit of the key.
    """
    knob, others = asked.knobs[place], _others(asked)
    path = key_of(knob)
    assert path is not None
    return tuple(
        moved(bench.knobs, {**others, knob.key: value}, [knob.key])[path]
        for value in asked.values[place]
    )


def go_together(bench: Bench, asked: MapAsked) -> bool:
    """Tell whether two sliders write what they write whatever the other one does."""
    one, other = asked.knobs
    paths = [key_of(knob) for knob in asked.knobs]
    if None in paths or paths[0] == paths[1]:
        return False
    alone = [axis_numbers(bench, asked, place) for place in (0, 1)]
    for end in itertools.product((0, -1), (0, -1)):
        values = {one.key: asked.values[0][end[0]], other.key: asked.values[1][end[1]]}
        both = moved(bench.knobs, {**_others(asked), **values}, list(values))
        if any(both[paths[k] or ()] != alone[k][end[k]] for k in (0, 1)):
            return False
    return True


def _others(asked: MapAsked) -> dict[str, float]:
    own = {knob.key for knob in asked.knobs}
    return {key: value for key, value in asked.settings.items() if key not in own}


def make_map(
    bench: Bench, asked: MapAsked, progress: Callable[[str, int, int], None]
) -> SweepResult:
    """March draws at every field of a map; y changes slowest.

    Raises
    ------
    ScenarioError
        When a field is no sound scenario.
    """
    first: dict[Path, object] = {}
    for knob in asked.knobs:
        first |= copy.deepcopy(dict(knob.first))
    with bench.lock:
        base = bench.variants.with_values({**first, **bench.edits(_others(asked))})
    keys = (_swept(bench, asked, 1), _swept(bench, asked, 0))
    with threads() as workers:
        return study_sweep(base, keys, workers, draws=DRAWS, in_full=1, progress=progress)


def _swept(bench: Bench, asked: MapAsked, place: int) -> SweptKey:
    """Return one axis of a map as the study room takes it."""
    knob = asked.knobs[place]
    path = key_of(knob)
    assert path is not None
    return SweptKey(knob.words, path, axis_numbers(bench, asked, place), knob.unit)


def middles(result: SweepResult) -> Floats:
    """Return the middle answer of every field; (y, x). In the unit of the answer."""
    return result.grid(median)


def first_out(result: SweepResult) -> list[list[str]]:
    """Return who most often cuts out first in every field, "" for nobody; (y, x)."""
    names = [battery.name for battery in result.scenario.bank.batteries]
    return _fields(result, [_likeliest(point, names) for point in result.points])


def paper_fields(result: SweepResult) -> list[list[bool]]:
    """Tell in which fields the Ah are on paper only; (y, x)."""
    return _fields(result, [is_paper(point) for point in result.points])


def _fields(result: SweepResult, told: list[Told]) -> list[list[Told]]:
    across = len(result.keys[1].values)
    return [told[place : place + across] for place in range(0, len(told), across)]


def _likeliest(point: SweptPoint, names: list[str]) -> str:
    chances = [(one.value, name) for one, name in zip(point.first, names, strict=True)]
    chances += [(point.nobody.value, ""), (point.together.value, TOGETHER)]
    return max(chances, key=lambda one: one[0])[1]


def map_lines(asked: MapAsked, result: SweepResult) -> list[str]:
    """Say where the bank gives most and least, and whether somebody else cuts out first."""
    z, first = middles(result), first_out(result)
    does = "takes in" if not result.scenario.bank.loads else "delivers"
    lines = []
    for which, place in (("most", z.argmax()), ("least", z.argmin())):
        j, i = np.unravel_index(int(place), z.shape)
        x, y = (
            f"{knob.words} {knob.text(values[at])}"
            for knob, values, at in zip(asked.knobs, asked.values, (i, j), strict=True)
        )
        amount = Ah_of(result.points[int(place)])
        lines.append(f"It {does} {which}, {amount}, with {x} and {y}.")
    if float(np.ptp(z)) <= 1e-3 * float(np.abs(z).max()):
        lines = [f"It {does} {whole_or(float(z.mean()))} Ah everywhere on this map."]
    lines += _paper_line(result)
    told = {name for row in first for name in row}
    if len(told) > 1:
        names = " or ".join(quoted(name) if name else "nobody" for name in sorted(told))
        lines.append(f"Who cuts out first depends on them: {names}.")
    return lines


def _paper_line(result: SweepResult) -> list[str]:
    """Say in how many fields the Ah are on paper only, what ends them, and the most of the rest."""
    every = [one for point in result.points for one in on_paper(point.cautions)]
    others = [median(point) for point in result.points if not is_paper(point)]
    if not every:
        return []
    count = f"{len(result.points) - len(others)} of {len(result.points)} fields"
    most = f"; the most in the others is {number(max(others))} Ah" if others else ""
    return [f"On paper only (*) are the Ah in {count}: {in_truth_of_one(every)}{most}."]

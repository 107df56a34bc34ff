"""One draw of a study, told in full."""

from collections.abc import Sequence

from bankSim.kernels.arrays import Floats
from bankSim.show.blocks import Grid, Section, Story
from bankSim.show.story import tell
from bankSim.show.words import whole_or
from bankSim.sim.numbers import clean
from bankSim.sim.result import Result
from bankSim.study.unknown import Unknown

NOTHING = "Nothing of its own: the file gives every value exactly, so all draws are the same."


def tell_draw(
    result: Result, unknowns: Sequence[Unknown], values: Floats, draw: int, seed: int
) -> Story:
    """Return the story of a draw, with the values that were drawn.

    Parameters
    ----------
    result : Result
        Of that draw, from `Ensemble.story_of`.
    unknowns : sequence of Unknown
    values : array (unknowns,)
        In the units of the unknowns.
    draw, seed : int
    """
    story = tell(result)
    rows = tuple(
        (clean(one.label), *_value(one, float(value)))
        for one, value in zip(unknowns, values, strict=True)
    )
    drawn = Section(f"What draw {draw} has", (NOTHING,))
    if rows:
        line = "Factors are on what a single run takes; differences are added to it."
        drawn = Section(drawn.title, (line,), Grid(("Value", "Drawn"), rows, words=2))
    title = f"{story.title}: draw {draw} of seed {seed}"
    return Story(title, story.headline, (drawn, *story.sections))


def _value(unknown: Unknown, value: float) -> tuple[str]:
    if unknown.is_factor:
        return (f"x {value:.3f}",)
    if unknown.spread.value == 0.0 and not unknown.given:
        return (f"{value:+.3g} {unknown.unit}".rstrip(),)
    return (f"{whole_or(value, 5)} {unknown.unit}".rstrip(),)

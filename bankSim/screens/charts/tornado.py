"""What matters most: how far the answer moves when one thing goes from low to high."""

from collections.abc import Sequence

import numpy as np

from bankSim.screens.charts.bars import Bar, Group, Part, draw_groups, hatched
from bankSim.screens.charts.frame import Spec, empty
from bankSim.screens.charts.look import LIGHT, Look
from bankSim.screens.charts.text import safe_text
from bankSim.sim.numbers import clean, number

AT_LOW, AT_HIGH = "at its low end", "at its high end"
BAR_PX = 20.0
MOST, LONGEST = 12, 44


def tornado_chart(
    labels: Sequence[str],
    low: Sequence[float],
    high: Sequence[float],
    *,
    middle: float,
    unit: str = "Ah",
    answer: str = "the bank delivers",
    look: Look = LIGHT,
) -> Spec:
    """Draw the answer with each unknown at its low and at its high end, widest on top.

    Parameters
    ----------
    labels : sequence of str
        What is changed, with its range, as in "old: capacity 80 to 90 Ah".
    low, high : sequence of float
        The answer at either end; what is not a number is left out. In the unit of the answer.
    middle : float
        The answer with everything as it stands. In the unit of the answer.
    unit, answer : str
        Of the axis.
    look : Look
    """
    order = _order(low, high)
    if not order:
        return empty(look, "Nothing was found that matters.")
    looks = {AT_LOW: hatched(look, look.colour(1), "/"), AT_HIGH: hatched(look, look.colour(0), "")}
    groups = [_group(labels[k], float(low[k]), float(high[k]), middle, unit) for k in order]
    ends = [value for k in order for value in (float(low[k]), float(high[k]))] + [middle]
    room = max(0.04 * (max(ends) - min(ends)), 1e-3 * max(abs(middle), 1e-3))
    reach = (min(ends) - room, max(ends) + room)
    title = f"{safe_text(answer)} [{safe_text(unit)}]"
    return draw_groups(groups, looks, title, look, reach=reach, middle=middle)


def _order(low: Sequence[float], high: Sequence[float]) -> list[int]:
    """Return the places of the widest moves, the widest first."""
    widths = np.abs(np.asarray(high, dtype=float) - np.asarray(low, dtype=float))
    order = np.argsort(-np.where(np.isfinite(widths), widths, -1.0), kind="stable")
    return [int(place) for place in order if np.isfinite(widths[place])][:MOST]


def _group(label: str, low: float, high: float, middle: float, unit: str) -> Group:
    parts = tuple(
        Part(middle, value - middle, which, f"{which}: {number(value)} {safe_text(unit)}")
        for which, value in ((AT_LOW, low), (AT_HIGH, high))
    )
    words = f"{safe_text(label, LONGEST)}: {number(low)} … {number(high)}"
    if (low - middle) * (high - middle) > 0.0:  # both ends on one side: neither hides the other
        return Group((words,), tuple(Bar(0.6 * BAR_PX, (part,)) for part in parts))
    return Group((words,), (Bar(BAR_PX, parts),))


def tornado_words(
    labels: Sequence[str],
    low: Sequence[float],
    high: Sequence[float],
    *,
    middle: float,
    unit: str = "Ah",
    answer: str = "the bank delivers",
) -> str:
    """Return what `tornado_chart` shows, in a sentence or two. In the unit of the answer."""
    order = _order(low, high)[:3]
    if not order:
        return "Nothing was found that matters."
    told = [
        f"{clean(labels[k], LONGEST)} moves it from {number(float(low[k]))} to "
        f"{number(float(high[k]))} {unit}"
        for k in order
    ]
    return f"As it stands {answer} {number(middle)} {unit}. What moves it most: {'; '.join(told)}."

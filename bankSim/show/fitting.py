"""Texts that must fit: how wide they are drawn, where they are broken, how far an axis reaches."""

from collections.abc import Iterable, Sequence
from functools import lru_cache
from typing import TYPE_CHECKING

from bankSim.show.looks import LONGEST_LABEL, WIDTH_IN
from bankSim.sim.numbers import clean

if TYPE_CHECKING:
    from matplotlib.axes import Axes

TITLE_PT, NAME_PT, NOTE_PT = 10.5, 8.5, 8.0
MARGINS_IN = 0.55  # both edges of the figure, ticks
NAMES_IN = 2.3  # widest column of names
GAP_IN = 0.14  # between a mark and the words behind it
MOST_TEXT = 0.75  # of the axes' width: words behind a mark
FROM_ZERO = 0.3  # of the largest: marks that begin below it are drawn from 0 on
LEAST_REACH = 0.1  # of the largest: no axis is stretched further than that


@lru_cache(maxsize=4096)  # breaking lines asks for the same words many times
def text_in(text: str, size_pt: float) -> float:
    """Return how wide a line of text is drawn, as written. [in]"""
    from matplotlib.font_manager import FontProperties
    from matplotlib.textpath import text_to_path

    font = FontProperties(size=size_pt)
    width, _, _ = text_to_path.get_text_width_height_descent(text, font, ismath=False)
    return float(width) / 72.0


def fold(text: str, inches: float, size_pt: float) -> list[str]:
    """Break a text into lines that are no wider; words that are too wide are broken, too."""
    lines: list[str] = []
    for word in clean(text).split():
        joined = f"{lines[-1]} {word}" if lines else word
        if text_in(joined, size_pt) <= inches:
            lines[-1:] = [joined]
            continue
        parts = _pieces(word, inches, size_pt)
        lines += parts
    return lines or [""]


def _pieces(word: str, inches: float, size_pt: float) -> list[str]:
    """Break one word where a line is full."""
    parts = [""]
    for mark in word:
        if parts[-1] and text_in(parts[-1] + mark, size_pt) > inches:
            parts.append("")
        parts[-1] += mark
    return parts


def heading(text: str, inches: float, size_pt: float = TITLE_PT) -> str:
    """Break what stands above a panel into lines."""
    return "\n".join(fold(text, inches, size_pt))


def fitted(text: str, inches: float = NAMES_IN, lines: int = 1, size_pt: float = NAME_PT) -> str:
    """Break a text into at most so many lines; one that does not fit loses its middle."""
    line = clean(text)
    parts = fold(line, inches, size_pt)
    while len(parts) > lines:
        half = max((int(0.93 * len(line)) - 3) // 2, 1)
        line = f"{line[:half].rstrip()}...{line[len(line) - half :].lstrip()}"
        parts = fold(line, inches, size_pt)
    return "\n".join(parts)


def name_of(name: str, inches: float = NAMES_IN) -> str:
    """Return a name short enough for a row, by its letters and by its width."""
    short = clean(name, LONGEST_LABEL)
    return short if text_in(short, NAME_PT) <= inches else fitted(name, inches)


def room_beside(names: Iterable[str], size_pt: float = NAME_PT) -> float:
    """Return how wide a panel is that has these names on its left. [in]"""
    lines = [line for name in names for line in name.split("\n")]
    widest = max((text_in(line, size_pt) for line in lines), default=0.0)
    return WIDTH_IN - MARGINS_IN - widest


def leave_room(
    axes: "Axes", marks: Sequence[float], notes: Sequence[tuple[float, str]], inches: float
) -> None:
    """Set the limits so that all marks are seen and words fit behind them.

    Parameters
    ----------
    axes : Axes
    marks : sequence of float
        Where something is drawn. In the unit of the axis.
    notes : sequence of (float, str)
        Where words begin, and the words. In the unit of the axis.
    inches : float
        Width of the axes.
    """
    low, high = min(marks, default=0.0), max(marks, default=0.0)
    if 0.0 <= low <= FROM_ZERO * high:
        low = 0.0
    reach = max(high - low, LEAST_REACH * max(abs(high), abs(low))) or 1.0
    start = low if low == 0.0 else low - 0.06 * reach
    end = start + max(high - start, reach)
    for at, words in notes:
        part = min((text_in(words, NOTE_PT) + GAP_IN) / inches, MOST_TEXT)
        end = max(end, start + (at - start) / (1.0 - part))
    axes.set_xlim(start, end)

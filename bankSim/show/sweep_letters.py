"""A map of who most probably cuts out first: letters for batteries, lines between them."""

import string
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from bankSim.kernels.arrays import Floats
from bankSim.model.load import Flags
from bankSim.show.fitting import name_of
from bankSim.show.looks import COLOURS, INK, plain
from bankSim.sim.numbers import clean
from bankSim.study.sweep import SweepResult, SweptPoint

if TYPE_CHECKING:
    from matplotlib.axes import Axes

Numbers = NDArray[np.int64]
MOST_WRITTEN = 12  # cells each way: of more the letter is written alone
NOBODY, TOGETHER = "-", "="
PALE = 0.35
MOST_NAMED = 12
SHORT = 3  # letters of a name that fits into a cell
NAMES_IN = 1.6


def sign_of(names: Sequence[str], number: int) -> str:
    """Return the sign of a battery on a map: its name where all are short, otherwise a letter.

    Where a letter could be taken for a name it is its number in the file. Nobody is "-", several at
    once "=".
    """
    if number < 0:
        return NOBODY if number == -1 else TOGETHER
    if max(len(name) for name in names) <= SHORT:
        return names[number]
    clash = set(names) & {letter(place) for place in range(len(names))}
    return f"#{number + 1}" if clash else letter(number)


def letter(number: int) -> str:
    """Return A to Z, then AA, AB, ..."""
    high, low = divmod(number, 26)
    last = string.ascii_uppercase[low]
    return last if high == 0 else string.ascii_uppercase[high - 1] + last


def likeliest(result: SweepResult) -> tuple[Numbers, Floats]:
    """Return who most probably cuts out first at every point, and that chance.

    Returns
    -------
    likely : array (values of the second key, values of the first key)
        Numbers of batteries from 0; -1 where rather nobody does, -2 where several do at once.
    chance : array, of the same shape
        [1]
    """
    count = len(result.scenario.bank.batteries)
    parts = np.array([result.grid(_chance_of(number)).T for number in range(count)])
    others = [result.grid(read).T for read in (_nobody, _together)]
    every = np.concatenate([parts, others])
    likely = every.argmax(axis=0)
    return np.where(likely < count, likely, count - 1 - likely), every.max(axis=0)


def _chance_of(number: int) -> Callable[[SweptPoint], float]:
    return lambda point: point.first[number].value


def _nobody(point: SweptPoint) -> float:
    return point.nobody.value


def _together(point: SweptPoint) -> float:
    return point.together.value


def draw_letters(axes: "Axes", result: SweepResult, likely: Numbers, surely: Floats) -> None:
    """Draw the map, as `likeliest` tells it; in small maps with the chance of 100 cases.

    `surely` is that chance. [1]
    """
    image = np.array([[_pale(int(number)) for number in row] for row in likely])
    axes.imshow(image, aspect="auto", origin="lower")
    _borders(axes, likely)
    crowd, names = max(likely.shape) > MOST_WRITTEN, _names(result)
    for row, column in zip(*np.nonzero(_written(likely.shape)), strict=True):
        who, part = sign_of(names, int(likely[row, column])), f"{100.0 * surely[row, column]:.0f}"
        write(axes, column, row, who if crowd else f"{who}: {part}", INK)


def write(axes: "Axes", x: float, y: float, text: str, colour: str) -> None:
    """Write into a cell. [columns, rows]"""
    axes.text(x, y, text, ha="center", va="center", fontsize=7.5, color=colour)


def _borders(axes: "Axes", likely: Numbers) -> None:
    """Draw a line between cells of different batteries."""
    for row, column in zip(*np.nonzero(np.diff(likely, axis=1)), strict=True):
        axes.plot([column + 0.5] * 2, [row - 0.5, row + 0.5], color=INK, linewidth=1.0)
    for row, column in zip(*np.nonzero(np.diff(likely, axis=0)), strict=True):
        axes.plot([column - 0.5, column + 0.5], [row + 0.5] * 2, color=INK, linewidth=1.0)


def _written(shape: tuple[int, ...]) -> Flags:
    """Tell in which cells there is room for a letter: in all, or in every so many."""
    flags = np.zeros(shape, dtype=bool)
    steps = [-(-count // (2 * MOST_WRITTEN)) for count in shape]
    flags[:: steps[0], :: steps[1]] = True
    return flags


def name_letters(axes: "Axes", result: SweepResult, likely: Numbers) -> None:
    """Name the letters beside the map, those of most cells if they are too many."""
    from matplotlib.patches import Patch

    numbers, counts = np.unique(likely, return_counts=True)
    kept = sorted(int(numbers[place]) for place in np.argsort(-counts)[:MOST_NAMED])
    handles = [Patch(facecolor=_pale(number), edgecolor=INK) for number in kept]
    signs = [sign_of(_names(result), number) for number in kept]
    called = [_called(result, number) for number in kept]
    names = [
        who if who == name else f"{who}  {name}" for who, name in zip(signs, called, strict=True)
    ]
    if len(numbers) > len(kept):
        handles.append(Patch(alpha=0.0))
        names.append(f"and {len(numbers) - len(kept)} others, as in the file")
    axes.axis("off")
    legend = axes.legend(
        handles, [str(place) for place in range(len(names))], loc="upper left",
        bbox_to_anchor=(0.0, 1.02), frameon=False, fontsize=8.5, handlelength=1.4,
        borderpad=0.0,
    )  # fmt: skip
    for text, name in zip(legend.get_texts(), names, strict=True):
        plain(text).set_text(name)


def _names(result: SweepResult) -> list[str]:
    return [clean(battery.name) for battery in result.scenario.bank.batteries]


def _called(result: SweepResult, number: int) -> str:
    if number < 0:
        return "nobody" if number == -1 else "several at once"
    return name_of(result.scenario.bank.batteries[number].name, NAMES_IN)


def _pale(number: int) -> tuple[float, float, float]:
    """Return the pale colour of a battery; white for nobody."""
    from matplotlib.colors import to_rgb

    if number < 0:
        return 1.0, 1.0, 1.0
    red, green, blue = (1.0 - PALE * (1.0 - one) for one in to_rgb(COLOURS[number % len(COLOURS)]))
    return red, green, blue

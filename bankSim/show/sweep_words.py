"""Values and places of a sweep in words."""

from collections.abc import Sequence

import numpy as np

from bankSim.model.runs import runs_of
from bankSim.show.words import whole_or
from bankSim.sim.numbers import listing
from bankSim.study.answers import CHARGED
from bankSim.study.sweep import SweepResult, SweptPoint
from bankSim.study.swept_keys import SweptKey

MOST_RUNS = 4
SMALL = 0.05


def written(value: object) -> str:
    """Return a value as one would write it in the file, numbers rounded."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int | float):
        return whole_or(float(value), 4)
    if isinstance(value, dict):
        return f"{{ {', '.join(f'{name} = {written(one)}' for name, one in value.items())} }}"
    return f'"{value}"'


def value_text(key: SweptKey, value: object) -> str:
    """Return a value with its unit."""
    return f"{written(value)} {key.unit}".rstrip()


def does(result: SweepResult) -> str:
    """Say what the Ah of a sweep are: those delivered or those taken in."""
    return "takes in" if is_charged_only(result) else "delivers"


def is_charged_only(result: SweepResult) -> bool:
    """Tell whether there is no load at any point, so that charge taken in is what matters."""
    return result.answer == CHARGED


def are_equalising(shares: Sequence[float | None]) -> bool:
    """Tell whether much flows from one battery into another: shares of the sum then say little."""
    return any(share is not None and share < -SMALL for share in shares)


def at(result: SweepResult, point: SweptPoint) -> str:
    """Say where a point is: "at 3 mohm"; of two keys, both with their names."""
    if len(result.keys) == 1:
        key = result.keys[0]
        return f"{'at' if key.is_numbers else 'with'} {value_text(key, point.values[0])}"
    pairs = zip(result.keys, point.values, strict=True)
    return f"at {' and '.join(f'{key.key} = {value_text(key, value)}' for key, value in pairs)}"


def where(result: SweepResult, flags: Sequence[bool]) -> str:
    """Say at which points something is so: "from 1 to 3 mohm", "with "same end"", "at 3 of 9"."""
    if all(flags):
        return "at all values" if len(result.keys) == 1 else "at all points"
    if len(result.keys) == 1:
        return _along(result.keys[0], flags)
    grid = np.array(flags).reshape([len(key.values) for key in result.keys])
    for key, lines in zip(result.keys, (grid.T, grid), strict=True):
        if (lines == lines[0]).all():  # the other key makes no difference
            return f"{_along(key, [bool(flag) for flag in lines[0]])} of {key.key}"
    first = result.points[list(flags).index(True)]
    return (
        f"at {sum(flags)} of {len(flags)} points, such as {at(result, first).removeprefix('at ')}"
    )


def _along(key: SweptKey, flags: Sequence[bool]) -> str:
    if len(runs_of(flags)) > MOST_RUNS:
        return f"at {sum(flags)} of {len(flags)} values"
    values = [value_text(key, value) for value in key.values]
    if not key.is_numbers:
        own = [value for value, flag in zip(values, flags, strict=True) if flag]
        return f"with {listing(own, MOST_RUNS)}"
    return listing([_stretch(values, *ends) for ends in runs_of(flags)])


def _stretch(values: Sequence[str], start: int, end: int) -> str:
    if start == end:
        return f"at {values[start]}"
    if end == len(values) - 1:
        return f"from {values[start]} on"
    return f"from {values[start]} to {values[end]}"

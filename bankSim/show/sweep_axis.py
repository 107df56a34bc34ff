"""A swept key along an axis: numbers where they are, words one after the other."""

from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeGuard

import numpy as np

from bankSim.kernels.arrays import Floats
from bankSim.show.looks import INK, plain
from bankSim.show.words import shortened, whole_or
from bankSim.study.swept_keys import SweptKey

if TYPE_CHECKING:
    from matplotlib.axis import Axis

LONGEST_KEY, LONGEST_VALUE = 64, 16
MOST_TICKS = 12
IN_FILE = "in the file"


@dataclass(frozen=True, slots=True)
class KeyAxis:
    """Where the values of a key stand along an axis.

    Parameters
    ----------
    key : SweptKey
    at : array (n,)
        The values themselves, or 0, 1, 2, ... In the unit of the key.
    given : float or None
        Where the file's own value stands; None when that is not on the axis.
        In the unit of the axis.
    value : object
        That value; None when the file has none.
    in_cells : bool
        The values stand one after the other, not along a scale.
    """

    key: SweptKey
    at: Floats
    given: float | None
    value: object
    in_cells: bool

    def label(self, longest: int = LONGEST_KEY, between: str = "; ") -> str:
        """Name the key with its unit, and what the file has there."""
        name = shortened(self.key.key, longest)
        named = f"{name} [{self.key.unit}]" if self.key.unit else name
        if self.value is None:
            return named
        return f"{named}{between}{IN_FILE}: {value_text(self.value)}"


def along(key: SweptKey, given: object) -> KeyAxis:
    """Return an axis on which numbers stand where they are."""
    if not key.is_numbers:
        return in_cells(key, given)
    place = float(given) if is_number(given) else None
    return KeyAxis(key, np.array(key.values, dtype=float), place, told(given), in_cells=False)


def in_cells(key: SweptKey, given: object) -> KeyAxis:
    """Return an axis with one cell a value, in the order asked for."""
    at = np.arange(len(key.values), dtype=float)
    if given in key.values:
        return KeyAxis(key, at, float(key.values.index(given)), given, in_cells=True)
    if not (key.is_numbers and is_number(given)):
        return KeyAxis(key, at, None, told(given), in_cells=True)
    values = np.array(key.values, dtype=float)
    order = np.argsort(values)
    inside = values[order[0]] <= float(given) <= values[order[-1]]
    straight = bool(np.all(np.diff(order) == 1) or np.all(np.diff(order) == -1))
    place = float(np.interp(float(given), values[order], at[order]))
    return KeyAxis(key, at, place if inside and straight else None, given, in_cells=True)


def told(given: object) -> object:
    """Return a plain value of the file; a table of keys is none that can be told in a word."""
    return given if isinstance(given, int | float | str | bool) else None


def is_number(value: object) -> TypeGuard[float]:
    """Tell whether a value of the file can stand along a scale."""
    return isinstance(value, int | float) and not isinstance(value, bool)


def value_text(value: object) -> str:
    """Return a value as it stands at a tick."""
    if is_number(value):
        return whole_or(float(value), 4)
    return shortened(str(value).lower() if isinstance(value, bool) else str(value), LONGEST_VALUE)


def write_cells(axis: "Axis", one: KeyAxis) -> None:
    """Write the values at the ticks of cells; of very many only some."""
    step = max(1, -(-len(one.at) // MOST_TICKS))
    shown = range(0, len(one.at), step)
    texts = [value_text(one.key.values[place]) for place in shown]
    axis.set_ticks([float(one.at[place]) for place in shown], texts)
    for tick in axis.get_ticklabels():
        plain(tick).set_color(INK)

"""One thing that can be moved, and how it moves the numbers of the scenario."""

import copy
import math
from collections.abc import Callable, Collection, Iterable, Mapping
from dataclasses import dataclass, field

from bankSim.scenario.lines import Path
from bankSim.sim.numbers import quoted

DIGITS = 12  # kept of a number that is written
SET, SCALE, DIVIDE, SHIFT, BELOW = "set", "scale", "divide", "shift", "below"

Settings = Mapping[str, float]


@dataclass(frozen=True, slots=True)
class Move:
    """How one number of the scenario follows a slider.

    Parameters
    ----------
    path : tuple
        Its key.
    base : float
        What the solver uses now, in the unit of the key.
    form : str
        `SET`: the slider's value; `SCALE`, `DIVIDE`: the number times, or over, what the slider
        has become of its start; `SHIFT`: the number and what the slider has moved; `BELOW`: the
        slider's value below the highest of the others.
    per_unit : float
        So many units of the slider make one of the key. [units of the slider per unit of the key]
    lowest, highest : float
        What the key allows. In the unit of the key.
    others : tuple of (path, float)
        For `BELOW`: keys and numbers of the others. In the units of the keys.
    silent : bool
        Only for moves that follow; it is not written itself.
    """

    path: Path
    base: float
    form: str = SET
    per_unit: float = 1.0
    lowest: float = -math.inf
    highest: float = math.inf
    others: tuple[tuple[Path, float], ...] = ()
    silent: bool = False


@dataclass(frozen=True, slots=True)
class Knob:
    """A slider.

    Parameters
    ----------
    key : str
        Its own word.
    label : str
        Our own words; `{}` stands for the subject.
    unit : str
    start : float
        What it is in the scenario. In `unit`.
    low, high, step : float
        Its reach; `start` lies on the grid. In `unit`.
    help : str
    moves : tuple of Move
    battery, cell : int or None
        Whom it belongs to, from 0.
    main : bool
        It is always in view.
    rank : int
        Lower ones move first.
    subject : str
        Name of a battery, load or charger, as people wrote it.
    first : tuple of (path, value)
        What has to stand in the scenario before a move can be written.
    """

    key: str
    label: str
    unit: str
    start: float
    low: float
    high: float
    step: float
    help: str
    moves: tuple[Move, ...]
    battery: int | None = None
    cell: int | None = None
    main: bool = False
    rank: int = 0
    subject: str = ""
    first: tuple[tuple[Path, object], ...] = field(default=())

    @property
    def decimals(self) -> int:
        """How many places its values are shown with."""
        texts = (f"{round(value, 6):.6f}".rstrip("0") for value in (self.step, self.start))
        return min(max(len(text.partition(".")[2]) for text in texts), 3)

    @property
    def words(self) -> str:
        """What it is, in a sentence; holds a name as people wrote it."""
        return self.label.replace("{}", quoted(self.subject))

    def text(self, value: float) -> str:
        """Return a value with its unit. In the unit of the slider."""
        return f"{value:.{self.decimals}f} {self.unit}".rstrip()

    def is_moved(self, value: float) -> bool:
        """Tell whether a value is another one than the start. In the unit of the slider."""
        return abs(value - self.start) > 1e-3 * self.step


def copper_knob(key: str, label: str, area_mm2: float, path: Path, /, **more: object) -> Knob:
    """Return the slider of the copper of a cable whose length is written, in mm2.

    Parameters
    ----------
    key, label : str
        As of a `Knob`.
    area_mm2 : float
        As written. [mm2]
    path : tuple
        Of the cable, without the area.
    **more
        Other fields of the `Knob`.
    """
    return knob(
        key,
        label,
        "mm²",
        area_mm2,
        (1.0, max(95.0, 2.0 * area_mm2), 1.0),
        help="Usual are 6, 10, 16, 25, 35, 50, 70 and 95 mm². What it may carry, and whether its "
        "fuse protects it, is told among the dangers here and the warnings on What happens.",
        moves=(Move((*path, "area_mm2"), area_mm2, lowest=0.75, highest=300.0),),
        **more,
    )


def knob(
    key: str,
    label: str,
    unit: str,
    start: float,
    reach: tuple[float, float, float],
    /,
    *,
    help: str,
    moves: Iterable[Move],
    **more: object,
) -> Knob:
    """Return a slider whose grid passes through its start.

    Parameters
    ----------
    start : float
        In the unit of the slider.
    reach : (float, float, float)
        Low, high and step; the ends give way to the start and to the grid.
        In the unit of the slider.
    """
    low, high, step = (float(end) for end in reach)
    start = float(start)
    below = max(math.floor((start - low) / step + 1e-9), 0)
    above = max(math.floor((high - start) / step + 1e-9), 0)
    if below + above == 0:
        above = 1
    ends = (round(start - below * step, 9) + 0.0, round(start + above * step, 9))  # no -0.0
    return Knob(key, label, unit, start, *ends, step, help, tuple(moves), **more)  # type: ignore[arg-type]


def moved(
    knobs: Mapping[str, Knob], settings: Settings, always: Collection[str] = ()
) -> dict[Path, float]:
    """Return the numbers that moved sliders give, by key path. In the units of the keys.

    Parameters
    ----------
    knobs : mapping of str to Knob
    settings : mapping of str to float
        Values of sliders by their word; those that are not moved do nothing.
        In the units of the sliders.
    always : collection of str
        Sliders that count as moved also where they start.
    """
    numbers: dict[Path, float] = {}
    written: dict[Path, None] = {}
    turned = [(knobs[key], value) for key, value in settings.items() if key in knobs]
    for one, value in sorted(turned, key=lambda pair: (pair[0].rank, pair[0].key)):
        if not one.is_moved(value) and one.key not in always:
            continue
        for move in one.moves:
            numbers[move.path] = _number(move, one.start, value, numbers)
            if not move.silent:
                written[move.path] = None
    return {path: float(f"{numbers[path]:.{DIGITS}g}") for path in written}


def edits(
    knobs: Mapping[str, Knob], settings: Settings, written: Callable[[Path], object]
) -> dict[Path, object]:
    """Return what moved sliders write into the scenario, by key path.

    Parameters
    ----------
    knobs, settings
        As in `moved`.
    written : callable
        Tells what the file has at a key: a spread that is there goes along.
    """
    found: dict[Path, object] = {}
    limits: dict[Path, tuple[float, float]] = {}
    for key, value in settings.items():
        one = knobs.get(key)
        if one is not None and one.is_moved(value):
            found.update(copy.deepcopy(dict(one.first)))
            limits |= {move.path: (move.lowest, move.highest) for move in one.moves}
    for path, number in moved(knobs, settings).items():
        found[path] = with_spread(written(path), number, limits[path])
    return found


def with_spread(written: object, value: float, limits: tuple[float, float]) -> object:
    """Return a number with the spread that the file gives it, around the new value.

    Parameters
    ----------
    written : object
        What the file has: a number, nothing, or a table with a spread.
    value : float
        In the unit of the key.
    limits : (float, float)
        What the key allows; at either end there is no room for a range. In the unit of the key.
    """
    if not isinstance(written, dict):
        return value
    if "low" not in written:
        return {**written, "value": value}
    middle = written.get("value", (written["low"] + written["high"]) / 2.0)
    if not middle or not limits[0] < value < limits[1]:
        return value
    part = value / middle  # a range keeps its width relative to its value
    ends = (max(limits[0], written["low"] * part), min(limits[1], written["high"] * part))
    low, high = (float(f"{end:.{DIGITS}g}") for end in ends)
    return {**written, "value": value, "low": low, "high": high}


def _number(move: Move, start: float, value: float, numbers: Mapping[Path, float]) -> float:
    now = numbers.get(move.path, move.base)
    if move.form == SET:
        now = value / move.per_unit
    elif move.form in (SCALE, DIVIDE):
        part = value / start
        now = now * part if move.form == SCALE else now / part
    elif move.form == SHIFT:
        now += (value - start) / move.per_unit
    else:
        now = max(numbers.get(path, base) for path, base in move.others) - value / move.per_unit
    return min(max(now, move.lowest), move.highest)

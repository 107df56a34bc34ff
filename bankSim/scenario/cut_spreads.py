"""Spreads that must not break an order: cut where they would, or refused where that is too much.

Two values in order have a gap between them. Ranges take their part of it first; what is left is
shared by normal spreads in proportion to their sd, and each is cut there. Less than `LEAST_SD`
of each means that the cut would take more than 2.3 % of the cases of each: that is refused. So no
draw ever breaks an order, whichever way its bank is made.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from bankSim.model.spread import Shape, Spread
from bankSim.scenario.keys import ScenarioKeys
from bankSim.scenario.lines import Path
from bankSim.scenario.orders import Order, Range, orders_of, ranges_of
from bankSim.scenario.uncertain import narrower_words, rounded_down

LEAST_SD = 2.0
INSIDE = 1.0 - 1e-9  # of its part of the gap: "less than" stays so
Values = Mapping[Path, Spread]  # a plain number is a spread without width


@dataclass(frozen=True, slots=True)
class Misfit:
    """A spread that reaches where it must not.

    Parameters
    ----------
    paths : tuple of Path
        Of the key that is to be changed, and of the one that it does not fit to.
    text : str
        What follows the key in a message: its value, what is wrong, what is allowed.
    """

    paths: tuple[Path, ...]
    text: str


def cut_spreads(keys: ScenarioKeys, given: Values) -> tuple[dict[Path, Spread], list[Misfit]]:
    """Return the given spreads, cut to plausible ranges and orders, and those that do not fit.

    Parameters
    ----------
    keys : ScenarioKeys
    given : mapping of Path to Spread
        As the file has them.
    """
    values, misfits = dict(given), []
    for path, limits in ranges_of(keys):
        if path in given:
            fit = within(path, values[path], limits)
            if isinstance(fit, Misfit):
                misfits.append(fit)
            else:
                values[path] = fit
    for order in orders_of(keys):
        two = {path: values.get(path) or _plain(keys, path) for path in order.paths}
        pair = {path: spread for path, spread in two.items() if spread is not None}
        if len(pair) < len(two) or not any(path in given for path in pair):
            continue
        cut = in_order(order, pair)
        if isinstance(cut, Misfit):
            misfits.append(cut)
        else:
            values.update({path: spread for path, spread in cut.items() if path in given})
    return values, misfits


def _plain(keys: ScenarioKeys, path: Path) -> Spread | None:
    """Return a plain number of the keys as a spread without width."""
    here: Any = keys
    for part in path:
        here = here[part] if isinstance(part, int) else getattr(here, part, None)
        if here is None:
            return None
    return Spread(Shape.NORMAL, here)


def within(path: Path, spread: Spread, limits: Range) -> Spread | Misfit:
    """Return a spread cut to the plausible range of its key."""
    low, high = limits
    if spread.shape is not Shape.NORMAL:
        fits = low <= spread.low and spread.high <= high
        allowed = f"low and high from {low:g} to {high:g} in its table"
        return spread if fits else Misfit((path,), f" = {_told(spread)}; expected {allowed}")
    if not low <= spread.value <= high:
        allowed = f"{low:g} to {high:g} for value in its table"
        return Misfit((path,), f" = {_told(spread)}; expected {allowed}")
    narrower = narrower_words(spread.value, spread.sd, limits)
    if narrower:
        return Misfit((path,), f" = {_told(spread)}; expected {narrower}")
    return replace(spread, low=max(low, spread.low), high=min(high, spread.high))


def in_order(order: Order, values: Values) -> dict[Path, Spread] | Misfit:
    """Return the spreads of two values, cut so that they stay in order.

    Parameters
    ----------
    order : Order
    values : mapping of Path to Spread
        Both values; their central ones are in order.
    """
    two = [(path, sign, values[path]) for path, sign in zip(order.paths, order.signs, strict=True)]
    gap = order.most - sum(sign * spread.value for _, sign, spread in two)
    gap -= sum(_reach(spread, sign) for _, sign, spread in two)
    total = sum(spread.sd for _, _, spread in two)
    if gap < LEAST_SD * total * (1.0 - 1e-6):  # what is left of a cut is not refused again
        return _misfit(order, values, gap)
    return {path: _cut(spread, sign, gap, total) for path, sign, spread in two}


def _reach(spread: Spread, sign: int) -> float:
    """Return how far a range goes from its central value in one direction."""
    if spread.shape is Shape.NORMAL:
        return 0.0
    return spread.high - spread.value if sign > 0 else spread.value - spread.low


def _cut(spread: Spread, sign: int, gap: float, total_sd: float) -> Spread:
    if spread.sd == 0.0:
        return spread
    end = spread.value + sign * gap * spread.sd / total_sd * INSIDE
    if sign > 0:
        return replace(spread, high=min(spread.high, end))
    return replace(spread, low=max(spread.low, end))


def _misfit(order: Order, values: Values, gap: float) -> Misfit:
    """Say what would fit, at the key with the wider spread."""
    one, other = sorted(order.paths, key=lambda path: -_width(values[path]))
    if gap > 0.0:
        both = all(values[path].sd > 0.0 for path in order.paths)
        which = "two sd that together are" if both else "an sd of"
        allowed = f"{which} {rounded_down(gap / LEAST_SD)} or less, or values further apart"
    else:
        allowed = "spreads that do not meet"
    beside = order.trouble.format(f"{other[-1]} = {_told(values[other])}")
    own = _told(values[one])
    return Misfit((one, other), f" = {own} {beside} in some draws; expected {allowed}")


def _width(spread: Spread) -> float:
    if spread.shape is Shape.NORMAL:
        return spread.sd
    return spread.high - spread.low


def _told(spread: Spread) -> str:
    """Return a spread as the file has it."""
    value, low, high = (f"{one:g}" for one in (spread.value, spread.low, spread.high))
    if spread.shape is Shape.UNIFORM:
        return f"{{ low = {low}, high = {high} }}"
    if spread.shape is Shape.TRIANGULAR:
        return f"{{ value = {value}, low = {low}, high = {high} }}"
    return f"{{ value = {value}, sd = {spread.sd:g} }}" if spread.sd else value

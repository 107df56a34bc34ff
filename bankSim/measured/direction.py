"""Direction of current told beside the current: two columns, a column of words, or not at all."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from bankSim.measured.column import Choice, Column
from bankSim.measured.direction_words import IN, OUT, REST, direction_of, state_of
from bankSim.measured.header_words import CURRENT, split_unit
from bankSim.measured.log import AUTO, CHARGE_POSITIVE, DISCHARGE_POSITIVE, WARNING, Finding, Rows
from bankSim.measured.sign import Sign, present
from bankSim.model.curve import Floats
from bankSim.sim.numbers import listing, quoted

LITTLE = 0.02  # of the largest current: below it none flows
PAIR_BOTH = 0.02  # of the rows in which both columns may be above that
WORTH = 0.3  # of the rows with current that words must tell
STEADY = 0.15  # of the current: within it a stretch counts as one
MOVED = 0.0075  # of the voltage: what a stretch must rise or fall
PART = 0.1  # of all charge that must flow in rising and in falling stretches


@dataclass(frozen=True, slots=True)
class Pair:
    """Two columns of current, one for each direction, counted from 1."""

    discharge: int
    charge: int


def find_pair(columns: Sequence[Column], choice: Choice) -> Pair | None:
    """Return two columns of which only one at a time holds a current; None without them."""
    if choice.current in choice.asked:
        return None
    used = {choice.time, choice.date, choice.voltage, choice.temperature, *choice.cells}
    likely = [c for c in columns if c.number not in used and CURRENT in c.header.scores
              and (c.numeric or not c.filled)]  # fmt: skip
    out = [c for c in likely if _way(c) == OUT]
    into = [c for c in likely if _way(c) == IN]
    if len(out) != 1 or len(into) != 1:
        return None
    chosen = columns[choice.current - 1] if choice.current else None
    if chosen is not None and chosen not in (out[0], into[0]) and np.nanmin(chosen.values) < 0.0:
        return None
    pair = out[0].values, into[0].values
    return Pair(out[0].number, into[0].number) if _one_at_a_time(*pair) else None


def pair_findings(columns: Sequence[Column], pair: Pair) -> list[Finding]:
    """Tell of which columns the current was made, and warn where they are not the battery's."""
    both = [columns[number - 1] for number in (pair.discharge, pair.charge)]
    names = [quoted(one.name) for one in both]
    made = Finding(f"Two columns of current were put together: {names[0]} less {names[1]}.")
    devices = [name for name, one in zip(names, both, strict=True) if one.header.of_devices]
    if not devices:
        return [made]
    text = (
        f"{listing(devices)}: by the name not of the battery itself. Its own current is the "
        "difference only where nothing else is connected and both are measured on the battery's "
        "side, not at a panel or behind an inverter; --current chooses one column."
    )
    return [made, Finding(text, severity=WARNING, count=len(devices))]


def _way(column: Column) -> int:
    """Return the direction that a header names, also as "in" and "out" or "I+" and "I-"."""
    text, words = column.header.text, column.header.words
    name = split_unit(text)[0].strip()
    if direction_of(text) == OUT or "out" in words or name.endswith("-"):
        return OUT
    return IN if direction_of(text) == IN or "in" in words or name.endswith("+") else REST


def _one_at_a_time(first: Floats, second: Floats) -> bool:
    sizes = [np.abs(np.nan_to_num(one)) for one in (first, second)]
    least = LITTLE * max(float(one.max(initial=0.0)) for one in sizes)
    both = (sizes[0] > least) & (sizes[1] > least)
    one_way = all(min(np.sum(v > least), np.sum(v < -least)) <= PAIR_BOTH * v.size
                  for v in (first, second))  # fmt: skip
    return bool(least > 0.0 and both.mean() <= PAIR_BOTH and one_way)


def combined(discharge: Floats, charge: Floats) -> Floats:
    """Return one current of two columns, discharge positive; NaN where both are missing. [A]"""
    lost = np.isnan(discharge) & np.isnan(charge)
    both = np.abs(np.nan_to_num(discharge)) - np.abs(np.nan_to_num(charge)) + 0.0
    return np.where(lost, np.nan, both)


def find_words(columns: Sequence[Column], rows: Sequence[Sequence[str]], choice: Choice) -> int:
    """Return the column whose words tell charge from discharge, 0 without one.

    Only beside a current that is never negative in the rows looked at.
    """
    current = np.nan_to_num(columns[choice.current - 1].values)
    if not one_signed(current) or not current.any():
        return 0
    reach = float(np.max(np.abs(current)))
    flows = np.abs(current) > LITTLE * reach
    best, worth = 0, WORTH
    for column in columns:
        if column.numeric or column.clock or not column.filled:
            continue
        texts = [row[column.number - 1] if column.number <= len(row) else "" for row in rows]
        known = {text: state_of(text) for text in dict.fromkeys(texts)}
        if len(known) > 20:
            continue
        told = np.array([known[text] != REST for text in texts])
        share = float(told[flows].mean()) if flows.any() else 0.0
        if share > worth:
            best, worth = column.number, share
    return best


def signed(current: Floats, ways: Floats, name: str, rows: Rows, found: list[Finding]) -> Floats:
    """Give a current without sign that of the words beside it, discharge positive; tell it.

    Parameters
    ----------
    current : array (n,)
        Of one sign throughout. [A]
    ways : array (n,)
        1 for discharge, -1 for charge, 0 where the words do not tell. [1]
    """
    size = np.abs(current)
    open_ = (ways == REST) & (size > LITTLE * float(np.nanmax(size, initial=0.0)))
    counts = [f"{int(np.sum(ways == way)):,} rows" for way in (OUT, IN)]
    text = (f"The current has no sign; column {quoted(name)} tells its direction: "
            f"{counts[0]} discharge, {counts[1]} charge.")  # fmt: skip
    found.append(Finding(text))
    if open_.any():
        few = tuple(rows[np.flatnonzero(open_)[:8]].tolist())
        text = (f"{int(open_.sum()):,} rows ({', '.join(map(str, few))}...) hold a current, but "
                f"column {quoted(name)} names no direction; taken as discharge.")  # fmt: skip
        found.append(Finding(text, few, int(open_.sum()), WARNING))
    return np.asarray(np.where(ways == IN, -size, size))


def one_signed(current: Floats) -> bool:
    """Tell whether a current never changes its direction. [A]"""
    least = LITTLE * float(np.nanmax(np.abs(current), initial=0.0))
    return not (np.any(current < -least) and np.any(current > least))


@dataclass(frozen=True, slots=True)
class Unsigned:
    """A current that seems to be written without its sign.

    Parameters
    ----------
    falls_first : bool
        The voltage falls in the first stretch that tells.
    first, last : int
        Samples of the first stretch that goes the other way.
    """

    falls_first: bool
    first: int
    last: int


def find_unsigned(
    asked: str, time_s: Floats, voltage_V: Floats, current_A: Floats
) -> Unsigned | None:
    """Return where the voltage answers one sign of current with falling and with rising.

    A discharge makes it fall and a charge rise: both under one sign cannot be.
    """
    if asked != AUTO or time_s.size < 10 or not one_signed(current_A):
        return None
    size = np.abs(current_A)
    parts = []
    total = float(np.sum(np.diff(time_s) * (size[1:] + size[:-1]) / 2.0))
    for first, end in _stretches(size, present(voltage_V)):
        few = max((end - first) // 20, min((end - first) // 4, 3))  # one may lead the current
        late = first + (end - first) // 4  # what relaxes after a step has mostly done so
        begin, after = voltage_V[late : late + few], voltage_V[end - few : end]
        change = float(np.median(after) - np.median(begin))
        if abs(change) > MOVED * float(np.median(np.abs(voltage_V))):
            here = slice(first, end)
            charge = float(np.sum(np.diff(time_s[here]) * size[first : end - 1]))
            parts.append((change, charge, first, end - 1))
    flowed = [sum(c for v, c, *_ in parts if (v > 0.0) == rises) for rises in (False, True)]
    if total <= 0.0 or not min(flowed) >= PART * total:
        return None
    falls = parts[0][0] < 0.0
    other = next(one for one in parts if (one[0] < 0.0) != falls)
    return Unsigned(falls, other[2], other[3])


def _stretches(size: Floats, there: np.ndarray) -> list[tuple[int, int]]:
    """Return stretches of steady current, at least four samples long, as (first, end)."""
    reach = float(np.max(size, initial=0.0))
    busy = (size > 0.05 * reach) & there
    level = np.maximum(size, 0.05 * reach)
    leap = np.abs(np.diff(size)) > STEADY * np.minimum(level[1:], level[:-1])
    edges = np.flatnonzero(leap | (busy[1:] != busy[:-1])) + 1
    bounds = np.concatenate([[0], edges, [size.size]])
    return [(a, b) for a, b in pairwise(bounds.tolist())
            if b - a >= 4 and busy[a]]  # fmt: skip


def unsigned_finding(unsigned: Unsigned, rows: Rows) -> Finding:
    """Warn that charge and discharge cannot be told apart."""
    few = (int(rows[unsigned.first]), int(rows[unsigned.last]))
    first, then = ("falls", "rises") if unsigned.falls_first else ("rises", "falls")
    text = (
        f"The current has one sign throughout, but while it flows the voltage first {first} and "
        f"then {then} (rows {few[0]} to {few[1]}): this looks like a discharge and a charge "
        "written without sign. They cannot be told apart here, and all was counted in one "
        "direction: Ah and Wh are wrong. Log the sign or a column with the direction, or cut the "
        "file between the two."
    )
    return Finding(text, few, severity=WARNING, spoils=True)


def unsigned_sign(unsigned: Unsigned, current_A: Floats) -> Sign:
    """Return the direction that fits the first stretch that tells."""
    positive = float(np.sum(current_A)) > 0.0
    sign = DISCHARGE_POSITIVE if positive == unsigned.falls_first else CHARGE_POSITIVE
    way = "falls" if unsigned.falls_first else "rises"
    return Sign(sign, f"the voltage {way} in the first stretch with current; later it does not fit")

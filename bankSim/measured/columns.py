"""Which column is what: from what was asked, from headers, from units and from the values."""

from collections.abc import Sequence
from itertools import accumulate

import numpy as np

from bankSim.measured.clock import is_clock
from bankSim.measured.column import Choice, Column, rises, volts_in
from bankSim.measured.header_words import (
    CELL,
    CURRENT,
    OTHER,
    TEMPERATURE,
    TIME,
    UNIT_MEANS,
    VOLTAGE,
    read_header,
)
from bankSim.measured.layout import Layout
from bankSim.measured.log import WARNING, Asked, Finding, LogError
from bankSim.measured.numerals import decimals_of, glued_unit, is_missing, read_number
from bankSim.measured.plausible import SUM_FITS
from bankSim.sim.numbers import clean, listing, quoted

CELL_RANGE_V = (0.3, 5.2)
STILL = -20.0  # what a time that stands still is worth, however it is headed
EVEN, MOSTLY = 0.01, 0.95  # of a step, and of all steps: so a clock goes on
FAR = 0.7  # of the middle: a current of a steady power varies less
MAY_BE, NOT_FOUND = "The current may be", "The current of the battery itself was not found"
MOST_LETTERS = 800  # of all columns named in one message


def columns_of(layout: Layout, rows: Sequence[Sequence[str]]) -> list[Column]:
    """Look at every column of a sample of rows."""
    found = []
    for place in range(layout.width):
        texts = [row[place] for row in rows if place < len(row)]
        filled = [text for text in texts if not is_missing(text)]
        clock = sum(map(is_clock, filled[:60])) * 2 > len(filled[:60])
        unit = layout.units[place] if layout.units else ""
        if not unit and filled and not clock:
            unit = glued_unit(filled[0])
        header = read_header(layout.headers[place], unit)
        values = [
            read_number(row[place], layout.marks, header.unit) if place < len(row) else np.nan
            for row in rows
        ]
        decimals = decimals_of(filled, layout.marks)
        found.append(
            Column(place + 1, header, np.array(values, float), clock, len(filled), decimals)
        )
    return found


def choose(name: str, columns: Sequence[Column], asked: Asked, *, named: bool) -> Choice:
    """Say which column is what.

    Raises
    ------
    LogError
        When a column is missing or was asked for and is not there.
    """
    choice = Choice()
    _take_asked(name, columns, asked, choice)
    if named or choice.asked:
        _by_headers(columns, choice)
    _by_values(columns, choice, named=named)
    _complain(name, columns, choice)
    _tell_of_others(columns, choice)
    return choice


def _tell_of_others(columns: Sequence[Column], choice: Choice) -> None:
    """Tell where only currents of loads and chargers are there, of which one was taken."""
    taken = columns[choice.current - 1]
    if choice.current in choice.asked or not taken.header.of_others:
        return
    beside = [
        quoted(c.name)
        for c in columns
        if c.number != choice.current and CURRENT in c.header.scores and c.numeric
        and c.header.of_others and np.nanmax(np.abs(c.values)) > 0.0
    ]  # fmt: skip
    if beside and not any(one.text.startswith(MAY_BE) for one in choice.findings):
        text = (
            f"{NOT_FOUND}: {quoted(taken.name)} was taken, and {listing(beside, 6)} not counted; "
            "--current chooses another."
        )
        choice.findings.append(Finding(text, severity=WARNING, count=len(beside)))


def _take_asked(name: str, columns: Sequence[Column], asked: Asked, choice: Choice) -> None:
    for meaning in ("time", "voltage", "current", "temperature"):
        word = getattr(asked, meaning)
        if word is not None:
            number = _find(name, columns, word, meaning)
            _refuse_other_unit(name, columns[number - 1], meaning)
            setattr(choice, meaning, number)
    choice.cells = tuple(_find(name, columns, word, "cells") for word in asked.cells)
    if len(set(choice.cells)) < len(choice.cells):
        raise LogError(f"{name}: --cells names a column twice; expected different ones")
    taken = [choice.time, choice.voltage, choice.current, choice.temperature]
    twice = [one for one in {*taken} - {0} if taken.count(one) > 1]
    if twice:
        column = columns[twice[0] - 1].header.text or str(twice[0])
        raise LogError(
            f"{name}: column {quoted(column)} is asked for twice; expected one of its own for each "
            "of --time, --voltage, --current, --temperature"
        )
    choice.asked = {*taken, *choice.cells} - {0}


def _find(name: str, columns: Sequence[Column], word: str, option: str) -> int:
    """Find a column by header, by the start of one, or by number."""
    plain = word.strip().lower()
    heads = [column.header.text.strip().lower() for column in columns]
    same = [place for place, head in enumerate(heads) if head == plain]
    if len(same) == 1:
        return columns[same[0]].number
    if plain.isdecimal() and not same and 1 <= int(plain[:9]) <= len(columns):
        return int(plain)
    starts = [place for place, head in enumerate(heads) if plain and head.startswith(plain)]
    if len(starts) == 1:
        return columns[starts[0]].number
    what = "several columns fit" if same or starts else "no such column"
    raise LogError(f"{name}: --{option} = {word!r}: {what}; expected one of: {_names(columns)}")


def _refuse_other_unit(name: str, column: Column, meaning: str) -> None:
    """Refuse watts, ampere-hours and the like by name: no current is made of them."""
    unit = column.header.unit
    if UNIT_MEANS.get(unit) == OTHER:
        wanted = {"time": "s, min or h", "voltage": "V or mV", "current": "A or mA"}
        raise LogError(
            f"{name}: --{meaning} = {quoted(column.name)} is in {unit}; expected a column in "
            f"{wanted.get(meaning, 'degC, degF or K')}"
        )


def _names(columns: Sequence[Column]) -> str:
    """List columns by number and heading, as many as fit into one message."""
    told = [f"{c.number} {clean(c.header.text.strip(), 40)}".strip() for c in columns]
    ends = accumulate(len(one) + 2 for one in told)
    fit = max(1, sum(end <= MOST_LETTERS for end in ends))
    more = [f"{len(told) - fit} more"] if len(told) > fit else []
    return ", ".join([*told[:fit], *more])


def _by_headers(columns: Sequence[Column], choice: Choice) -> None:
    taken = set(choice.asked)
    _choose_time(columns, choice, taken)
    taken |= {choice.time, choice.date}
    if not choice.cells:
        choice.cells = _cells(columns, taken)
    taken |= set(choice.cells)
    for meaning in (VOLTAGE, CURRENT, TEMPERATURE):
        if not getattr(choice, meaning):
            number = _best(columns, meaning, taken, choice)
            setattr(choice, meaning, number)
            taken.add(number)


def _choose_time(columns: Sequence[Column], choice: Choice, taken: set[int]) -> None:
    free = [c for c in columns if c.number not in taken and (c.clock or c.numeric)]
    if not choice.time:
        ranked = sorted(free, key=lambda c: -_time_worth(c))
        if ranked and _time_worth(ranked[0]) > 0.0:
            choice.time = ranked[0].number
    chosen = next((c for c in columns if c.number == choice.time), None)
    if chosen is None or not chosen.clock:
        return
    for other in free:
        words = other.header.words
        dates = {"date", "datum", "fecha", "data", "day", "tag"}
        if other.clock and other.number != choice.time and dates & set(words):
            choice.date = other.number
            break


def _time_worth(column: Column) -> float:
    worth = column.score(TIME) + (7.0 if column.clock else 0.0)
    words = set(column.header.words)
    if column.clock and {"date", "datum", "fecha"} & words and "time" not in words:
        worth -= 2.0
    if {"test", "elapsed", "total"} & words:
        worth += 4.0
    if column.score(TIME) <= 0.0:
        return worth
    steps = np.diff(column.values[np.isfinite(column.values)])
    if steps.size and not column.clock:
        worth += 2.0 * float(np.mean(steps >= 0.0)) if np.any(steps) else STILL
    return worth


def _cells(columns: Sequence[Column], taken: set[int]) -> tuple[int, ...]:
    """Return numbered columns that hold single cells, in the order of their numbers."""
    families: dict[tuple[str, ...], list[Column]] = {}
    for column in columns:
        if column.header.index >= 0 and column.numeric and column.number not in taken:
            families.setdefault(column.header.family, []).append(column)
    best: list[Column] = []
    for family in families.values():
        head = family[0].header
        words = set(head.words)
        sure = CELL in head.scores
        likely = VOLTAGE in head.scores or words & {"c", "z", "s", "b", "cell", "u", "v"}
        if any(TEMPERATURE in c.header.scores or CURRENT in c.header.scores for c in family):
            continue
        if (sure or (likely and len(family) > 1)) and all(map(_in_cell_range, family)):
            best = family if len(family) > len(best) else best
    return tuple(column.number for column in sorted(best, key=lambda c: c.header.index))


def _in_cell_range(column: Column) -> bool:
    middle = column.middle * volts_in(column)
    return CELL_RANGE_V[0] <= middle <= CELL_RANGE_V[1]


def _best(columns: Sequence[Column], meaning: str, taken: set[int], choice: Choice) -> int:
    """Return the most likely column, tell a tie, 0 for none."""
    sums = _sum_of(columns, choice.cells)
    ranked = sorted(
        (
            (
                column.score(meaning)
                + _fits_sum(column, sums, meaning)
                - 2.0 * (column.header.index >= 0),
                -column.number,
            )
            for column in columns
            if column.number not in taken
            and column.numeric
            and (column.score(meaning) > 0.0 or _unnamed_sum(column, sums, meaning))
        ),
        reverse=True,
    )
    if not ranked:
        return 0
    ties = [-number for score, number in ranked if score > ranked[0][0] - 1.0]
    if len(ties) > 1 and meaning != TEMPERATURE:
        names = [quoted(columns[number - 1].name) for number in ties]
        choice.findings.append(
            Finding(
                f"The {meaning} may be {listing(names, 6)}; {names[0]} was taken: "
                f"--{meaning} chooses another.",
                severity=WARNING,
                count=len(ties),
            )
        )
    return ties[0]


def _sum_of(columns: Sequence[Column], cells: Sequence[int]) -> float:
    middles = [columns[n - 1].middle * volts_in(columns[n - 1]) for n in cells]
    return float(np.sum(middles)) if middles else float("nan")


def _fits_sum(column: Column, total: float, meaning: str) -> float:
    if meaning != VOLTAGE or not np.isfinite(total):
        return 0.0
    return 6.0 if abs(column.middle * volts_in(column) - total) < SUM_FITS * total else -4.0


def _unnamed_sum(column: Column, total: float, meaning: str) -> bool:
    """Tell whether a column that says nothing is the sum of the cells."""
    plain = not column.header.scores and not column.header.other
    return plain and _fits_sum(column, total, meaning) > 0.0


def _by_values(columns: Sequence[Column], choice: Choice, *, named: bool) -> None:
    """Guess what headers leave open from the numbers themselves, and tell it."""
    free = [
        c for c in columns
        if c.number not in {choice.time, choice.date, choice.voltage, choice.current,
                            choice.temperature, *choice.cells}
        and c.filled and (not named or not c.header.text.strip() or not c.header.scores)
        and (not named or not c.header.text.strip())
    ]  # fmt: skip
    guessed: list[str] = []
    if not choice.time:
        unknown = [c for c in columns if not c.header.scores and not c.header.other and c.filled]
        likely = free or [c for c in unknown if c.number not in (choice.voltage, choice.current)]
        choice.time = _time_among(likely)
        guessed += _told(columns, choice.time, "time")
        free = [c for c in free if c.number != choice.time]
        if choice.time and columns[choice.time - 1].clock and free and free[0].clock:
            choice.date, choice.time = choice.time, free[0].number
    free = [c for c in free if c.numeric]
    cells = [c for c in free if _in_cell_range(c) and _relative(c) < 0.3]
    total = sum(c.middle * volts_in(c) for c in cells)
    if not choice.cells and len(cells) > 1 and any(_fits_sum(c, total, VOLTAGE) > 0 for c in free):
        choice.cells = tuple(c.number for c in cells)
        guessed.append(f"columns {cells[0].number} to {cells[-1].number} as cells")
        free = [c for c in free if c.number not in choice.cells]
    if not choice.voltage and free:
        likely = [
            c for c in free if 0.3 < c.middle * volts_in(c) < 1000.0 and np.nanmin(c.values) > 0
        ]
        voltage = min(likely, key=lambda c: (_relative(c) == 0.0, _relative(c)), default=None)
        choice.voltage = voltage.number if voltage else 0
        guessed += _told(columns, choice.voltage, "voltage")
        free = [c for c in free if c.number != choice.voltage]
    if not choice.current and free and choice.voltage:
        choice.current = max(free, key=lambda c: (not _counts(c), _relative(c))).number
        guessed += _told(columns, choice.current, "current")
    if guessed:
        text = (
            f"Guessed from the numbers alone: {listing(guessed)}; --time, "
            "--voltage, --current and --cells set it right."
        )
        choice.findings.append(Finding(text, severity=WARNING))


def _time_among(columns: Sequence[Column]) -> int:
    """Return the first clock, or the first column that rises, 0 for none.

    One that counts rows is passed by where the next one rises evenly, too.
    """
    clocks = [c.number for c in columns if c.clock]
    rising = [c for c in columns if rises(c)]
    if clocks or not rising:
        return clocks[0] if clocks else 0
    first, *others = rising
    steps = np.diff(first.values)
    if others and others[0].number == first.number + 1 and np.all(steps == 1.0):
        apart = np.diff(others[0].values)
        if np.mean(np.abs(apart - np.median(apart)) <= EVEN * np.median(apart)) > MOSTLY:
            return others[0].number
    return first.number


def _counts(column: Column) -> bool:
    """Tell whether numbers go one way in most rows and far, as Ah or a state of charge do."""
    steps = np.diff(column.values[np.isfinite(column.values)])
    if not steps.size or _relative(column) < FAR:
        return False
    one_way = max(np.mean(steps >= 0.0), np.mean(steps <= 0.0)) > MOSTLY
    return bool(one_way and np.mean(steps != 0.0) > 0.5)


def _told(columns: Sequence[Column], number: int, meaning: str) -> list[str]:
    return [f"column {columns[number - 1].name} was taken as {meaning}"] if number else []


def _relative(column: Column) -> float:
    middle = abs(column.middle) or 1e-9
    low, high = np.nanpercentile(column.values, (2, 98))
    return float(high - low) / middle


def _complain(name: str, columns: Sequence[Column], choice: Choice) -> None:
    for meaning in ("time", "current", "voltage"):
        if getattr(choice, meaning) or (meaning == "voltage" and choice.cells):
            continue
        why = _useless(columns, meaning)
        raise LogError(
            f"{name}: no column of {meaning} found among: {_names(columns)}{why}; say which with "
            f"--{meaning} COLUMN"
        )


def _useless(columns: Sequence[Column], meaning: str) -> str:
    """Say why a column that is headed right does not serve."""
    for column in columns:
        if column.header.scores.get(meaning, 0.0) > 3.0:
            if not column.filled:
                return f" ({quoted(column.name)} is empty)"
            if not column.numeric and not column.clock:
                return f" ({quoted(column.name)} holds too few numbers)"
            if meaning == TIME and column.good and not np.any(np.diff(column.values)):
                return f" ({quoted(column.name)} stands still)"
    return ""

"""Columns of a log between the page, which counts them, and the core, which wants their headers."""

from collections.abc import Sequence

from bankSim.sim.numbers import clean


def word_of(number: int, headers: Sequence[str]) -> str | None:
    """Return what names a column: its header where no other has it, else its number; None for 0."""
    if number == 0:
        return None
    header = headers[number - 1].strip()
    same = [one for one in headers if one.strip().lower() == header.lower()]
    return header if header and len(same) == 1 else str(number)


def number_of(word: str | None, headers: Sequence[str]) -> int:
    """Return the number of the column that a word of `word_of` names; 0 for None."""
    numbers = range(1, len(headers) + 1)
    return next((n for n in numbers if word is not None and word_of(n, headers) == word), 0)


def label_of_column(number: int, headers: Sequence[str], found: int = 0) -> str:
    """Return how a column is named in a list.

    Parameters
    ----------
    number : int
        0: whatever is found out.
    headers : sequence of str
    found : int
        The column that was found out; 0 where none was.
    """
    if number == 0:
        return "find out" + (f" ({label_of_column(found, headers)})" if found else "")
    return f"{number}: {clean(headers[number - 1].strip(), 60) or 'no header'}"

"""The story as data: titled sections of sentences and tables, free of any screen."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Grid:
    """A table of ready-made texts.

    Parameters
    ----------
    columns : tuple of str
        Headings with their unit.
    rows : tuple of tuple of str
        As many texts a row as columns.
    words : int
        So many columns from the left hold words (left-aligned), the others numbers.
    """

    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    words: int = 1


@dataclass(frozen=True, slots=True)
class Section:
    """A title, then a table if there is one, then lines."""

    title: str
    lines: tuple[str, ...] = ()
    grid: Grid | None = None


@dataclass(frozen=True, slots=True)
class Story:
    """What a run has to tell, in the order in which it is told."""

    title: str
    headline: tuple[str, ...]
    sections: tuple[Section, ...]

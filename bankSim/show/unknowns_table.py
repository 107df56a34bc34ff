"""What draws differ in: every unknown with its spread and where that comes from."""

from collections.abc import Sequence

from bankSim.show.blocks import Grid, Section
from bankSim.show.key_words import key_words
from bankSim.show.words import counted
from bankSim.sim.numbers import clean, listing, quoted
from bankSim.study.unknown import Basis, Unknown, spread_words

TITLE = "What was drawn"
NAMES_TOLD = 3
TAKEN_AS_EXACT = (
    "Other numbers of the file count as known exactly: no question can find one of them worth "
    "measuring. Give those a spread that you doubt."
)


def drawn_section(
    unknowns: Sequence[Unknown], *, briefly: bool = False, in_words: bool = False
) -> Section:
    """One row for each kind of unknown with the same spread, whichever battery it belongs to.

    Parameters
    ----------
    unknowns : sequence of Unknown
    briefly : bool
        Only count them.
    in_words : bool
        Say what the keys of the file mean, for readers who have no file before them.
    """
    if not unknowns:
        line = (
            "Nothing: the file gives every value exactly. Give a key a spread to see what it does: "
            "{ value = 84.0, sd = 2.0 }."
        )
        return Section(TITLE, (line,))
    lines = (_how_many(unknowns), *_what_they_rest_on(unknowns), TAKEN_AS_EXACT)
    if briefly:
        return Section(TITLE, (*lines, "Every one with its source: story.txt."))
    rows: dict[tuple[str, str, str], list[Unknown]] = {}
    for unknown in unknowns:
        wide = spread_words(unknown.spread, unknown.unit, factor=unknown.is_factor)
        what = _what(unknown, in_words=in_words)
        rows.setdefault((what, wide, unknown.source), []).append(unknown)
    told = tuple(
        (f"{clean(what)}{_whose(members)}", wide, clean(source))
        for (what, wide, source), members in rows.items()
    )
    hint = (
        "A value that you know goes into the file as a plain number; one that you know roughly as "
        "{ value = ..., sd = ... } or { low = ..., high = ... }."
    )
    return Section(TITLE, (*lines, hint), Grid(("Value", "Spread", "Source"), told, words=3))


def _how_many(unknowns: Sequence[Unknown]) -> str:
    given = sum(unknown.given for unknown in unknowns)
    return (
        f"{counted(len(unknowns), 'value')}: {given} with a spread from the file, "
        f"{len(unknowns) - given} with a typical one."
    )


def _what_they_rest_on(unknowns: Sequence[Unknown]) -> tuple[str, ...]:
    """Say whose doing the chances are: the file's, or typical values', and how good those are."""
    bases = [unknown.basis for unknown in unknowns if not unknown.given]
    if not bases:
        return ("Every spread is from the file: the chances follow from what is written there.",)
    told = [f"{one.value} ({bases.count(one)})" for one in _WEAKEST_FIRST if one in bases]
    return (
        f"Behind the typical ones stand {listing(told)}: the chances are as much their doing as "
        "the file's. Which of them count: the question matters.",
    )


_WEAKEST_FIRST = (Basis.CHOICE, Basis.MEMORY, Basis.PUBLISHED)


def _what(unknown: Unknown, *, in_words: bool) -> str:
    """Return what is not known, without the name of its battery."""
    if unknown.given and in_words:
        return _key_in_words(unknown)
    if unknown.given:
        return unknown.key
    words = unknown.label.rpartition(" of ")[0] if unknown.subject else unknown.label
    return unknown.kind.value if " of cell " in words else words


def _key_in_words(unknown: Unknown) -> str:
    if not unknown.subject:
        return key_words(unknown.key)
    return f"{key_words(unknown.key.partition('.')[2])} of {quoted(unknown.subject)}"


def _whose(members: Sequence[Unknown]) -> str:
    names = list(dict.fromkeys(one.subject for one in members if one.subject and not one.given))
    return f" ({listing([quoted(name) for name in names], NAMES_TOLD)})" if names else ""

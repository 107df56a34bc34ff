"""Scenarios that are ready to start from: shipped with the program, each with what it shows.

`ready_files` holds the same files as the project's folder `scenarios`; a test compares them.
"""

from functools import cache
from importlib.resources import files

from bankSim.scenario.draft import Draft, draft_of
from bankSim.scenario.draft_shape import table_text
from bankSim.scenario.draft_tables import named_tables

# word: what it shows, in the order in which they are offered
SHOWS = {
    "coffee-cart": "A new pack beside a five-year-old one: the new one carries more, "
    "the old one cuts out first.",
    "weak-cell": "Two equal packs, one with a weak cell: charge is stranded, and the voltage "
    "on the bars hardly tells.",
    "boat": "Three unequal packs with a fridge, lamps and a kettle: leads and capacities take "
    "turns in deciding who carries what.",
    "lfp-beside-agm": "A lithium battery in parallel with an old AGM: a rush of current at first, "
    "then one does all the work.",
    "holds-back": "One pack sits out for most of a day after a full charge, then comes back "
    "with a surge.",
    "cascade": "Too much for one pack, then for the next: a bank goes dark under an inverter.",
    "three-days-of-sun": "A camper with sun: loads that cut themselves off, a dark night, "
    "and balancers.",
    "winter-hut": "Frost: packs too cold to charge, and one heated pack that takes it all.",
    "hut-same-end": "Four equal packs in a row, taken off at one end: the near one carries most.",
    "hut-opposite-ends": "The same four packs, one cable moved to the other end.",
    "two-strings": "24 V of 12 V blocks in series: the older block decides for its string.",
    "half-known": "One pack tested, one bought without papers: values given with a spread.",
    "bench-bank": "Two packs of which only the labels are known, to compare with a test.",
    "bench-cells": "Two bare cells given by tables alone, with a load from a file.",
}
_begun_with: list[Draft] = []


def first_draft() -> Draft:
    """Return what a new visitor finds: what `begin_with` was told, or else two unequal packs."""
    return _begun_with[-1] if _begun_with else ready_draft("coffee-cart")


def begin_with(draft: Draft) -> None:
    """Let every new visitor of this server find a draft of one's own."""
    _begun_with[:] = [draft]


@cache
def ready_draft(word: str) -> Draft:
    """Return a ready scenario with its tables.

    Parameters
    ----------
    word : str
        One of `SHOWS`.
    """
    folder = files("bankSim.screens") / "ready_files"
    draft = draft_of((folder / f"{word}.toml").read_bytes(), f"{word}.toml")
    for _, name in named_tables(draft.data):
        draft = draft.with_table(name, (folder / name).read_bytes())
    return draft


def draft_with(battery: dict[str, object]) -> Draft:
    """Return a bank of one battery and nothing else."""
    return Draft(table_text((), {"title": "My bank", "battery": [battery]}), name="bank.toml")

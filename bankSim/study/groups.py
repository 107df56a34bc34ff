"""Unknowns that people would measure together, varied together."""

from collections.abc import Sequence
from dataclasses import dataclass

from bankSim.study.unknown import Kind, Unknown


@dataclass(frozen=True, slots=True)
class Group:
    """Some unknowns of one kind and subject.

    Parameters
    ----------
    name : str
        Says what it is: 'capacities of the cells of "old"'.
    kind : Kind
    subject : str
        Name of the battery, load or charger; empty for the bank.
    labels, keys : tuple of str
        Of the unknowns; keys of the file, each once.
    columns : tuple of int
        Their places among all unknowns.
    """

    name: str
    kind: Kind
    subject: str
    labels: tuple[str, ...]
    keys: tuple[str, ...]
    columns: tuple[int, ...]


def groups_of(unknowns: Sequence[Unknown]) -> tuple[Group, ...]:
    """Return the groups of all unknowns, in the order in which they first appear."""
    columns: dict[str, list[int]] = {}
    for number, unknown in enumerate(unknowns):
        columns.setdefault(unknown.group, []).append(number)
    return tuple(_group(name, places, unknowns) for name, places in columns.items())


def _group(name: str, places: Sequence[int], unknowns: Sequence[Unknown]) -> Group:
    members = [unknowns[place] for place in places]
    first = members[0]
    labels = tuple(one.label for one in members)
    keys = tuple(dict.fromkeys(one.key for one in members))
    return Group(name, first.kind, first.subject, labels, keys, tuple(places))

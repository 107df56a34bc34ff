"""Batteries, loads and chargers as things in a list: add, copy, remove, move, put back."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import streamlit as st

from bankSim.scenario.lines import Path
from bankSim.screens.bank.board import BIN, MOST_IN_BIN, Board, change
from bankSim.screens.bank.choices import free_name
from bankSim.screens.bank.folds import fold
from bankSim.screens.bank.labels import LABELS
from bankSim.screens.desk import desk
from bankSim.screens.plain import plain
from bankSim.show.words import counted


@dataclass(frozen=True)
class Removed:
    """Something taken out, with its comments.

    Parameters
    ----------
    array : str
    place : int
    text : str or None
    item : dict
    """

    array: str
    place: int
    text: str | None
    item: dict[str, Any]

    @property
    def words(self) -> str:
        """What it is called."""
        return f"{LABELS[self.array].lower()} {title_of(self.array, self.place, self.item)}"


def items_of(board: Board, array: str) -> list[tuple[int, dict[str, Any]]]:
    """Return the items of an array of tables that are tables, with their places."""
    found = board.draft.at((array,))
    if not isinstance(found, list):
        return []
    return [(place, one) for place, one in enumerate(found) if isinstance(one, dict)]


def title_of(kind: str, place: int, item: Mapping[str, object]) -> str:
    """Return the name of an item, or its kind and number."""
    name = item.get("name")
    return name if isinstance(name, str) and name else f"{kind} {place + 1}"


def names_in(array: str) -> list[object]:
    """Return all names in use in an array."""
    found = desk().draft.at((array,))
    items = [one for one in found if isinstance(one, dict)] if isinstance(found, list) else []
    return [title_of(array, place, one) for place, one in enumerate(items)]


def open_key(array: str, place: int) -> str:
    """Return the key that holds whether an item stands open."""
    return f"bank open {array} {place}"


def opened(
    board: Board,
    array: str,
    place: int,
    item: Mapping[str, object],
    words: str,
    *,
    at_first: bool = False,
) -> Any:
    """Return the box of an item that stands open; below a closed one say its words, return None.

    Parameters
    ----------
    board : Board
    array : str
    place : int
    item : mapping
    words : str
        What it is, in brief.
    at_first : bool
        It stands open until somebody closes it.
    """
    title = plain(title_of(array, place, item), 60)
    box = fold(open_key(array, place), f"{place + 1} · **{title}**", at_first=at_first)
    if box.open:
        return box
    _in_brief(board, array, place, words)
    return None


def _in_brief(board: Board, array: str, place: int, words: str) -> None:
    """Say below a closed item what it is, and that something in it is to be mended."""
    wrong = len(board.found.below((array, place)))
    told = f":material/error: **{counted(wrong, 'thing', 'things')} to mend** · " if wrong else ""
    st.caption(f"{told}{plain(words, 100)}")


def buttons(array: str, place: int, count: int) -> None:
    """Show what can be done with a whole item."""
    with st.container(horizontal=True, key=f"bank row {array} {place}"):
        for word, icon, work, useful in (
            ("Copy", ":material/content_copy:", _copy, True),
            ("Move up", ":material/arrow_upward:", _up, place > 0),
            ("Move down", ":material/arrow_downward:", _down, place + 1 < count),
            ("Remove", ":material/delete:", remove, True),
        ):
            st.button(
                word,
                icon=icon,
                key=f"bank {word} {array} {place}",
                on_click=work,
                args=(array, place),
                disabled=not useful,
            )


def add(array: str, item: Mapping[str, object]) -> None:
    """Add an item at the end, under a name that is free, and open it."""
    place = desk().draft.count((array,))
    named = {**item, "name": free_name(str(item["name"]), names_in(array))}
    change(lambda draft: draft.with_item((array,), place, named))
    st.session_state[open_key(array, place)] = True


def remove(array: str, place: int) -> None:
    """Take an item out; it can be put back."""
    draft = desk().draft
    if draft.count((array,)) <= place:
        return
    item = draft.at((array, place))
    gone = Removed(array, place, draft.item_text((array,), place), dict(item))
    change(lambda draft: draft.without_item((array,), place))
    if desk().draft != draft:
        st.session_state[BIN] = [*in_bin(), gone][-MOST_IN_BIN:]


def in_bin() -> list[Removed]:
    """Return what was taken out, the last one last."""
    found: list[Removed] = st.session_state.get(BIN, [])
    return found


def put_back(number: int) -> None:
    """Put something back that was taken out."""
    gone = in_bin()[number]
    place = min(gone.place, desk().draft.count((gone.array,)))
    name = gone.item.get("name")
    free = free_name(name, names_in(gone.array)) if isinstance(name, str) and name else None
    path: Path = (gone.array,)
    change(lambda draft: draft.with_item_text(path, place, gone.text, gone.item))
    if free is not None and free != name:
        change(lambda draft: draft.with_values({(*path, place, "name"): free}))
    st.session_state[BIN] = [one for other, one in enumerate(in_bin()) if other != number]


def undo() -> None:
    """Go back one change; what is on the page again needs no putting back."""
    own = desk()
    own.undo()
    st.session_state[BIN] = [
        one for one in in_bin() if one.item not in (own.draft.at((one.array,)) or [])
    ]


def show_bin() -> None:
    """Offer what was taken out."""
    gone = in_bin()
    if not gone:
        return
    with st.container(horizontal=True, key="bank row bin"):
        for number, one in reversed(list(enumerate(gone))):
            st.button(
                f"Put back {plain(one.words, 40)}",
                icon=":material/restore_from_trash:",
                key=f"bank put back {number}",
                on_click=put_back,
                args=(number,),
            )


def _copy(array: str, place: int) -> None:
    item = desk().draft.at((array, place))
    name = free_name(title_of(array, place, item), names_in(array))
    change(lambda draft: draft.with_item_copied((array,), place, name))
    st.session_state[open_key(array, place + 1)] = True


def _up(array: str, place: int) -> None:
    _move(array, place, place - 1)


def _down(array: str, place: int) -> None:
    _move(array, place, place + 1)


def _move(array: str, place: int, to: int) -> None:
    change(lambda draft: draft.with_item_moved((array,), place, to))
    here, there = open_key(array, place), open_key(array, to)
    state = st.session_state
    state[here], state[there] = state.get(there, False), state.get(here, False)

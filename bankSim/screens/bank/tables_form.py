"""A field that names a table, and takes one in."""

import dataclasses

import streamlit as st

from bankSim.errors import ScenarioError
from bankSim.scenario.draft import Draft
from bankSim.scenario.draft_tables import LARGEST_TABLE_BYTES, check_table, named_tables
from bankSim.scenario.lines import Path
from bankSim.screens.bank.board import Board, change, put, tell_later
from bankSim.screens.bank.labels import label_of
from bankSim.screens.plain import plain

_TURN = "bank turn of tables"


def table_field(board: Board, path: Path, columns: str) -> None:
    """Show which table a key names, with a way to hand in another one.

    Parameters
    ----------
    board : Board
    path : tuple
    columns : str
        What its first line says.
    """
    name = board.draft.at(path)
    if isinstance(name, str):
        sizes = {one: len(content) for one, content in board.draft.tables}
        size = f"{sizes[name]:,} bytes" if name in sizes else "not handed in yet"
        with st.container(horizontal=True, vertical_alignment="center"):
            st.markdown(f"{label_of(path)}: {plain(name, 80)} ({size})")
            st.button(
                "Do without",
                key=board.key(path, "without"),
                on_click=put,
                args=({path: None},),
                kwargs={"anew": True},
            )
    board.tell(path)
    turn = st.session_state.setdefault(_TURN, 0)
    key = board.key(path, f"table {turn}")
    st.file_uploader(
        f"{label_of(path)}: hand in a CSV with the columns {plain(columns)}",
        type=["csv", "txt"],
        key=key,
        max_upload_size=LARGEST_TABLE_BYTES // 1_000_000,
        on_change=_take_table,
        args=(key, path),
    )


def _take_table(key: str, path: Path) -> None:
    handed = st.session_state[key]
    if handed is None:
        return
    name, content = handed.name, handed.getvalue()
    st.session_state[_TURN] += 1
    try:
        check_table(name, content)
    except ScenarioError as error:
        tell_later(error.faults)
        return
    if b"\0" in content[:100_000]:
        tell_later([f"{name}: not a text file; expected a table (.csv)."])
        return
    change(lambda draft: with_own_table(draft, path, name, content))


def with_own_table(draft: Draft, path: Path, name: str, content: bytes) -> Draft:
    """Return the draft with a table at a path; tables that other places name stay as they are.

    Parameters
    ----------
    draft : Draft
    path : tuple
        Of the key that names the table.
    name : str
        Of the file; another one is found where other places name a different table so.
    content : bytes
    """
    others = {own for place, own in named_tables(draft.data) if place != path}
    have, stem = dict(draft.tables), name.removesuffix(".csv").removesuffix(".txt")
    own, count = name, 2
    while own in others and have.get(own) != content:
        own, count = f"{stem}-{count}{name[len(stem) :]}", count + 1
    former = draft.at(path)
    if former not in others:  # nobody names it any more
        kept = tuple(one for one in draft.tables if one[0] != former)
        draft = dataclasses.replace(draft, tables=kept)
    return draft.with_table(own, content).with_values({path: own})

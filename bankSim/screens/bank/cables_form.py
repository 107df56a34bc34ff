"""A lead, a link or the main conductors: by length and size, or by resistance."""

import streamlit as st

from bankSim.scenario.lines import Path
from bankSim.screens.bank.board import Board, put
from bankSim.screens.bank.choices import area_words, areas
from bankSim.screens.bank.fields import number
from bankSim.screens.bank.labels import label_of
from bankSim.screens.bank.rows import row

BY_SIZE, BY_MOHM, NOT_GIVEN = "by length and size", "by resistance", "leave it open"
WAYS = (BY_SIZE, BY_MOHM, NOT_GIVEN)
USUAL = {"length_m": 0.5, "area_mm2": 35.0, "joints": 2}
USUAL_MOHM = 2.0


def cable(board: Board, owner: Path, long: str, short: str, *, unset: str, fused: bool) -> None:
    """Show a cable.

    Parameters
    ----------
    board : Board
    owner : tuple
        Path of the table that holds its keys.
    long, short : str
        Its key by length and size, and its key by resistance.
    unset : str
        What it means to leave it open.
    fused : bool
        It may have a fuse.
    """
    here, mohm = (*owner, long), (*owner, short)
    way = BY_SIZE if board.draft.at(here) is not None else NOT_GIVEN
    way = BY_MOHM if board.draft.at(mohm) is not None else way
    key = board.key(owner, f"way of {long}")
    st.session_state[key] = way
    st.radio(
        f"{label_of(here)}: given",
        WAYS,
        key=key,
        horizontal=True,
        format_func=lambda one: f"{one} ({unset})" if one == NOT_GIVEN else one,
        on_change=_take_way,
        args=(key, here, mohm),
    )
    if board.draft.at(here) is not None:
        _show_by_size(board, here, fused=fused)
    if board.draft.at(mohm) is not None:
        number(board, mohm, step=0.1)
    board.tell(here)
    board.tell(mohm)


def _take_way(key: str, here: Path, mohm: Path) -> None:
    way = st.session_state[key]
    put(
        {
            here: USUAL if way == BY_SIZE else None,
            mohm: USUAL_MOHM if way == BY_MOHM else None,
        },
        anew=True,
    )


def _show_by_size(board: Board, here: Path, *, fused: bool) -> None:
    if not isinstance(board.draft.at(here), dict):
        return
    row(
        lambda: number(board, (*here, "length_m"), step=0.1),
        lambda: _show_area(board, (*here, "area_mm2")),
    )
    joints = "Lugs on studs, on one of the two conductors."
    row(
        lambda: number(board, (*here, "joints"), hint=joints),
        lambda: _show_fuse(board, here) if fused else None,
    )


def _show_fuse(board: Board, here: Path) -> None:
    number(board, (*here, "fuse_A"), step=5.0, unset="no fuse")


def _show_area(board: Board, path: Path) -> None:
    present = board.draft.at(path)
    if isinstance(present, dict):
        number(board, path)
        return
    known = isinstance(present, int | float) and not isinstance(present, bool)
    offered = [*areas()] if not known or present in areas() else [float(present), *areas()]
    key = board.key(path)
    if st.session_state.get(key) not in offered:
        st.session_state[key] = float(present) if known else None
    st.selectbox(
        "Copper, one conductor",
        offered,
        index=None,
        format_func=area_words,
        key=key,
        placeholder="choose",
        on_change=_take_area,
        args=(key, path),
        help="Cross-section. The American gauges are near, not the same.",
    )
    board.tell(path)


def _take_area(key: str, path: Path) -> None:
    put({path: st.session_state[key]})

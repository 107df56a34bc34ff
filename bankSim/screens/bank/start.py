"""Where a bank comes from: a ready one, a file, or nothing."""

import streamlit as st

from bankSim.errors import ScenarioError
from bankSim.scenario.draft import Draft
from bankSim.screens.bank.board import BIN, SOUND, Board, tell_later
from bankSim.screens.bank.choices import CHEMISTRIES, USUAL_CELLS, new_battery
from bankSim.screens.bank.folds import fold
from bankSim.screens.bank.uploads import LARGEST_BYTES, take
from bankSim.screens.desk import desk
from bankSim.screens.plain import plain
from bankSim.screens.ready import SHOWS, draft_with, ready_draft

READY, FILE, EMPTY = "a ready bank", "your file", "an empty bank"
_TURN = "bank turn of uploads"


def show_start(board: Board) -> None:
    """Offer the three ways to begin."""
    label = "Start from a ready bank, your file, or an empty bank"
    box = fold("bank start", label, icon=":material/note_add:")
    if not box.open:
        return
    with box:
        st.session_state.setdefault("bank start way", READY)
        way = st.segmented_control(
            "Start from", (READY, FILE, EMPTY), required=True, key="bank start way"
        )
        {READY: _ready, FILE: _file, EMPTY: _empty}[way or READY]()
        st.caption("What is on the page now can be had back with Undo.")


def _ready() -> None:
    st.radio(
        "Ready banks",
        list(SHOWS),
        format_func=lambda one: f"**{plain(str(ready_draft(one).data['title']))}**",
        captions=[plain(text) for text in SHOWS.values()],
        key="bank ready",
    )
    st.button(
        "Start from this one",
        type="primary",
        key="bank start ready",
        on_click=_take_ready,
    )


def _take_ready() -> None:
    """Take the bank that is chosen now, which may be a later choice than the page knows of."""
    replace(ready_draft(st.session_state["bank ready"]))


def _file() -> None:
    turn = st.session_state.setdefault(_TURN, 0)
    key = f"bank upload {turn}"
    st.file_uploader(
        "A scenario file (TOML), with its tables (CSV) if it names any, or all in one ZIP",
        type=["toml", "csv", "txt", "zip"],
        accept_multiple_files=True,
        key=key,
        max_upload_size=LARGEST_BYTES // 1_000_000,
        on_change=_take_files,
        args=(key,),
    )


def _take_files(key: str) -> None:
    handed = st.session_state[key]
    if not handed:
        return
    st.session_state[_TURN] += 1
    try:
        taken = take([(one.name, one.getvalue()) for one in handed], desk().draft)
    except ScenarioError as error:
        tell_later(error.faults)
        return
    replace(taken.draft)
    tell_later(list(taken.told))


def _empty() -> None:
    chemistry = st.selectbox(
        "First battery",
        list(CHEMISTRIES),
        format_func=lambda word: CHEMISTRIES[word],
        key="bank first chemistry",
    )
    volts = st.segmented_control(
        "Voltage of the bank",
        sorted(set(USUAL_CELLS[chemistry].values())),
        default=12,
        required=True,
        format_func=lambda one: f"{one} V",
        key="bank first volts",
    )
    battery = new_battery("battery 1", chemistry, int(volts or 12))
    st.button(
        "Start with one battery",
        type="primary",
        key="bank start empty",
        on_click=lambda: replace(draft_with(battery)),
    )


def replace(draft: Draft) -> None:
    """Put another bank on the desk; the one before can be had back."""
    desk().change(draft)
    st.session_state["bank start"] = False
    for kept in (BIN, SOUND):
        st.session_state.pop(kept, None)

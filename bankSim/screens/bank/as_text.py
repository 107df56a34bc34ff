"""The scenario as text: every key of the file is within reach here."""

import streamlit as st

from bankSim.errors import ScenarioError
from bankSim.screens.bank.board import ERROR_ICON, Board
from bankSim.screens.desk import desk
from bankSim.screens.plain import plain

LABEL = "Scenario file (TOML)"
_TURN = "bank text wrong"
CHANGED = (
    "The bank was changed in its fields after this was typed. Once this text can be read it takes "
    "their place; Undo brings them back."
)


def show_text(board: Board) -> None:
    """Show the file as text, with a way to take over what was changed."""
    st.caption(
        "This is the scenario file. What you change here counts as soon as you leave the field, "
        "or press Ctrl and Enter."
    )
    key = board.key((), "text")
    wrong = st.session_state.get(_TURN)
    if wrong and wrong[0] != key:  # another bank is on the desk by now
        st.session_state.pop(_TURN)
        wrong = None
    if key not in st.session_state:
        st.session_state[key] = wrong[2] if wrong else board.draft.plain_text
    if not wrong and st.session_state[key] != board.draft.plain_text:
        st.session_state[key] = board.draft.plain_text
    st.html(f"<style>textarea[aria-label='{LABEL}'] {{ font-family: monospace; }}</style>")
    st.text_area(LABEL, key=key, height=480, on_change=_take, args=(key,))
    if wrong:
        for line in wrong[1]:
            st.error(plain(line), icon=ERROR_ICON)
        st.caption("Not taken yet: the bank above is the last text that could be read.")
        if wrong[3] != board.draft.digest:
            st.warning(CHANGED, icon=":material/info:")
        st.button("Leave this, show the present file", key="bank text leave", on_click=_leave)
    for line in board.found.faults:
        st.error(plain(line), icon=ERROR_ICON)


def _take(key: str) -> None:
    """Take over the text when it can be read; else keep it in the field, with what is wrong."""
    own = desk()
    try:
        own.change(own.draft.with_text(st.session_state[key]), by_widget=True)
        st.session_state.pop(_TURN, None)
    except ScenarioError as error:
        text = st.session_state[key]
        st.session_state[_TURN] = (key, error.faults, text, own.draft.digest)


def _leave() -> None:
    st.session_state.pop(_TURN, None)

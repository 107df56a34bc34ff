"""The page "Your bank" from top to bottom."""

import streamlit as st

from bankSim.screens.bank.as_text import show_text
from bankSim.screens.bank.batteries import show_batteries
from bankSim.screens.bank.board import Board, board
from bankSim.screens.bank.chargers import show_chargers
from bankSim.screens.bank.items import items_of
from bankSim.screens.bank.kept import others
from bankSim.screens.bank.loads import show_loads
from bankSim.screens.bank.picture import show_picture
from bankSim.screens.bank.start import show_start
from bankSim.screens.bank.state import (
    BATTERIES,
    CHARGERS,
    HOME,
    LOADS,
    PART,
    PARTS,
    PLACE,
    TEXT,
    WIRING,
    show_state,
    show_tools,
)
from bankSim.screens.bank.surroundings import show_place_and_time, show_wiring

SHOW = {
    BATTERIES: show_batteries,
    WIRING: show_wiring,
    LOADS: show_loads,
    CHARGERS: show_chargers,
    PLACE: show_place_and_time,
    TEXT: show_text,
}
COUNTED = {BATTERIES: "battery", LOADS: "load", CHARGERS: "charger"}


def show_page() -> None:
    """Show the page."""
    now = board()
    show_start(now)
    state = st.container()
    with st.container():  # what comes and goes in it must not move the form: typing would stop
        show_tools(now)
    drawing, form = st.columns([2, 3], gap="medium")
    with drawing:
        show_picture(now)
    with form:
        st.session_state.setdefault(PART, BATTERIES)
        part = st.segmented_control(
            "Parts of the bank",
            PARTS,
            required=True,
            format_func=lambda word: _titled(now, word),
            key=PART,
            label_visibility="collapsed",
            wrap=True,
            persist_state="session",
        )
        SHOW[part or BATTERIES](now)
        others(now, (), tuple(HOME))
    with state:
        show_state(now)


def _titled(now: Board, word: str) -> str:
    """Return the name of a part, with its count, marked when something in it is to be mended."""
    own = [key for key, part in HOME.items() if part == word]
    wrong = any(now.found.below((key,)) for key in own)
    count = f" ({len(items_of(now, COUNTED[word]))})" if word in COUNTED else ""
    return f"{':material/error: ' if wrong else ''}{word}{count}"

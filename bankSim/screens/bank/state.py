"""The line that says whether the bank is ready, what is wrong, and the way there."""

import streamlit as st

from bankSim.scenario.lines import Path
from bankSim.screens.bank.battery_details import DETAILS
from bankSim.screens.bank.board import (
    ERROR_ICON,
    Board,
    mend_words,
    told_now,
    typed_faults,
)
from bankSim.screens.bank.downloads import download
from bankSim.screens.bank.items import open_key, show_bin, undo
from bankSim.screens.bank.labels import place_words
from bankSim.screens.desk import desk
from bankSim.screens.plain import plain
from bankSim.screens.router import page_file
from bankSim.show.words import counted

MOST_LISTED = 12
_NEXT = ":material/arrow_forward:"
PART = "bank part"
BATTERIES, WIRING, LOADS, CHARGERS, PLACE, TEXT = (
    "Batteries",
    "Wiring",
    "Loads",
    "Chargers",
    "Place and time",
    "As text",
)
PARTS = (BATTERIES, WIRING, LOADS, CHARGERS, PLACE, TEXT)
HOME = {
    "battery": BATTERIES,
    "wiring": WIRING,
    "load": LOADS,
    "charger": CHARGERS,
    "surroundings": PLACE,
    "simulation": PLACE,
    "title": PLACE,
    "notes": PLACE,
}


def show_state(board: Board) -> None:
    """Say whether it is ready; list what is wrong that no field on the page shows."""
    for line in told_now():
        st.warning(plain(line), icon=":material/info:")
    places = list(board.found.places)
    typed = [(path, text) for path, text in typed_faults().items()]
    count = max(len(places), len(board.found.faults)) + len(typed)
    if count == 0:
        st.success(f"**Ready to predict.**{_idle(board)}", icon=":material/check_circle:")
        st.page_link(str(page_file("what_happens")), label="**Next: What happens**", icon=_NEXT)
        return
    hidden = [(path, text) for path, text in (*places, *typed) if path not in board.shown]
    seen = len(places) + len(typed) - len(hidden)
    at_fields = f" {seen} of them at their fields." if hidden and seen else ""
    st.error(f"**{counted(count, 'thing', 'things')} to mend.**{at_fields}", icon=ERROR_ICON)
    for number, (path, text) in enumerate(hidden[:MOST_LISTED]):
        _show_hidden(board, number, path, text)
    if len(hidden) > MOST_LISTED:
        st.caption(f"And {len(hidden) - MOST_LISTED} more; see As text.")
    if not places:
        for line in board.found.faults[:MOST_LISTED]:
            st.markdown(plain(line))
    st.caption("Everything else is kept. Nothing is predicted until this is mended.")


def _idle(board: Board) -> str:
    """Say that nothing will happen where nothing draws or charges."""
    if board.draft.count(("load",)) or board.draft.count(("charger",)):
        return ""
    return " But nothing draws from it or charges it yet: add a load under *Loads*."


def _show_hidden(board: Board, number: int, path: Path, text: str) -> None:
    where = plain(place_words(path, board.draft.data), 200)
    with st.container(horizontal=True, vertical_alignment="center", key=f"bank row fault {number}"):
        st.markdown(f"{ERROR_ICON} **{where}:** {plain(mend_words(text, path), 500)}")
        st.button("Go there", key=f"bank go {number}", on_click=go_to, args=(path,))


def go_to(path: Path) -> None:
    """Open the part of the page where a path is shown; the text when no field shows it."""
    part = HOME.get(str(path[0]), TEXT) if path else TEXT
    st.session_state[PART] = part
    if len(path) < 2 or not isinstance(path[1], int):
        return
    if part in (BATTERIES, LOADS, CHARGERS):
        st.session_state[open_key(str(path[0]), path[1])] = True
    if part == BATTERIES and len(path) > 2:
        detail = next((word for word, keys in DETAILS.items() if path[2] in keys), None)
        st.session_state[f"bank detail {path[1]}"] = detail
        if path[2] == "cells" and len(path) > 3:
            count = desk().draft.at((*path[:2], "cells_in_series"))
            st.session_state[f"bank cell {path[1]} {count}"] = path[3]


def show_tools(board: Board) -> None:
    """Offer to undo, and the file to take home."""
    name, content, kind = download(board.draft)
    with st.container(horizontal=True, key="bank row tools"):
        st.button(
            "Undo",
            icon=":material/undo:",
            key="bank undo",
            on_click=undo,
            disabled=not board.desk.before,
        )
        st.download_button(
            "Save the file",
            content,
            file_name=name,
            mime=kind,
            icon=":material/download:",
            on_click="ignore",
            key="bank save",
        )
    if board.desk.before:
        st.caption("Kept while this tab is open; loading it anew begins again. Save the file.")
    show_bin()

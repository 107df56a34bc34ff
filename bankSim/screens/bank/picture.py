"""The wiring as it would be bolted together, drawn anew after each change."""

import streamlit as st

from bankSim.screens.bank.board import Board
from bankSim.screens.bank.folds import fold
from bankSim.screens.pictures import show_drawn
from bankSim.screens.plain import plain
from bankSim.show.wiring_drawing import wiring_svg, wiring_words


def show_picture(board: Board) -> None:
    """Show the drawing of the last sound state, and the same in words."""
    if board.sound is None:
        st.caption("The wiring is drawn here as soon as the bank is complete.")
        return
    svg, words = _drawn(board)
    show_drawn(svg, words[0], "bank wiring")
    if board.found.scenario is None:
        st.caption("Drawn as it was before there was something to mend.")
    box = fold("bank wiring words", "The wiring in words")
    if box.open:
        with box:
            st.markdown("\n".join(f"- {plain(line)}" for line in words))


def _drawn(board: Board) -> tuple[str, list[str]]:
    """Draw once for one state of the bank."""
    scenario = board.sound
    assert scenario is not None
    kept = st.session_state.get("bank picture")
    if kept is None or kept[0] is not scenario:
        svg = wiring_svg(scenario.bank, narrow=True, keys=scenario.keys)
        kept = (scenario, svg, list(wiring_words(scenario.bank, keys=scenario.keys)))
        st.session_state["bank picture"] = kept
    return kept[1], kept[2]

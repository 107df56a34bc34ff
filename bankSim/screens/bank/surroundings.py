"""How the batteries meet, where they are, and for how long the run goes."""

import streamlit as st

from bankSim.scenario.quantity import is_spread
from bankSim.screens.bank.board import Board, put
from bankSim.screens.bank.cables_form import cable
from bankSim.screens.bank.choices import LAYOUTS, STOPS
from bankSim.screens.bank.fields import choice, number, text
from bankSim.screens.bank.rows import row

CONSTANT, SWING = "the same all day", "following the day"
_TEMPERATURE = ("surroundings", "temperature_C")
START_SWING = {"mean_C": 20.0, "swing_C": 6.0, "warmest_at": "15:00"}


def show_wiring(board: Board) -> None:
    """Show the layout, the links of a row and the main conductors."""
    choice(
        board,
        ("wiring", "layout"),
        LAYOUTS,
        unset="On common bars (assumed)",
        hint="In a row, the order of the batteries on this page is the order along the row.",
    )
    layout = board.draft.at(("wiring", "layout"))
    linked = any(board.draft.at(("wiring", key)) is not None for key in ("link", "link_mohm"))
    if layout in ("same end", "opposite ends") or linked:
        st.markdown("**Links between neighbours, one rail**")
        cable(board, ("wiring",), "link", "link_mohm", unset="none at all", fused=False)
    st.markdown("**Main conductors, from the bank to the loads**")
    cable(board, ("wiring",), "main", "main_mohm", unset="none at all", fused=True)
    board.tell(("wiring",))


def show_place_and_time(board: Board) -> None:
    """Show the temperature around the bank, and the frame of the run."""
    _show_temperature(board)
    row(
        lambda: number(board, ("simulation", "duration_h"), step=1.0, unset="240"),
        lambda: choice(board, ("simulation", "stop"), STOPS, unset="when the bank is empty"),
    )
    clock = "As in 07:00. Windows by the time of day count from here."
    row(
        lambda: text(board, ("simulation", "starts_at"), hint=clock, unset="00:00"),
        lambda: number(board, ("simulation", "output_every_s"), step=10.0, unset="60"),
    )
    board.tell(("simulation",))
    text(board, ("title",), hint="Headline of the results.")
    text(board, ("notes",), long=True)


def _show_temperature(board: Board) -> None:
    value = board.draft.at(_TEMPERATURE)
    swings = isinstance(value, dict) and not is_spread(value)
    key = board.key(_TEMPERATURE, "way")
    st.session_state[key] = SWING if swings else CONSTANT
    st.radio(
        "Temperature around the bank",
        (CONSTANT, SWING),
        key=key,
        horizontal=True,
        on_change=_take_way,
        args=(key,),
    )
    if swings:
        left, middle, right = st.columns(3)
        with left:
            number(board, (*_TEMPERATURE, "mean_C"), step=1.0)
        with middle:
            number(board, (*_TEMPERATURE, "swing_C"), step=1.0)
        with right:
            text(board, (*_TEMPERATURE, "warmest_at"), hint="As in 15:00.", unset="15:00")
        board.tell(_TEMPERATURE)
    else:
        number(board, _TEMPERATURE, step=1.0, unset="25")
    board.tell(("surroundings",))


def _take_way(key: str) -> None:
    put({_TEMPERATURE: START_SWING if st.session_state[key] == SWING else 20.0}, anew=True)

"""What is behind one more step of a battery, one subject at a time."""

from typing import Any

import streamlit as st

from bankSim.scenario.lines import Path
from bankSim.screens.bank.board import Board, put
from bankSim.screens.bank.cables_form import cable
from bankSim.screens.bank.cells_form import show_cells
from bankSim.screens.bank.fields import choice, number
from bankSim.screens.bank.kept import kept_as_it_is
from bankSim.screens.bank.labels import LABELS
from bankSim.screens.bank.rows import row
from bankSim.screens.bank.rules_form import show_rules
from bankSim.screens.bank.sureness import show_sureness
from bankSim.screens.plain import plain

LEAD, LIMITS, CELLS, RULES = "Lead", "Limits and insides", "Cells", "Protection"
UPKEEP, SURE = "Balancer, heater", "How do you know?"
# subject: which keys of the battery it is about
DETAILS = {
    LEAD: ("lead", "lead_mohm"),
    LIMITS: (
        "continuous_discharge_A",
        "continuous_charge_A",
        "mass_kg",
        "internal_mohm",
        "diode_drop_V",
    ),
    CELLS: ("cell", "cells"),
    RULES: ("protection",),
    UPKEEP: ("balancer", "heater"),
    SURE: (),
}


def show_detail(board: Board, place: int, battery: dict[str, Any], word: str) -> None:
    """Show one subject of a battery."""
    path: Path = ("battery", place)
    if word == LEAD:
        cable(board, path, "lead", "lead_mohm", unset=_usual_lead(battery), fused=True)
        _show_lead_sum(board, place)
    elif word == LIMITS:
        _show_limits(board, path)
    elif word == CELLS:
        show_cells(board, place, battery)
    elif word == RULES:
        show_rules(board, place, battery)
    elif word == UPKEEP:
        _show_balancer(board, path, battery)
        _show_heater(board, path, battery)
    else:
        show_sureness(board, path)
    kept_as_it_is(board, path, battery, word)


def _usual_lead(battery: dict[str, Any]) -> str:
    return "0.5 m of 35 mm2 is assumed" if battery.get("chemistry") else "none at all"


def _show_lead_sum(board: Board, place: int) -> None:
    if board.sound is not None and board.found.scenario is board.sound:
        ohm = board.sound.bank.batteries[place].lead_ohm
        st.caption(f"Plus and minus together, with joints and fuse: {1e3 * ohm:.2f} mohm.")


def _show_limits(board: Board, path: Path) -> None:
    row(
        lambda: number(board, (*path, "continuous_discharge_A"), step=5.0),
        lambda: number(board, (*path, "continuous_charge_A"), step=5.0),
    )
    drop = (
        "While its electronics block one direction, the other one still lets current through, "
        "at this loss of voltage."
    )
    row(
        lambda: number(board, (*path, "internal_mohm"), step=0.1),
        lambda: number(board, (*path, "diode_drop_V"), step=0.1, hint=drop),
    )
    number(board, (*path, "mass_kg"), step=0.5)


def _show_balancer(board: Board, path: Path, battery: dict[str, Any]) -> None:
    here = (*path, "balancer")
    present = battery.get("balancer")
    _switch(
        board,
        here,
        LABELS["balancer"],
        {"kind": "bleed", "current_A": 0.1, "starts_above_V": 3.4, "within_mV": 10.0},
    )
    if isinstance(present, dict):
        kinds = {"bleed": "turns charge to heat", "transfer": "moves charge to the lowest cell"}
        choice(board, (*here, "kind"), kinds)
        row(
            lambda: number(board, (*here, "current_A"), quantity="balancer_current_A", step=0.01),
            lambda: number(board, (*here, "starts_above_V"), step=0.01),
        )
        number(board, (*here, "within_mV"), step=1.0)
        if present.get("kind") == "transfer" or "always" in present:
            _flag(board, (*here, "always"))
    board.tell(here)


def _show_heater(board: Board, path: Path, battery: dict[str, Any]) -> None:
    here = (*path, "heater")
    _switch(
        board,
        here,
        "Heater inside, fed from the bank",
        {"power_W": 40.0, "on_below_C": 3.0, "off_above_C": 8.0},
    )
    if isinstance(battery.get("heater"), dict):
        needs = {"charger": "a charger is switched on", "nothing": "at any time"}
        row(
            lambda: number(board, (*here, "power_W"), quantity="heater_W", step=5.0),
            lambda: choice(board, (*here, "needs"), needs, unset="a charger is switched on"),
        )
        row(
            lambda: number(board, (*here, "on_below_C"), step=1.0),
            lambda: number(board, (*here, "off_above_C"), step=1.0),
        )
    board.tell(here)


def _switch(board: Board, here: Path, label: str, start: dict[str, object]) -> None:
    """Show whether a thing is there; it comes with usual values."""
    key = board.key(here, "is there")
    st.session_state[key] = board.draft.at(here) is not None
    st.toggle(plain(label), key=key, on_change=_take_switch, args=(key, here, start))


def _take_switch(key: str, here: Path, start: dict[str, object]) -> None:
    put({here: start if st.session_state[key] else None}, anew=True)


def _flag(board: Board, path: Path) -> None:
    key = board.key(path)
    if key not in st.session_state:
        st.session_state[key] = board.draft.at(path) is True
    st.checkbox(LABELS[str(path[-1])], key=key, on_change=_take_flag, args=(key, path))
    board.tell(path)


def _take_flag(key: str, path: Path) -> None:
    put({path: True if st.session_state[key] else None})

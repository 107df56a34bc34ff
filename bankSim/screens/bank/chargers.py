"""What charges the bank."""

from typing import Any

import streamlit as st

from bankSim.scenario.lines import Path
from bankSim.screens.bank import items
from bankSim.screens.bank.board import Board, change, put
from bankSim.screens.bank.fields import choose_way, number, text
from bankSim.screens.bank.kept import others
from bankSim.screens.bank.loads import show_times
from bankSim.screens.desk import desk

ARRAY = "charger"
WAYS = {
    "limit_A": "up to a current (A)",
    "limit_W": "up to a power (W)",
    "sun": "as the sun allows",
}
START: dict[str, object] = {
    "limit_A": 20.0,
    "limit_W": 300.0,
    "sun": {"peak_W": 200.0, "rise": "06:30", "set": "18:30"},
}
KNOWN = ("name", *WAYS, "stages", "hold_V", "active_h", "daily")
NEW = {"name": "new charger", "limit_A": 20.0, "hold_V": 14.2}


def show_chargers(board: Board) -> None:
    """Show all chargers, and a way to add one."""
    board.tell((ARRAY,))
    chargers = items.items_of(board, ARRAY)
    if not chargers:
        st.caption("Nothing charges the bank.")
    for place, charger in chargers:
        _show_charger(board, place, charger, len(chargers))
    st.button(
        "Add a charger",
        icon=":material/add:",
        key="bank add charger",
        on_click=items.add,
        args=(ARRAY, {**NEW, "hold_V": _usual_hold(board)}),
    )


def in_short(charger: dict[str, Any]) -> str:
    """Return a charger in a few words."""
    for key, unit in (("limit_A", "A"), ("limit_W", "W")):
        value = charger.get(key)
        value = value.get("value", value.get("low")) if isinstance(value, dict) else value
        if isinstance(value, int | float):
            return f"up to {value:g} {unit}"
    return "by the sun" if "sun" in charger else "no limit yet"


def _usual_hold(board: Board) -> float:
    """Return a voltage that suits the bank: 14.2 V for each 12 V."""
    volts = board.draft.at(("battery", 0, "cells_in_series"))
    lead = board.draft.at(("battery", 0, "chemistry")) in ("AGM", "gel", "flooded")
    cells = volts if isinstance(volts, int) else 4
    return round(cells * (2.37 if lead else 3.55), 1)


def _show_charger(board: Board, place: int, charger: dict[str, Any], count: int) -> None:
    path: Path = (ARRAY, place)
    box = items.opened(board, ARRAY, place, charger, in_short(charger))
    if box is None:
        return
    with box:
        left, right = st.columns(2)
        with left:
            text(board, (*path, "name"))
        with right:
            choose_way(board, path, charger, "It gives", WAYS, _take_way)
        _show_amount(board, path, charger)
        _show_voltage(board, path, charger)
        show_times(board, path, charger, duty=False)
        board.tell(path)
        others(board, path, KNOWN)
        items.buttons(ARRAY, place, count)


def _take_way(key: str, path: Path) -> None:
    way = st.session_state[key]
    if way:
        gone: dict[Path, object] = {(*path, one): None for one in WAYS if one != way}
        put({**gone, (*path, way): START[way]}, anew=True)


def _show_amount(board: Board, path: Path, charger: dict[str, Any]) -> None:
    for key, step in (("limit_A", 1.0), ("limit_W", 10.0)):
        if key in charger:
            number(board, (*path, key), step=step)
    if isinstance(charger.get("sun"), dict):
        left, middle, right = st.columns(3)
        with left:
            number(board, (*path, "sun", "peak_W"), step=10.0)
        with middle:
            text(board, (*path, "sun", "rise"), hint="As in 06:30.")
        with right:
            text(board, (*path, "sun", "set"), hint="As in 18:30.")
    board.tell((*path, "sun"))


def _show_voltage(board: Board, path: Path, charger: dict[str, Any]) -> None:
    """Show the voltage that it holds, or its stages one after the other."""
    stages = charger.get("stages")
    if "stages" not in charger or "hold_V" in charger:
        number(board, (*path, "hold_V"), step=0.1)
    for place, stage in enumerate(stages if isinstance(stages, list) else []):
        if isinstance(stage, dict):
            _show_stage(board, (*path, "stages", place), len(stages or ()))
    board.tell((*path, "stages"), below=True)
    st.button(
        "Add a stage",
        key=board.key(path, "add stage"),
        on_click=_add_stage,
        args=(path,),
        help="A charger with stages holds one voltage after the other.",
    )


def _show_stage(board: Board, path: Path, count: int) -> None:
    place = int(path[-1])
    left, middle, right = st.columns(3)
    with left:
        number(board, (*path, "hold_V"), f"Stage {place + 1}: holds (V)", step=0.1)
    with middle:
        number(board, (*path, "until_tail_A"), step=0.5, unset="not by the current")
    with right:
        number(board, (*path, "at_most_h"), step=0.5, unset="no limit")
    if count > 1:
        st.button(
            f"Remove stage {place + 1}",
            key=board.key(path, "remove"),
            on_click=change,
            args=(lambda draft: draft.without_item(path[:-1], place),),
        )


def _add_stage(path: Path) -> None:
    """Make stages of the one voltage, or add one more."""
    draft = desk().draft
    stages, hold = draft.at((*path, "stages")), draft.at((*path, "hold_V"))
    if isinstance(stages, list):
        before = stages[-1].get("hold_V", 14.2) if stages and isinstance(stages[-1], dict) else 14.2
        put({(*path, "stages"): [*stages, {"hold_V": before}]}, anew=True)
        return
    first = {"hold_V": 14.2 if hold is None else hold, "until_tail_A": 5.0}
    second = {"hold_V": first["hold_V"]}
    put({(*path, "stages"): [first, second], (*path, "hold_V"): None}, anew=True)

"""What draws from the bank."""

from typing import Any

import streamlit as st

from bankSim.scenario.lines import Path
from bankSim.screens.bank import items, spellings
from bankSim.screens.bank.board import Board, put
from bankSim.screens.bank.fields import choose_way, number, text, written
from bankSim.screens.bank.kept import others
from bankSim.screens.bank.tables_form import table_field
from bankSim.screens.desk import desk

ARRAY = "load"
WAYS = {
    "power_W": "a power (W)",
    "current_A": "a current (A)",
    "resistance_ohm": "a resistance (ohm)",
    "profile": "a table over time (CSV)",
}
START = {"power_W": 50.0, "current_A": 5.0, "resistance_ohm": 1.0}
WITH_POWER = ("reference_voltage_V", "voltage_exponent")
KNOWN = (
    "name", *WAYS, *WITH_POWER, "duty", "active_h", "daily",
    "cut_off_V", "cut_off_after_s", "restart_V",
)  # fmt: skip
NEW = {"name": "new load", "power_W": 50.0}


def show_loads(board: Board) -> None:
    """Show all loads, and a way to add one."""
    board.tell((ARRAY,))
    loads = items.items_of(board, ARRAY)
    if not loads:
        st.caption("Nothing draws from the bank yet.")
    for place, load in loads:
        _show_load(board, place, load, len(loads))
    st.button(
        "Add a load",
        icon=":material/add:",
        key="bank add load",
        on_click=items.add,
        args=(ARRAY, NEW),
    )


def in_short(load: dict[str, Any]) -> str:
    """Return a load in a few words."""
    for key, unit in (("power_W", "W"), ("current_A", "A"), ("resistance_ohm", "ohm")):
        value = load.get(key)
        if isinstance(value, dict):
            value = value.get("value", value.get("low"))
        if isinstance(value, int | float):
            return f"{value:g} {unit}" + (", in turn on and off" if "duty" in load else "")
    return "by a table" if "profile" in load else "nothing drawn yet"


def _show_load(board: Board, place: int, load: dict[str, Any], count: int) -> None:
    path: Path = (ARRAY, place)
    box = items.opened(board, ARRAY, place, load, in_short(load))
    if box is None:
        return
    with box:
        left, right = st.columns(2)
        with left:
            text(board, (*path, "name"))
        with right:
            choose_way(board, path, load, "It draws", WAYS, _take_way)
        _show_amount(board, path, load)
        show_times(board, path, load)
        _show_cut_off(board, path)
        board.tell(path)
        others(board, path, KNOWN)
        items.buttons(ARRAY, place, count)


def _take_way(key: str, path: Path) -> None:
    way = st.session_state[key]
    values: dict[Path, object] = {(*path, one): None for one in WAYS if one != way}
    if way != "power_W":
        values |= {(*path, one): None for one in WITH_POWER}
    if way == "profile":
        values[(*path, "profile")] = desk().draft.at((*path, "profile")) or "load.csv"
    elif way:
        values[(*path, way)] = START[way]
    put(values, anew=True)


def _show_amount(board: Board, path: Path, load: dict[str, Any]) -> None:
    left, right = st.columns(2)
    with left:
        for key, step in (("power_W", 5.0), ("current_A", 0.5), ("resistance_ohm", 0.1)):
            if key in load:
                number(board, (*path, key), step=step)
    if "profile" in load:
        table_field(board, (*path, "profile"), "time_h,power_W or time_h,current_A")
    if "power_W" in load or any(key in load for key in WITH_POWER):
        with right:
            hint = (
                "0: the same power at any voltage (inverters); 1: the same current; 2: a resistor."
            )
            number(board, (*path, "voltage_exponent"), step=0.5, hint=hint, unset="0: constant")
        if load.get("voltage_exponent") or "reference_voltage_V" in load:
            with left:
                number(board, (*path, "reference_voltage_V"), step=0.1)


def show_times(board: Board, path: Path, item: dict[str, Any], *, duty: bool = True) -> None:
    """Show when a load or charger is on; all that is given must agree."""
    left, right = st.columns(2)
    with left:
        written(
            board,
            (*path, "daily"),
            spellings.read_daily,
            spellings.write_daily,
            hint="Such as 18:00-22:30; several with ; between them. May go past midnight.",
            unset="at any time of day",
        )
    with right:
        written(
            board,
            (*path, "active_h"),
            spellings.read_hours,
            spellings.write_hours,
            hint="Such as 2-2.5; 26-26.5 for two windows, in hours since the start.",
            unset="at any hour",
        )
    if duty:
        _show_duty(board, (*path, "duty"), item)


def _show_duty(board: Board, path: Path, load: dict[str, Any]) -> None:
    key = board.key(path, "is there")
    st.session_state[key] = "duty" in load
    st.toggle("On and off in turn, as a fridge", key=key, on_change=_take_duty, args=(key, path))
    if isinstance(load.get("duty"), dict):
        left, right = st.columns(2)
        with left:
            number(board, (*path, "on_min"), step=1.0)
        with right:
            number(board, (*path, "off_min"), step=1.0)
    board.tell(path)


def _take_duty(key: str, path: Path) -> None:
    put({path: {"on_min": 15.0, "off_min": 15.0} if st.session_state[key] else None}, anew=True)


def _show_cut_off(board: Board, path: Path) -> None:
    left, middle, right = st.columns(3)
    with left:
        hint = "Many inverters and fridges switch themselves off when the voltage is low."
        number(board, (*path, "cut_off_V"), step=0.1, hint=hint, unset="has none")
    with middle:
        number(board, (*path, "cut_off_after_s"), step=1.0, unset="0: at once")
    with right:
        number(board, (*path, "restart_V"), step=0.1, unset="never: stays off")

"""The batteries of the bank: what stands on their labels first, the rest behind one more step."""

from typing import Any

import streamlit as st

from bankSim.scenario.lines import Path
from bankSim.scenario.quantity import is_spread
from bankSim.screens.bank import choices, items
from bankSim.screens.bank.battery_details import DETAILS, show_detail
from bankSim.screens.bank.board import Board, put
from bankSim.screens.bank.fields import choice, number, text
from bankSim.screens.bank.labels import LABELS
from bankSim.screens.desk import desk

ARRAY = "battery"
IN_PERCENT, IN_AH = "in % of the label", "in Ah, as measured"


def show_batteries(board: Board) -> None:
    """Show all batteries, and a way to add one."""
    board.tell((ARRAY,))
    batteries = items.items_of(board, ARRAY)
    for place, battery in batteries:
        _show_battery(board, place, battery, len(batteries))
    _show_new(board)


def _show_battery(board: Board, place: int, battery: dict[str, Any], count: int) -> None:
    box = items.opened(board, ARRAY, place, battery, in_short(battery), at_first=place == 0)
    if box is None:
        return
    with box:
        _show_label(board, (ARRAY, place), battery)
        detail = st.segmented_control(
            "More about this battery",
            list(DETAILS),
            key=f"bank detail {place}",
            format_func=lambda word: _marked(board, place, word),
        )
        if detail:
            show_detail(board, place, battery, detail)
        board.tell((ARRAY, place))
        items.buttons(ARRAY, place, count)


def in_short(battery: dict[str, Any]) -> str:
    """Return a battery in a few words, for the line that is always seen."""
    parts = []
    chemistry, cells = battery.get("chemistry"), battery.get("cells_in_series")
    if isinstance(chemistry, str):
        parts.append(chemistry)
    if isinstance(cells, int):
        volts = choices.USUAL_CELLS.get(str(chemistry), {}).get(cells)
        parts.append(f"{volts} V" if volts else f"{cells} cell{'s' * (cells != 1)}")
    if isinstance(battery.get("rated_capacity_Ah"), int | float):
        parts.append(f"{battery['rated_capacity_Ah']:g} Ah")
    health = battery.get("capacity_fraction")
    if isinstance(health, int | float) and not isinstance(health, bool):
        parts.append(f"{100.0 * health:.3g} % left")
    return ", ".join(parts)


def _show_label(board: Board, path: Path, battery: dict[str, Any]) -> None:
    chemistry = battery.get("chemistry")
    word = chemistry if isinstance(chemistry, str) else None
    left, right = st.columns(2)
    with left:
        text(board, (*path, "name"), hint="Any name that tells it from the others.")
    with right:
        choice(
            board,
            (*path, "chemistry"),
            choices.CHEMISTRIES,
            unset="none: by its voltage curve only",
            hint="Gives typical values for everything that you leave open.",
        )
    left, right = st.columns(2)
    with left:
        _show_cells_in_series(board, path, word)
    with right:
        number(board, (*path, "rated_capacity_Ah"), step=5.0)
    left, right = st.columns(2)
    with left:
        _show_health(board, path, battery)
    with right:
        _show_charge_and_resistance(board, path)


def _show_charge_and_resistance(board: Board, path: Path) -> None:
    number(
        board,
        (*path, "state_of_charge"),
        step=1.0,
        hint="100 is full. Batteries that are not equally full exchange current at first.",
        unset="100: full",
    )
    number(
        board,
        (*path, "resistance_factor"),
        step=0.1,
        hint="1 is new. An aged battery may have 1.5 to 2 times the resistance it had.",
        unset="1: as new",
    )


def _show_cells_in_series(board: Board, path: Path, chemistry: str | None) -> None:
    here = (*path, "cells_in_series")
    present = board.draft.at(here)
    offered = choices.cells_offered(chemistry, present)
    key = board.key(here)
    if st.session_state.get(key) not in offered:
        st.session_state[key] = present if present in offered else None
    st.selectbox(
        "Voltage, cells in series",
        offered,
        index=None,
        format_func=lambda cells: choices.cells_words(cells, chemistry),
        placeholder="choose",
        key=key,
        on_change=_take_cells,
        args=(key, path),
        help="Batteries in parallel must have the same voltage.",
    )
    board.tell(here)


def _take_cells(key: str, path: Path) -> None:
    """Change the number of cells, and the list of single cells with it where nothing is lost."""
    cells = st.session_state[key]
    values: dict[Path, object] = {(*path, "cells_in_series"): cells}
    listed = desk().draft.at((*path, "cells"))
    if isinstance(listed, list) and isinstance(cells, int) and not any(listed[cells:]):
        values[(*path, "cells")] = [*listed[:cells], *({} for _ in range(cells - len(listed)))]
    put(values)


def _show_health(board: Board, path: Path, battery: dict[str, Any]) -> None:
    """Show what is left of the capacity: as a part of the label, or in measured Ah."""
    rated = battery.get("rated_capacity_Ah")
    by_Ah = isinstance(rated, int | float) and not isinstance(rated, bool) and rated > 0
    way: str | None = IN_PERCENT
    here = (*path, "capacity_fraction")
    if not is_spread(board.draft.at(here)):
        way = st.radio(
            "Capacity now, given",
            (IN_PERCENT, IN_AH),
            key=f"bank way {path[1]}",
            horizontal=True,
            persist_state="session",
            help="What a capacity test gave, or your guess from its age.",
        )
    if way == IN_AH and by_Ah:
        _show_measured(board, here, float(battery["rated_capacity_Ah"]))
    elif way == IN_AH:
        st.caption("Say first what the label says.")
    else:
        number(board, here, step=1.0, unset="100: as new")
    cell = battery.get("cell")
    if isinstance(cell, dict) and "capacity_Ah" in cell:
        st.caption("The capacity given under Cells counts instead of this one.")


def _show_measured(board: Board, path: Path, rated_Ah: float) -> None:
    part = board.draft.at(path)
    key = board.key(path, f"Ah {rated_Ah:g}")
    if key not in st.session_state:
        known = isinstance(part, int | float) and not isinstance(part, bool)
        st.session_state[key] = float(f"{part * rated_Ah:.7g}") if known else None
    st.number_input(
        "Capacity now, measured (Ah)",
        value=None,
        step=1.0,
        format="%.10g",
        key=key,
        placeholder=f"{rated_Ah:g}: as new",
        on_change=_take_measured,
        args=(key, path, rated_Ah),
        help="Kept in the file as a part of the label.",
    )
    board.tell(path)


def _take_measured(key: str, path: Path, rated_Ah: float) -> None:
    typed = st.session_state[key]
    put({path: None if typed is None else float(f"{typed / rated_Ah:.12g}")})


def _marked(board: Board, place: int, word: str) -> str:
    """Return the name of a detail, marked when something in it is to be mended."""
    keys = DETAILS[word]
    wrong = any(board.found.below((ARRAY, place, key)) for key in keys)
    return f":material/error: {word}" if wrong else word


def _show_new(board: Board) -> None:
    volts = choices.volts_of(board.draft.at((ARRAY, 0)))
    name = f"battery {board.draft.count((ARRAY,)) + 1}"
    with st.container(border=True, key="bank new battery"):
        st.markdown("**One more battery**")
        chemistry = st.selectbox(
            LABELS["chemistry"],
            list(choices.CHEMISTRIES),
            format_func=lambda word: choices.CHEMISTRIES[word],
            key="bank new chemistry",
            persist_state="session",
        )
        st.button(
            "Add a battery",
            icon=":material/add:",
            key="bank add battery",
            on_click=items.add,
            args=(ARRAY, choices.new_battery(name, chemistry, volts)),
        )

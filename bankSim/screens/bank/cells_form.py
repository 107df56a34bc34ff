"""The cells of a battery: what all have in common, and each one that differs."""

from typing import Any

import streamlit as st

from bankSim.model.cell import MOST_PAIRS
from bankSim.scenario.lines import Path
from bankSim.screens.bank.board import Board, change, put
from bankSim.screens.bank.fields import number
from bankSim.screens.bank.kept import CELL_KEYS
from bankSim.screens.bank.labels import LABELS
from bankSim.screens.bank.rows import row
from bankSim.screens.bank.tables_form import table_field
from bankSim.screens.desk import desk
from bankSim.screens.frame import show_grid
from bankSim.show.blocks import Grid
from bankSim.sim.numbers import number as few_digits

MOST_CELLS = 100
AS_OTHERS = "as the others"


def show_cells(board: Board, place: int, battery: dict[str, Any]) -> None:
    """Show the table of cells, the fields of one of them, and what all have in common."""
    path: Path = ("battery", place)
    count = battery.get("cells_in_series")
    if isinstance(count, int) and 1 <= count <= MOST_CELLS:
        _show_overview(board, place, battery, count)
        _show_one(board, place, count)
    board.tell((*path, "cells"))
    if board.found.at((*path, "cells")):
        _offer_to_fit(path, count)
    common = (*path, "cell")
    is_used = bool(battery.get("cell")) or bool(board.found.below(common))
    with st.expander("All cells: voltage curve and finer values", expanded=is_used):
        _show_common(board, common)


def _show_overview(board: Board, place: int, battery: dict[str, Any], count: int) -> None:
    bank = board.sound.bank if board.sound and board.found.scenario is board.sound else None
    cells = battery.get("cells")
    rows = []
    for number_ in range(count):
        listed = cells[number_] if isinstance(cells, list) and number_ < len(cells) else {}
        own = listed if isinstance(listed, dict) else {}
        made = bank.batteries[place].cells[number_] if bank else None
        values: tuple[float | None, ...] = (None, None, None)
        if made is not None:
            mohm = 1e3 * float(made.ohmic_ohm(0.5))
            values = (made.charge_C / 3600.0, 100.0 * made.state_of_charge, mohm)
        told = [
            f"{few_digits(value, 4)}{' (own)' if key in own else ''}"
            for key, value in zip(CELL_KEYS, values, strict=True)
        ]
        rows.append((str(number_ + 1), *told))
    columns = ("cell", "capacity (Ah)", "charged (%)", "ohmic (mohm)")
    show_grid(Grid(columns, tuple(rows), 1), "Cells of this battery")
    st.caption(
        "Cell 1 is at the minus pole. (own): given for this cell alone. Resistance at half charge "
        "and 25 degC."
    )


def _show_one(board: Board, place: int, count: int) -> None:
    chosen = st.selectbox(
        "Change one cell",
        range(count),
        format_func=lambda number_: f"cell {number_ + 1}",
        key=f"bank cell {place} {count}",
    )
    path: Path = ("battery", place, "cells", int(chosen or 0))
    left, middle, right = st.columns(3)
    with left:
        number(board, (*path, "capacity_Ah"), LABELS["capacity_Ah"], step=1.0, unset=AS_OTHERS)
    with middle:
        number(board, (*path, "state_of_charge"), step=0.5, unset=AS_OTHERS)
    with right:
        number(board, (*path, "ohmic_mohm"), step=0.05, unset=AS_OTHERS)
    board.tell(path, below=True)
    listed = board.draft.at(("battery", place, "cells"))
    if listed:
        st.button(
            "Make all cells alike",
            key=f"bank alike {place}",
            on_click=put,
            args=({("battery", place, "cells"): None},),
            kwargs={"anew": True},
        )


def _offer_to_fit(path: Path, count: object) -> None:
    if isinstance(count, int) and 1 <= count <= MOST_CELLS:
        st.button(
            f"Make the list {count} long",
            key=f"bank fit {path[1]}",
            on_click=_fit,
            args=((*path, "cells"), count),
        )


def _fit(path: Path, count: int) -> None:
    listed = desk().draft.at(path)
    kept = list(listed[:count]) if isinstance(listed, list) else []
    put({path: [*kept, *({} for _ in range(count - len(kept)))]}, anew=True)


def _show_common(board: Board, path: Path) -> None:
    table_field(board, (*path, "ocv_table"), "state_of_charge,voltage_V[,ohmic_mohm]")
    row(
        lambda: number(board, (*path, "capacity_Ah"), "Capacity (Ah)", step=1.0),
        lambda: number(board, (*path, "state_of_charge"), step=0.5),
    )
    acts = "Resistance that acts at once (mohm)"
    row(
        lambda: number(board, (*path, "ohmic_mohm"), acts, step=0.05),
        lambda: number(board, (*path, "hysteresis_mV"), step=1.0),
    )
    row(
        lambda: number(board, (*path, "available_fraction"), step=0.05),
        lambda: number(board, (*path, "well_rate_per_h"), step=0.1),
    )
    _show_relaxation(board, (*path, "relaxation"))
    board.tell(path)


def _show_relaxation(board: Board, path: Path) -> None:
    pairs = board.draft.at(path)
    listed = pairs if isinstance(pairs, list) else []
    for place, pair in enumerate(listed):
        if isinstance(pair, dict):
            left, right = st.columns(2)
            with left:
                number(board, (*path, place, "mohm"), f"Relaxation {place + 1}: (mohm)")
            with right:
                number(
                    board, (*path, place, "time_constant_s"), f"Relaxation {place + 1}: time (s)"
                )
    board.tell(path, below=True)
    with st.container(horizontal=True):
        st.button(
            "Add a relaxation pair",
            key=board.key(path, "add"),
            disabled=len(listed) >= MOST_PAIRS,
            on_click=put,
            args=({path: [*listed, {"mohm": 0.5, "time_constant_s": 30.0}]},),
            kwargs={"anew": True},
        )
        if listed:
            st.button(
                "Remove the last pair",
                key=board.key(path, "less"),
                on_click=change,
                args=(lambda draft: draft.without_item(path, len(listed) - 1),),
            )

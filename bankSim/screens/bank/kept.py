"""What the file says and no field shows: it is named, and kept as it is."""

from typing import Any

import streamlit as st

from bankSim.scenario.draft_shape import literal
from bankSim.scenario.faults import key_path
from bankSim.scenario.lines import Path
from bankSim.screens.bank.board import Board
from bankSim.screens.plain import plain

LONGEST = 160
CELL_KEYS = ("capacity_Ah", "state_of_charge", "ohmic_mohm")


def kept_as_it_is(board: Board, path: Path, battery: dict[str, Any], word: str) -> None:
    """Name what a battery's subject says beyond its fields."""
    if word != "Cells":
        return
    lines: list[str] = []
    cells = battery.get("cells")
    for number, cell in enumerate(cells if isinstance(cells, list) else []):
        if isinstance(cell, dict):
            where = (*path, "cells", number)
            lines += [
                _line((*where, key), one) for key, one in cell.items() if key not in CELL_KEYS
            ]
    show_kept(lines)


def others(board: Board, path: Path, known: tuple[str, ...]) -> None:
    """Name the keys of a table that its form does not show."""
    table = board.draft.at(path)
    if isinstance(table, dict):
        show_kept([_line((*path, key), one) for key, one in table.items() if key not in known])


def show_kept(lines: list[str]) -> None:
    """Say that the file also says this."""
    if not lines:
        return
    shown = "; ".join(plain(line) for line in lines[:6])
    more = f"; and {len(lines) - 6} more" if len(lines) > 6 else ""
    st.caption(f"This file also says, kept as it is (see As text): {shown}{more}.")


def _line(path: Path, value: object) -> str:
    text = f"{key_path(path)} = {literal(value)}"
    return text if len(text) <= LONGEST else text[: LONGEST - 3] + "..."

"""How sure a number is: alone, give or take, or between two others, as the file can say it."""

import streamlit as st

from bankSim.scenario.glossary import QUANTITIES
from bankSim.scenario.lines import Path
from bankSim.screens.bank.board import Board, put
from bankSim.screens.bank.labels import LABELS
from bankSim.screens.desk import desk

ALONE, SD, PERCENT, BETWEEN, LIKELY = (
    "as it is",
    "give or take (standard deviation)",
    "give or take, in %",
    "anything between two values",
    "between two values, one likely",
)
FORMS = {
    SD: {"value", "sd"},
    PERCENT: {"value", "sd_percent"},
    BETWEEN: {"low", "high"},
    LIKELY: {"value", "low", "high"},
}
ABOUT = ("capacity_fraction", "state_of_charge", "resistance_factor")
FALL_BACK = {"capacity_fraction": 1.0, "state_of_charge": 1.0, "resistance_factor": 1.0}
_SD, _WIDTH = 0.02, 0.05  # of the value, to begin with


def show_sureness(board: Board, path: Path) -> None:
    """Offer the forms of a spread for what is seldom known well."""
    st.caption(
        "A value from a bench test is known to some per cent, a guess from the age to far less. "
        "What you say here makes the band around the prediction; a single run takes the middle. "
        "The numbers that belong to it stand in the fields above."
    )
    for key in ABOUT:
        here = (*path, key)
        _show_form(board, here)


def _show_form(board: Board, here: Path) -> None:
    key = board.key(here, "sure")
    st.session_state[key] = form_of(board.draft.at(here))
    st.selectbox(
        f"{LABELS[str(here[-1])]}: taken",
        [ALONE, *FORMS],
        key=key,
        on_change=_take_form,
        args=(key, here),
    )


def form_of(value: object) -> str:
    """Return how sure a value of the file is."""
    if not isinstance(value, dict):
        return ALONE
    given = set(value) - {"cells"}
    return next((form for form, keys in FORMS.items() if keys == given), ALONE)


def in_form(value: object, form: str, key: str) -> object:
    """Return a value of the file in another form, its middle kept.

    Parameters
    ----------
    value : object
        As in the file; None takes what is usual.
    form : str
    key : str
        Which quantity, for its range.
    """
    kind = QUANTITIES[key]
    middle = _middle(value)
    middle = FALL_BACK.get(key, 1.0) if middle is None else middle
    low = max(middle * (1.0 - _WIDTH), kind.lowest)
    high = min(middle * (1.0 + _WIDTH), kind.highest)
    if not low < high:
        high = low + _WIDTH
    made: dict[str, object] = {
        "value": middle,
        "sd": _tidy(_SD * middle),
        "sd_percent": 100.0 * _SD,
        "low": _tidy(low),
        "high": _tidy(high),
    }
    if form == ALONE:
        return middle
    kept = {"cells": value["cells"]} if isinstance(value, dict) and "cells" in value else {}
    return {name: one for name, one in made.items() if name in FORMS[form]} | kept


def _middle(value: object) -> float | None:
    if isinstance(value, dict):
        if "value" in value:
            return _middle(value["value"])
        low, high = _middle(value.get("low")), _middle(value.get("high"))
        return None if low is None or high is None else _tidy(0.5 * (low + high))
    number_ = isinstance(value, int | float) and not isinstance(value, bool)
    return float(value) if number_ else None  # type: ignore[arg-type]


def _tidy(value: float) -> float:
    return float(f"{value:.6g}")


def _take_form(key: str, here: Path) -> None:
    put({here: in_form(desk().draft.at(here), st.session_state[key], str(here[-1]))}, anew=True)

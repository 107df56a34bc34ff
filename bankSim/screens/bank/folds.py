"""Boxes that open and close, and whose content is only made while they are open."""

from typing import Any

import streamlit as st


def fold(key: str, label: str, *, icon: str | None = None, at_first: bool = False) -> Any:
    """Return a box; `.open` tells whether its content is wanted.

    Whether it is open is kept apart from the widget, which forgets it when its label changes.

    Parameters
    ----------
    key : str
        Of the session; set it to open or close the box from elsewhere.
    label : str
        Markdown. The less it changes the better: a new label takes the focus away.
    icon : str, optional
    at_first : bool
        Open on the first visit.
    """
    box = f"{key} box"
    st.session_state[box] = st.session_state.setdefault(key, at_first)
    return st.expander(label, key=box, icon=icon, on_change=_note, args=(key, box))


def _note(key: str, box: str) -> None:
    st.session_state[key] = st.session_state[box]

"""Begins every step at its top: a long answer was read down to the button for the next step."""

import streamlit as st

FLAT_S = 0.12


def begin_at_top(view: int) -> None:
    """Let a page that shows something else than before stand at its top.

    For a moment the page has no height, so that nothing is left to be scrolled down to. It begins
    anew only when the name of its animation changes, which is when the number of the view does.

    Parameters
    ----------
    view : int
        Another one for each step, and for what else begins at the top.
    """
    st.html(
        f"<style>@keyframes lesson-view-{view} "
        "{ 0% { max-height: 0; min-height: 0; overflow: hidden; } }\n"
        '[data-testid="stMainBlockContainer"] '
        f"{{ animation: lesson-view-{view} {FLAT_S}s step-end; }}</style>"
    )

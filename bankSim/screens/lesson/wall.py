"""The switch that makes everything large, for the back row."""

import streamlit as st

# all lengths of the page follow the root's letters; the last rule lets the answer use the width
_LARGE = """<style>
html { font-size: 25px !important; }
[data-testid="stMainBlockContainer"] { padding-top: 4rem; }
</style>"""


def for_the_wall() -> bool:
    """Show the switch and, when it is on, make the page large; tell whether it is on."""
    wall = st.toggle(
        "For the wall",
        key="lesson wall",
        persist_state="session",
        help="Large letters and figures, for a class.",
    )
    if wall:
        st.html(_LARGE)
    return wall

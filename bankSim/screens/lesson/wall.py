"""The switch that makes everything large, for the back row."""

import streamlit as st

# all lengths of the page follow the root's letters; the title makes room for the step
_LARGE = """<style>
html { font-size: 27px !important; }
[data-testid="stMainBlockContainer"] { padding-top: 4rem !important; }
[data-testid="stElementContainer"]:has(h1),
[data-testid="stElementContainer"]:has(h1) + [data-testid="stElementContainer"] {
  position: absolute; left: -200vw; }
[data-testid="stMain"] h2 { font-size: 1.4rem !important; }
[data-testid="stVerticalBlock"] { gap: 0.6rem; }
</style>"""


def for_the_wall() -> bool:
    """Show the switch and, when it is on, make the page large; tell whether it is on."""
    wall = st.toggle(
        "Large, for the wall",
        key="lesson wall",
        persist_state="session",
    )
    if wall:
        st.html(_LARGE)
    return wall

"""Short questions beside the five steps."""

import streamlit as st

from bankSim.screens.my_test.deeper_section import show_deeper
from bankSim.screens.my_test.gauge_section import show_gauge
from bankSim.screens.my_test.plan_section import show_plan
from bankSim.screens.my_test.shelf import Shelf

GAUGE, DEEPER, PLAN = QUESTIONS = (
    "How far off is a meter that knows only the voltage?",
    "Two batteries: larger cells, or the same taken deeper?",
    "How long will my test take?",
)


def show_more(shelf: Shelf) -> None:
    """Show the chosen question."""
    question = st.radio("Question", QUESTIONS, key="more question", persist_state="session")
    if question == GAUGE:
        show_gauge(shelf)
    elif question == DEEPER:
        show_deeper()
    else:
        show_plan()

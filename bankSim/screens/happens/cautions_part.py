"""The part of a page that shows the cautions: what presses at once, the rest behind a step."""

import streamlit as st

from bankSim.screens.happens.warned import cautions_html, split
from bankSim.screens.happens.wording import on_screen
from bankSim.show.beware import CHECKED
from bankSim.show.words import counted
from bankSim.sim.result import Result

FIRST_CAUTIONS = 4  # dangers are always shown


def show_cautions(result: Result) -> None:
    """Show dangers and warnings; notes and what was looked at stand behind one step."""
    pressing, notes, more = split(result)
    st.header("Cautions", anchor=False)
    dangers = sum(one.severity == "danger" for one in pressing)
    first = max(FIRST_CAUTIONS, dangers)
    if pressing:
        st.html(cautions_html(pressing[:first]))
    else:
        st.markdown("No danger and no warning was found for this run.")
    if pressing[first:]:
        with st.expander(f"{counted(len(pressing) - first, 'more warning')}"):
            st.html(cautions_html(pressing[first:]))
    if more:
        st.markdown(f"And {more:,} more of the same kinds; all of them are in the summary file.")
    count = f"{counted(len(notes), 'note')}, and w" if notes else "W"
    with st.expander(f"{count}hat was looked at"):
        if notes:
            st.html(cautions_html(notes))
        st.markdown(on_screen(CHECKED))

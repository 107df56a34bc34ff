"""A closer look at one cut-out: its cells against their limit, and what the others then carry."""

import streamlit as st

from bankSim.screens.charts import cut_out_chart, cut_out_words
from bankSim.screens.drawing import draw, look
from bankSim.screens.frame import show_grid
from bankSim.screens.happens.switchings import SEEN_AT_ONCE, cells_grid, choice_words, choices
from bankSim.screens.plain import plain
from bankSim.show.causes import trips
from bankSim.show.moments import moment
from bankSim.sim.result import Result


@st.fragment
def show_cut_outs(result: Result) -> None:
    """Let a cut-out be chosen, and show it cell by cell."""
    st.header("Look at each cut-out", anchor=False)
    found = choices(result)
    if not found:
        st.markdown("No battery cuts out and none blocks its charge during this run.")
        return
    place = st.selectbox(
        "Which one",
        range(len(found)),
        format_func=lambda number: choice_words(result, found[number]),  # no markdown in here
        key="cut-out",
        help="Type to search.",
    )
    hidden = len(trips(result)) - len(found)
    if hidden:
        st.caption(f"The first of each kind; {hidden:,} more are in the table of events.")
    event = found[place if place is not None and place < len(found) else 0]
    draw(cut_out_chart(result, event, look()), cut_out_words(result, event), "cut-out chart")
    section = moment(result, event)
    st.markdown(f"**{plain(section.title)}**")
    grid = cells_grid(event)
    if grid is not None:
        tall = len(grid.rows) > SEEN_AT_ONCE
        show_grid(grid, "Voltages of the cells", tall=tall)
        if tall:
            st.caption(
                f"The table has all {len(grid.rows)} cells: scroll inside it for the rest. What "
                "decides stands first."
            )
    for line in section.lines[grid is not None :]:
        st.markdown(plain(line))

"""The lower part of the page: charge, events, what it rests on, the rest of the story."""

import streamlit as st

from bankSim.scenario.draft import Draft
from bankSim.scenario.record import Scenario
from bankSim.screens.charts import charge_bars, charge_words
from bankSim.screens.drawing import draw, look
from bankSim.screens.frame import show_grid
from bankSim.screens.happens.basis import assumed_grid, subjects
from bankSim.screens.happens.chances import WHAT_IT_MEANS, chances_grid
from bankSim.screens.happens.files import offer_all, offer_events
from bankSim.screens.happens.switchings import events_grid
from bankSim.screens.happens.wording import for_screen
from bankSim.screens.plain import plain
from bankSim.show.basis import alike_cells
from bankSim.show.blocks import Grid, Section
from bankSim.show.left_words import left_lines
from bankSim.show.moments import moments
from bankSim.show.outcomes import charge_table
from bankSim.show.unknowns_table import drawn_section
from bankSim.sim.result import Result
from bankSim.study.quick_fan import QuickSpread

SHOWN_ELSEWHERE = ("Cautions", "What each battery gave", "What was assumed", "Safety")
SWITCHED = "What switched"


def show_charge(result: Result, spread: QuickSpread | None) -> None:
    """Show label, delivered and stranded charge of each battery."""
    st.header("What each battery gives", anchor=False)
    draw(charge_bars(result, spread, look()), charge_words(result, spread), "charge")
    for line in left_lines(result):
        st.caption(plain(line))
    section = charge_table(result)
    with st.expander("The same as a table"):
        _body(section)


def show_events(draft: Draft, result: Result) -> None:
    """Show every switching, and offer it as a file."""
    st.header("What switched, and why", anchor=False)
    grid, note = _events(draft.digest, result)
    if note:
        st.markdown(note)
    if grid is not None:
        show_grid(grid, "What switched, and why", tall=True)
        st.caption("Voltages are those just before it switched.")
        offer_events(draft, result)


@st.cache_resource(max_entries=24, show_spinner=False)
def _events(digest: str, _result: Result) -> tuple[Grid | None, str]:
    return events_grid(_result)


@st.fragment
def show_varied(scenario: Scenario, spread: QuickSpread) -> None:
    """Explain the band: what it means, each battery's chances, what was varied and why so far."""
    part = st.expander(
        "What the chances mean, and what was varied", on_change="rerun", key="varied open"
    )
    if not part.open:
        return
    from bankSim.study.find_unknowns import find_unknowns

    with part:
        st.markdown(WHAT_IT_MEANS)
        st.markdown(
            f"The chances are from {spread.draws:,} cases, the bands over time from "
            f"{spread.fan.draws:,} of them. Numbers from 5 to 95 % of the cases:"
        )
        show_grid(chances_grid(spread), "Chances of each battery")
        st.markdown("**What was varied**")
        _body(for_screen(drawn_section(find_unknowns(scenario), in_words=True)))


@st.fragment
def show_assumed(result: Result) -> None:
    """Show what the file left open, narrowed down by subject and words."""
    part = st.expander("What was assumed, and from where", on_change="rerun", key="assumed open")
    if not part.open:
        return
    with part:
        if not result.scenario.assumed:
            st.markdown("Nothing: your file gives every value.")
            _alike(result)
            return
        st.markdown(
            "You did not give these values. One that names no battery holds for all of them. What "
            "you know better, put in on *Your bank*."
        )
        with st.container(horizontal=True, gap="small"):
            subject = st.selectbox("About", subjects(result), key="assumed about", width=260)
            words = st.text_input("With the words", key="assumed words", width=260, max_chars=80)
        grid, count = assumed_grid(result, subject or "", words or "")
        if count:
            show_grid(grid, "What was assumed", tall=True)
        st.caption(f"{count:,} values" if count else "No value has all these words.")
        _alike(result)


def _alike(result: Result) -> None:
    for line in alike_cells(result):
        st.markdown(plain(line))


def show_rest(draft: Draft, result: Result, sections: tuple[Section, ...]) -> None:
    """Show the other sections of the story, then the files."""
    st.header("More", anchor=False)
    show_assumed(result)
    shown = {*SHOWN_ELSEWHERE, *(one.title for one in moments(result))}
    for section in sections:
        if section.title not in shown and not section.title.startswith(SWITCHED):
            with st.expander(plain(section.title)):
                _body(for_screen(section))
    st.header("Take it with you", anchor=False)
    offer_all(draft, result)


def _body(section: Section) -> None:
    """Show a section without its title."""
    if section.grid is not None:
        show_grid(section.grid, section.title)
    for line in section.lines:
        st.markdown(plain(line))

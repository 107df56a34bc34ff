"""Shows the lesson: where one is, the step, the way on."""

import streamlit as st

from bankSim.screens.frame import show_grid
from bankSim.screens.lesson.course import Course, answered, course
from bankSim.screens.lesson.progress import show_strip, told_progress
from bankSim.screens.lesson.sheet import answer_sheet, blank_sheet
from bankSim.screens.lesson.show_step import show_step
from bankSim.screens.lesson.steps import STEPS, thumb_grid
from bankSim.screens.lesson.top import begin_at_top
from bankSim.screens.lesson.wall import for_the_wall
from bankSim.screens.router import page_file


def show_lesson() -> None:
    """Show the step before the visitor, and what is around it."""
    way = course()
    with st.container(horizontal=True, vertical_alignment="center"):
        _list_of_steps(way)
        wall = for_the_wall()
        st.markdown(told_progress(way), width="content")
        if wall:  # in reach without scrolling
            _on_and_back(way)
    begin_at_top(2 * way.place + (wall and way.step.key in way.guesses))
    show_strip(way)
    show_step(way, wall=wall)
    if not wall:
        with st.container(horizontal=True):
            _on_and_back(way)
    if way.place == len(STEPS) - 1:
        _take_home()
    _sheets(way)


def _list_of_steps(way: Course) -> None:
    with st.popover("All steps"):
        for place, step in enumerate(STEPS):
            done = ", answered" if step.key in way.guesses else ""
            st.button(
                f"{place + 1}. {step.title}{done}",
                key=f"lesson jump {place}",
                on_click=way.go,
                args=(place,),
                width="stretch",
                type="primary" if place == way.place else "secondary",
            )


def _on_and_back(way: Course) -> None:
    last = len(STEPS) - 1
    st.button(
        "Back",
        key="lesson back",
        on_click=way.go,
        args=(way.place - 1,),
        disabled=way.place == 0,
    )
    st.button(
        "Next step" if way.place < last else "This is the last step",
        key="lesson next",
        on_click=way.go,
        args=(way.place + 1,),
        disabled=way.place == last,
        type="primary" if way.step.key in way.guesses else "secondary",
    )


def _take_home() -> None:
    st.header("What to do", anchor=False)
    st.markdown(
        "Test each battery alone and look at its cells. Even them out before they are joined. "
        "Choose every one so that it may carry the whole load, or keep the load below what the "
        "weakest may give. Take current off at opposite ends, or from rails with equal leads. "
        "Join only rested batteries whose voltages agree."
    )
    show_grid(thumb_grid(), "Rules of thumb and where they fail")
    st.page_link(
        page_file("your_bank"),
        label="Now with your own: Your bank",
        icon=":material/arrow_forward:",
    )


def _sheets(way: Course) -> None:
    with st.expander("Sheets to print"):
        st.download_button(
            "Blank questions to hand out",
            data=blank_sheet,
            file_name="how-parallel-adds-questions.html",
            mime="text/html",
            key="lesson blank sheet",
            on_click="ignore",
        )
        if way.guesses:
            _own_sheet(way)
        st.caption(
            "They open in any browser and print from there: two pages of questions, three with "
            "answers."
        )


def _own_sheet(way: Course) -> None:
    guesses = dict(way.guesses)
    answers = {
        step.key: answered(step.key, step.slider.start) for step in STEPS if step.key in guesses
    }
    st.download_button(
        f"My guesses and the answers ({len(guesses)} of {len(STEPS)})",
        data=lambda: answer_sheet(guesses, answers),
        file_name="how-parallel-adds-answers.html",
        mime="text/html",
        key="lesson own sheet",
        on_click="ignore",
    )

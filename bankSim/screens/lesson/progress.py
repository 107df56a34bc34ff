"""Shows how far the lesson has come: words, and a strip with a part for each step."""

import streamlit as st

from bankSim.screens.charts.look import DARK, LIGHT, Look
from bankSim.screens.drawing import is_dark
from bankSim.screens.lesson.course import Course
from bankSim.screens.lesson.steps import STEPS


def told_progress(way: Course) -> str:
    """Say which step is before the visitor among all, and how many are answered."""
    return f"Step {way.place + 1} of {len(STEPS)}, {len(way.guesses)} answered"


def show_strip(way: Course) -> None:
    """Show the same as a strip."""
    look = DARK if is_dark() else LIGHT
    parts = "".join(_part(way, place, look) for place in range(len(STEPS)))
    st.html(
        '<div aria-hidden="true" style="display:flex;gap:4px;align-items:center;height:14px">'
        f"{parts}</div>"
    )


def _part(way: Course, place: int, look: Look) -> str:
    """Answered ones are filled, the present one is taller."""
    colour = look.colours[0] if STEPS[place].key in way.guesses else look.faint
    tall = 14 if place == way.place else 6
    return (
        f'<span style="flex:1;height:{tall}px;background:{colour};'
        f'border:1px solid {look.quiet}"></span>'
    )

"""Shows one step: the question and a guess, then the answer and a slider."""

import re

import streamlit as st

from bankSim.screens import warm_up
from bankSim.screens.charts.look import DARK, LIGHT
from bankSim.screens.drawing import draw, is_dark
from bankSim.screens.lesson.circuit import Branch, circuit_svg, circuit_words
from bankSim.screens.lesson.course import Course, answered
from bankSim.screens.lesson.hands import ask_hands, tell_hands
from bankSim.screens.lesson.pictures import spec_of
from bankSim.screens.lesson.step import Answer, Choice, Guess, Step
from bankSim.screens.plain import plain

WALL_PX = 520  # of a circuit with two batteries
BESIDE = 3  # batteries: a circuit with more stands below the picture at the wall
# a number and its unit stay on one line
_UNIT = re.compile(r"(?<=\d) (?=(?:A|Ah|V|mV|mohm|m|mm²|h|min|s|\\?%)(?![a-z]))")


def _said(text: str) -> str:
    return _UNIT.sub("\N{NO-BREAK SPACE}", plain(text))


def show_step(way: Course, *, wall: bool) -> None:
    """Show the step before the visitor.

    Parameters
    ----------
    way : Course
    wall : bool
        Figures large, for a class.
    """
    step = way.step
    st.header(step.title, anchor=False)
    if step.key in way.guesses:
        _told(way, step, wall=wall)
        return
    left, right = st.columns([3, 2], gap="large", vertical_alignment="center")
    with left:
        st.markdown(_said(step.text))
    with right:
        _circuit(step.before, step.load, wall=wall)
    with left:
        _ask(way, step)


def _ask(way: Course, step: Step) -> None:
    with st.form(f"lesson form {step.key}", border=False):
        guess = _guess(step)
        asked = st.form_submit_button("Show me", key=f"lesson show {step.key}", type="primary")
    if asked and guess is None:
        st.error("Make a guess first; then the answer is worth more.")
    elif asked and guess is not None:
        way.guesses[step.key] = guess
        st.rerun()
    ask_hands(way, step)


def _guess(step: Step) -> Guess | None:
    question, key = step.question, f"lesson guess {step.key}"
    if isinstance(question, Choice):
        return st.radio(_said(question.text), question.options, index=None, key=key)
    return st.number_input(
        _said(f"{question.text} [{question.unit}]"),
        min_value=0.0,
        max_value=question.highest,
        value=None,
        step=1.0,
        format="%g",
        placeholder=f"your guess in {question.unit}",
        key=key,
    )


def _told(way: Course, step: Step, *, wall: bool) -> None:
    warm_up.hold()
    if wall:  # all at one glance; the class has just read the text
        words, pictures = st.columns([1, 2], gap="large")
    else:
        st.markdown(_said(step.text))
        words = pictures = st.container()
    with words:
        answer = _found(way, step)
    with pictures:
        _pictures(step, answer, wall=wall)
    with pictures:
        st.markdown(_said(answer.why))
        st.markdown(f"*A sceptic would ask: {_said(answer.doubt)}* {_said(answer.reply)}")
    with words:
        key = f"lesson again {step.key}"
        st.button("Ask again", key=key, on_click=way.forget, args=(step.key,))


def _found(way: Course, step: Step) -> Answer:
    """Show the guess beside the truth, and what comes out where the slider stands."""
    first, guess = answered(step.key, step.slider.start), way.guesses[step.key]
    st.markdown(f"**{_said(step.question.text)}**")
    st.info(_said(step.question.verdict(guess, first.truth)))
    tell_hands(way, step, first.truth)
    answer = answered(step.key, round(_slider(step), 6))
    st.markdown(f"**{_said(answer.headline)}**")
    return answer


def _slider(step: Step) -> float:
    slider = step.slider
    return float(
        st.slider(
            f"Try it: {_said(slider.label)}",
            slider.low,
            slider.high,
            slider.start,
            slider.step,
            slider.format,
            key=f"lesson slider {step.key}",
            persist_state="session",
        )
    )


def _pictures(step: Step, answer: Answer, *, wall: bool) -> None:
    if wall and len(answer.branches) > BESIDE:
        left = right = st.container()
    else:
        left, right = st.columns([3, 2], gap="medium", vertical_alignment="center")
    with left:
        look = DARK if is_dark() else LIGHT
        spec = spec_of(answer.picture, look, wall=wall)
        draw(spec, answer.picture.words, f"lesson picture {step.key}", tools=False)
    with right:
        _circuit(answer.branches, answer.load or step.load, wall=wall)


def _circuit(branches: tuple[Branch, ...], load: str, *, wall: bool) -> None:
    look = DARK if is_dark() else LIGHT
    st.image(
        circuit_svg(branches, load, look),
        width=(WALL_PX if len(branches) <= BESIDE else 2 * WALL_PX) if wall else "content",
        alt=circuit_words(branches, load),
    )

"""Hands up: a class's guesses, counted by group of answers."""

import streamlit as st

from bankSim.screens.lesson.course import Course, hand_key
from bankSim.screens.lesson.step import Guess, Step
from bankSim.screens.plain import plain

MOST_HANDS = 999


def ask_hands(way: Course, step: Step) -> None:
    """Offer a number for each group of answers."""
    with st.expander("A class? Count hands"):
        counted = tuple(
            st.number_input(
                plain(f"Hands for: {group}"),
                min_value=0,
                max_value=MOST_HANDS,
                step=1,
                key=hand_key(step.key, place),
                persist_state="session",
            )
            for place, group in enumerate(step.question.groups)
        )
    way.hands[step.key] = counted


def hands_words(step: Step, hands: tuple[int, ...], truth: Guess) -> str:
    """Say how many hands were right; nothing when none went up."""
    if not sum(hands):
        return ""
    right = step.question.group_of(truth)
    told = ", ".join(
        f"{group}: {count}" for group, count in zip(step.question.groups, hands, strict=True)
    )
    return (
        f"Hands: {told}. Right were {hands[right]} of {sum(hands)} ({step.question.groups[right]})."
    )


def tell_hands(way: Course, step: Step, truth: Guess) -> None:
    """Show how many hands were right."""
    words = hands_words(step, way.hands.get(step.key, ()), truth)
    if words:
        st.markdown(plain(words))

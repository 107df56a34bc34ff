"""Where one visitor is in the lesson, what they guessed, how many hands went up."""

from dataclasses import dataclass, field

import streamlit as st

from bankSim.screens.lesson.step import Answer, Guess, Step
from bankSim.screens.lesson.steps import STEPS

_KEY = "lesson course"
KEPT = 240


@dataclass
class Course:
    """The way of one visitor through the lesson.

    Parameters
    ----------
    place : int
        The step before them, from 0.
    guesses : dict
        By the key of the step; a step with a guess shows its answer.
    hands : dict
        By the key of the step: hands for each group of answers.
    """

    place: int = 0
    guesses: dict[str, Guess] = field(default_factory=dict)
    hands: dict[str, tuple[int, ...]] = field(default_factory=dict)

    @property
    def step(self) -> Step:
        """Return the step before them."""
        return STEPS[self.place]

    def go(self, place: int) -> None:
        """Go to a step, as far as there are any."""
        self.place = min(max(place, 0), len(STEPS) - 1)

    def forget(self, key: str) -> None:
        """Ask a step again: the guess and the hands go."""
        self.guesses.pop(key, None)
        for place in range(len(self.hands.pop(key, ()))):
            st.session_state.pop(hand_key(key, place), None)


def hand_key(key: str, place: int) -> str:
    """Return the key of the field for hands in a group of answers."""
    return f"lesson hands {key} {place}"


def course() -> Course:
    """Return the way of this visitor."""
    if _KEY not in st.session_state:
        st.session_state[_KEY] = Course()
    found: Course = st.session_state[_KEY]
    return found


@st.cache_resource(max_entries=KEPT, show_spinner=False)
def answered(key: str, value: float) -> Answer:
    """Return the answer of a step at a place of its slider; asked once for all visitors.

    `value` in the unit of the slider.
    """
    step = next(step for step in STEPS if step.key == key)
    return step.answer(value)

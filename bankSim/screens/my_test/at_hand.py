"""Keeps the last answers of this page; each is small (`Shown`)."""

from collections.abc import Callable

import streamlit as st

from bankSim.errors import SimulationError
from bankSim.measured.log import LogError
from bankSim.screens.my_test.shown import Shown, shown
from bankSim.screens.my_test.words import on_page
from bankSim.screens.plain import plain
from bankSim.show.answer import Answer

KEPT = 48


def answered(digest: str, work: Callable[[], Answer]) -> Shown | None:
    """Return the answer to a question, or say in a line why there is none.

    Parameters
    ----------
    digest : str
        Of everything that was asked.
    work : callable
        Finds the answer.
    """
    try:
        return _answered(digest, work)
    except SimulationError as error:
        show_trouble(error)
        return None


def show_trouble(error: SimulationError) -> None:
    """Say what a person can mend, a line for each fault."""
    for line in str(error).splitlines():
        st.error(plain(on_page(line)))


def in_words_of_page(error: SimulationError) -> LogError:
    """Return the same trouble, in the words of the page."""
    return LogError(on_page(str(error)))


@st.cache_resource(max_entries=KEPT, show_spinner="Working it out ...")
def _answered(digest: str, _work: Callable[[], Answer]) -> Shown:
    return shown(_work())

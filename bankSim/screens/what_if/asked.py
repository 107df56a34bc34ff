"""What was asked of the bench and is worked out in a job: found again, and its answer awaited."""

from collections.abc import Mapping
from typing import Any, Protocol

import streamlit as st

from bankSim.screens.jobs import answer_of, job_of
from bankSim.screens.what_if.outcome import Bench
from bankSim.screens.what_if.play import Play


class Asked(Protocol):
    """A question and the sliders as they stood."""

    @property
    def digest(self) -> str:
        """Changes with everything that was asked; begins with that of the draft."""

    @property
    def settings(self) -> Mapping[str, float]:
        """The sliders as they stood. In the units of the sliders."""


def answer_to(bench: Bench, kept: str, job_name: str, words: str) -> tuple[Any, Any] | None:
    """Show how far the job is; return what was asked and its answer once that is there.

    Parameters
    ----------
    bench : Bench
        None is returned when another bank was asked about.
    kept : str
        Where the session keeps what was asked.
    job_name, words : str
        Of the job; what is being done, for the visitor.
    """
    asked: Asked | None = st.session_state.get(kept)
    job = job_of(job_name, asked.digest) if asked is not None else None
    if asked is None or job is None or not asked.digest.startswith(bench.draft.digest):
        return None
    answer = answer_of(job, words)
    return None if answer is None else (asked, answer)


def say_when_moved(bench: Bench, mine: Play, asked: Asked, words: str) -> None:
    """Say some words when the sliders were moved since it was asked."""
    if bench.moved(mine.settings) != bench.moved(asked.settings):
        st.caption(words)

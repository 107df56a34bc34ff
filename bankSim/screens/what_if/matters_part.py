"""What matters most: asked for by a button, worked out with progress, told and drawn."""

import re
from dataclasses import dataclass, replace

import streamlit as st

from bankSim.screens.charts import tornado_chart, tornado_words
from bankSim.screens.drawing import draw, look
from bankSim.screens.frame import show_section
from bankSim.screens.jobs import start
from bankSim.screens.plain import plain
from bankSim.screens.what_if.asked import answer_to, say_when_moved
from bankSim.screens.what_if.matters_study import Reaches, find_matters
from bankSim.screens.what_if.outcome import Bench
from bankSim.screens.what_if.play import Play

JOB, ASKED = "what if matters", "what if matters asked"
OPTIONS = re.compile(r" \(--draws\)|: give --draws \d+(?=\.)")
INTO_THE_FILE = re.compile(r"; then (?:write|narrow) .*(?=\.$)")
KEY_ITSELF, THE_THING = re.compile(r"find out \S+ more closely"), "find it out more closely"
INTO_THE_BANK = "; then enter it on the page Your bank"
RARE_CASES = "a study of the spread counts those"
RARE_CASES_HERE = "looking harder, on the page What happens, counts those"
LEFT_OUT = ("Safety", "What was drawn")  # below every page; on the page What happens


@dataclass(frozen=True)
class MattersAsked:
    """What was asked.

    Parameters
    ----------
    digest : str
    settings : dict of str to float
        In the units of the sliders.
    """

    digest: str
    settings: dict[str, float]


@st.fragment
def show_matters(bench: Bench, mine: Play) -> None:
    """Show the button, and the answer once it is there."""
    st.caption(
        "Which of the things that nobody knows exactly moves the answer most, and what to measure "
        "next. It takes some seconds."
    )
    if st.button("Find what matters most", key="what if matters go"):
        asked = MattersAsked(bench.digest(mine.settings), dict(mine.settings))
        st.session_state[ASKED] = asked
        scenario = bench.variant(asked.settings)
        start(JOB, asked.digest, lambda progress: find_matters(scenario, progress))
    _answer(bench, mine)


def _answer(bench: Bench, mine: Play) -> None:
    found = answer_to(bench, ASKED, JOB, "What matters")
    if found is None:
        return
    asked, reaches = found
    say_when_moved(bench, mine, asked, "This is of the sliders as they stood when it was asked.")
    _show(reaches)


def _show(found: Reaches) -> None:
    from bankSim.show.matters_story import tell_matters

    story = tell_matters(found.result, briefly=True)
    for line in story.headline:
        st.markdown(plain(told_here(line)))
    if found.labels:
        labels, low, high = found.labels, found.low.tolist(), found.high.tolist()
        unit, answer = found.result.answer.unit, found.result.answer.text
        spec = tornado_chart(
            labels, low, high, middle=found.middle, unit=unit, answer=answer,
            look=look(),
        )  # fmt: skip
        words = tornado_words(labels, low, high, middle=found.middle, unit=unit, answer=answer)
        draw(spec, words, "matters")
        st.caption(
            "Each bar: the answer with this one alone at its low and its high end (5 and 95 %); of "
            "several cells together, 9 in 10 draws in which only they vary."
        )
    for section in story.sections:
        if section.title not in LEFT_OUT:
            show_section(replace(section, lines=tuple(map(told_here, section.lines))))


def told_here(line: str) -> str:
    """Return a sentence of the story without options of the command line."""
    told = INTO_THE_FILE.sub(INTO_THE_BANK, OPTIONS.sub("", line))
    told = KEY_ITSELF.sub(THE_THING, told)
    return told.replace(RARE_CASES, RARE_CASES_HERE)

"""Shows the page: the answer it will carry, what goes in, the work, the files."""

from datetime import datetime

import streamlit as st

from bankSim.scenario.draft import Draft
from bankSim.screens import jobs
from bankSim.screens.answers import checked
from bankSim.screens.bank.fault_words import fault_lines
from bankSim.screens.desk import desk
from bankSim.screens.happens.cautions_part import show_cautions
from bankSim.screens.happens.wording import told_on_screen
from bankSim.screens.pictures import show_drawn
from bankSim.screens.plain import plain
from bankSim.screens.report.making import Work, do_work, page_of
from bankSim.screens.report.wish import DRAWS, LARGEST_SEED, Wish
from bankSim.screens.runs import result_or_wait
from bankSim.show.headline import headline
from bankSim.show.report import LONGEST_QUESTION
from bankSim.show.wiring_drawing import wiring_svg, wiring_words
from bankSim.sim.result import Result

JOB, WANTED = "report", "report wish"
LONGEST_FAULT = 500
CONTENTS = (
    "your question, and the answer in a few sentences",
    "cautions, and what was not checked",
    "the bank as a drawing, with every resistance",
    "who cuts out and why; delivered, label and stranded Ah",
    "currents, voltages and temperatures over time",
    "what was assumed and where it comes from; the scenario file; version and seed",
)


def show() -> None:
    """Show everything between the title and the safety words."""
    draft = desk().draft
    found = checked(draft)
    if found.scenario is None:
        st.error("There is no report yet: something in your bank needs mending first.")
        for line in fault_lines(draft, found):
            st.markdown(f"- {plain(line, LONGEST_FAULT)}")
        return
    result = result_or_wait(draft, found.scenario)
    first, *rest = map(told_on_screen, headline(result))
    st.header("What it will say", anchor=False)
    st.markdown(f"**{plain(first)}** {' '.join(map(plain, rest))}")
    wish = _asked()
    if wish is not None:
        _begin(draft, result, wish)
    _hand_over(draft, result)
    _preview(result)


def _preview(result: Result) -> None:
    """Show the rest of what will be in it, below what is asked: a phone is narrow."""
    scenario = result.scenario
    show_cautions(result)
    with st.expander("The drawing of the bank"):
        keys = scenario.keys
        words = " ".join(wiring_words(scenario.bank, keys=keys))
        show_drawn(wiring_svg(scenario.bank, keys=keys), words, "report wiring")
    with st.expander("What is in the report"):
        st.markdown("\n".join(f"- {one}" for one in CONTENTS))


def _asked() -> Wish | None:
    """Ask what goes in; nothing is told to the server before the button is pressed."""
    st.header("What goes in", anchor=False)
    with st.form("report form"):
        question = st.text_area(
            "Your question, in your own words",
            key="report question",
            persist_state="session",
            max_chars=LONGEST_QUESTION,
            placeholder="For example: may the old battery stay in the bank?",
            help="Stands at the top of the report, as you write it. It may be left empty.",
        )
        is_drawn = st.checkbox(
            "Say how sure it is",
            value=True,
            key="report draws wanted",
            persist_state="session",
            help="Runs the bank many times, each time with other values of what is not known "
            "exactly, and tells the range. Takes a few seconds more.",
        )
        with st.expander("Number of random cases"):
            draws = st.selectbox(
                "Cases at most",
                DRAWS,
                index=1,
                key="report draws",
                persist_state="session",
                help="More cases make the edges of the range firmer.",
            )
            seed = st.number_input(
                "Seed",
                min_value=0,
                max_value=LARGEST_SEED,
                value=1,
                key="report seed",
                persist_state="session",
                help="The same seed gives the same cases again. It stands in the report.",
            )
        is_wanted = st.form_submit_button("Make the report", type="primary")
    return Wish(question or "", draws if is_drawn else 0, int(seed)) if is_wanted else None


def _begin(draft: Draft, result: Result, wish: Wish) -> None:
    """Start the work, unless only the question is another one."""
    digest = wish.digest(draft.digest)
    st.session_state[WANTED] = (draft.digest, wish)
    if jobs.job_of(JOB, digest) is None:
        tables, now = dict(draft.tables), datetime.now()
        jobs.start(JOB, digest, lambda tell: do_work(result, tables, wish, tell, now))


def _hand_over(draft: Draft, result: Result) -> None:
    """Show how far the work is, then offer the files."""
    if WANTED not in st.session_state:
        return
    asked_of, wish = st.session_state[WANTED]
    job = jobs.job_of(JOB, wish.digest(draft.digest))
    if asked_of != draft.digest:
        st.info("Your bank has changed since the last report. Make it again to have the new one.")
    elif job is None:
        st.info("Stopped. No report was made.")
    else:
        work = jobs.answer_of(job, "Making the report")
        if work is not None:
            _offer(result, work, wish)


def _offer(result: Result, work: Work, wish: Wish) -> None:
    page = page_of(result, work, wish.question).encode()
    st.header("The report is ready", anchor=False)
    asked = f"with your question: {plain(wish.question, 200)}" if wish.question else "no question"
    st.markdown(f"Made at {work.made_on:%H:%M}, {asked}")
    st.download_button(
        f"Download the report (one file, HTML, {_size(page)})",
        page,
        "report.html",
        "text/html",
        key="report page",
        on_click="ignore",
        type="primary",
    )
    st.caption("Opens in any browser without a network. Print it from there to paper or PDF.")
    st.download_button(
        f"Download the numbers (zip, {_size(work.data)})",
        work.data,
        "report-data.zip",
        "application/zip",
        key="report data",
        on_click="ignore",
    )
    st.caption("The scenario file with its tables, all results as CSV and JSON, the figures.")
    with st.expander("Look at its figures"):
        for name, one in work.pictures.items():
            show_drawn(one.png, one.alt, f"report-{name}")
            st.caption(plain(one.caption))


def _size(content: bytes) -> str:
    return f"{len(content) / 1e6:.1f} MB" if len(content) >= 1e5 else f"{len(content) / 1e3:.0f} kB"

"""Step 1: bring logs, see how they are understood, say better what the columns are."""

from functools import partial

import streamlit as st

from bankSim.errors import SimulationError
from bankSim.measured.log import AUTO, CHARGE_POSITIVE, DISCHARGE_POSITIVE, Asked
from bankSim.screens.drawing import draw, is_dark
from bankSim.screens.my_test import examples
from bankSim.screens.my_test.at_hand import show_trouble
from bankSim.screens.my_test.choosing import choose_log
from bankSim.screens.my_test.column_words import label_of_column, number_of, word_of
from bankSim.screens.my_test.log_chart import log_chart, log_chart_words
from bankSim.screens.my_test.reading import Look, headers, look
from bankSim.screens.my_test.shelf import MOST_LOG_MB, MOST_LOGS, MOST_SHELF_MB, Kept, Shelf
from bankSim.screens.my_test.taking import check_table
from bankSim.screens.my_test.view import show_inside
from bankSim.screens.plain import plain

TURN, TROUBLE, LOOKED_AT = "logs brought", "logs refused", "log looked at"
SIGNS = {
    AUTO: "find out from how the voltage answers",
    DISCHARGE_POSITIVE: "discharge is positive",
    CHARGE_POSITIVE: "charge is positive",
}
MEANINGS = ("time", "voltage", "current", "temperature")


def show_logs(shelf: Shelf) -> None:
    """Show the first step."""
    _bring(shelf)
    for line in st.session_state.get(TROUBLE, ()):
        st.error(plain(line))
    if not shelf.logs:
        return
    st.header("How it is understood", anchor=False)
    kept = choose_log(shelf, "Log to look at", LOOKED_AT)
    if kept is None:
        return
    _one(shelf, kept)


def _bring(shelf: Shelf) -> None:
    """Take files over; the uploader is emptied, so that no log is held twice."""
    turn = st.session_state.setdefault(TURN, 0)
    files = st.file_uploader(
        "Bring your logs (CSV or other tables as text)",
        accept_multiple_files=True,
        key=f"bring {turn}",
        max_upload_size=MOST_LOG_MB,
        help="A row a sample, with time, voltage and current; separators, decimal commas, clock "
        "times and units in headers are found out. Cell voltages, temperature and the currents "
        "of single batteries are read where they are there.",
    )
    st.caption(
        f"Up to {MOST_LOG_MB} MB a log, {MOST_LOGS} logs and {MOST_SHELF_MB} MB together. They "
        "stay on the machine that serves this page, for this visit only."
    )
    if files:
        before = len(shelf.logs)
        st.session_state[TROUBLE] = _take(shelf, [(one.name, one.getvalue()) for one in files])
        st.session_state[TURN] = turn + 1
        if len(shelf.logs) > before:
            st.session_state[LOOKED_AT] = shelf.logs[before].digest
        st.rerun()
    _examples(shelf)


def _take(shelf: Shelf, files: list[tuple[str, bytes]]) -> list[str]:
    """Put files on the shelf that are tables; return a line for each that is not."""
    troubles = []
    for name, content in files:
        try:
            check_table(shelf, shelf.add(name, content))
        except SimulationError as error:
            troubles.append(str(error))
    return troubles


def _examples(shelf: Shelf) -> None:
    st.button(
        "Try it with the example logs",
        on_click=_bring_examples,
        args=(shelf,),
        help="Made up with a solver for two invented batteries; nobody measured them.",
    )
    if any(one.name in examples.LOGS for one in shelf.logs):
        st.caption(
            "The logs named synthetic-... are **made up**: a solver made them for two invented "
            "batteries, nobody measured them. They say nothing about any real battery."
        )


def _bring_examples(shelf: Shelf) -> None:
    try:
        examples.bring(shelf)
    except SimulationError as error:
        st.session_state[TROUBLE] = [str(error)]


def _one(shelf: Shelf, kept: Kept) -> None:
    """Show one log: what it says, its picture, its columns."""
    asked = shelf.asked_of(kept)
    try:
        found = look(kept, asked)
    except SimulationError as error:
        show_trouble(error)
        st.markdown("Say which column is what, or remove the log.")
        _columns(shelf, kept, asked, None)
        _remove(shelf, kept)
        return
    with st.container(border=True):
        st.markdown(f"**{plain(found.story.headline[0])}**")
    for line in found.warnings:
        st.warning(plain(line))
    words = log_chart_words(found)
    draw(log_chart(found, dark=is_dark()), words, f"chart {kept.digest}")
    st.caption(plain(words))
    for number, section in enumerate(found.story.sections):
        with st.expander(plain(section.title), expanded=number == 1):
            show_inside(section)
    _columns(shelf, kept, asked, found)
    _remove(shelf, kept)


def _remove(shelf: Shelf, kept: Kept) -> None:
    st.button(
        f"Remove {plain(kept.name)}", on_click=shelf.remove, args=(kept.digest,), key="remove log"
    )


def _columns(shelf: Shelf, kept: Kept, asked: Asked, found: Look | None) -> None:
    """Let the visitor say what the columns are."""
    names = headers(kept)
    if not names:
        return
    numbers = list(range(1, len(names) + 1))
    with (
        st.expander("Change columns or direction", expanded=found is None),
        st.form(f"columns {kept.digest}", border=False),
    ):
        st.caption(
            "What you leave is found out. Units are read from the headers, as in mA, mV, min or h; "
            "if one is wrong, write it into the header of the file and bring it again."
        )
        chosen = {
            meaning: st.selectbox(
                meaning.capitalize(),
                [0, *numbers],
                index=number_of(getattr(asked, meaning), names),
                format_func=partial(
                    label_of_column,
                    headers=names,
                    found=0 if found is None else found.columns.get(meaning, 0),
                ),
            )
            for meaning in MEANINGS
        }
        cells = st.multiselect(
            "Cell voltages, cell 1 first",
            numbers,
            default=[number_of(one, names) for one in asked.cells],
            format_func=lambda n: label_of_column(n, names),
            placeholder="find out",
        )
        sign = st.radio("Direction of the current", list(SIGNS), format_func=SIGNS.__getitem__,
                        index=list(SIGNS).index(asked.sign))  # fmt: skip
        if st.form_submit_button("Read it so"):
            time, voltage, current, temperature = (word_of(chosen[one], names) for one in MEANINGS)
            own = tuple(word_of(n, names) or "" for n in cells)
            said = Asked(time, voltage, current, temperature, own, sign or AUTO)
            shelf.asked[kept.digest] = said
            st.rerun()

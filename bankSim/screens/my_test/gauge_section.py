"""What a meter that knows only the voltage would show, beside the Ah."""

from collections.abc import Callable

import streamlit as st

from bankSim.screens import warm_up
from bankSim.screens.answers import checked, predicted
from bankSim.screens.desk import desk
from bankSim.screens.my_test.at_hand import answered
from bankSim.screens.my_test.choosing import choose_log
from bankSim.screens.my_test.fields import (
    chemistry_field,
    number_field,
    sure_field,
    whole_field,
)
from bankSim.screens.my_test.reading import digest_of, key_of, read
from bankSim.screens.my_test.shelf import Shelf
from bankSim.screens.my_test.view import show_shown
from bankSim.screens.plain import plain
from bankSim.show.answer import Answer
from bankSim.show.gauge_answer import MOST_A, MOST_AH, MOST_CELLS, MOST_V, Said

ALTS = {"gauge": "What the voltage alone would say beside what was counted, over the discharge."}
READING, ALONG_LOG, ALONG_RUN = SOURCES = (
    "one voltage on a meter",
    "all along a log",
    "all along the prediction of my bank",
)


def show_gauge(shelf: Shelf) -> None:
    """Ask what the meter is held against, and answer."""
    source = st.radio("Held against", SOURCES, key="gauge source", persist_state="session")
    if source == READING:
        _reading()
    elif source == ALONG_RUN:
        _along_run()
    elif shelf.logs:
        _along_log(shelf)
    else:
        st.info("Bring a log first, in step 1.")


def _reading() -> None:
    volts = number_field("Voltage on the meter [V]", "gauge volts", 0.1, MOST_V)
    at_A = sure_field(
        "Current at that moment [A]", "gauge amps", -MOST_A, MOST_A, 0.0,
        help="Discharge positive, charge negative.",
    )  # fmt: skip
    said = _said(typed_V=volts, at_A=at_A)
    if volts is None:
        st.info("Type the voltage to get an answer.")
        return

    def work() -> Answer:
        from bankSim.show.gauge_answer import typed_answer

        return typed_answer(said)

    _show(digest_of("gauge", said), work)


def _along_log(shelf: Shelf) -> None:
    kept = choose_log(shelf, "Log of one battery", "gauge log")
    start_percent = sure_field("State of charge at its start [%]", "gauge start", 1.0, 100.0, 100.0)
    said = _said(start_percent=start_percent)
    if kept is None:
        return
    asked = shelf.asked_of(kept)

    def work() -> Answer:
        from bankSim.show.gauge_answer import gauge_answer, of_log

        return gauge_answer([of_log(read(kept, asked), kept.stem, said)])

    _show(digest_of("gauge of log", key_of(kept, asked), said), work)


def _along_run() -> None:
    warm_up.hold()
    draft = desk().draft
    faults = checked(draft).faults
    if faults:
        st.error(f"The bank on your desk is not sound yet: {plain(faults[0])}")
        return

    def work() -> Answer:
        from bankSim.show.gauge_answer import gauge_answer, of_run

        return gauge_answer(of_run(predicted(draft), Said()))

    _show(digest_of("gauge of run", draft.digest), work)


def _said(*, typed_V: float | None = None, at_A: float = 0.0, start_percent: float = 100.0) -> Said:
    chemistry = chemistry_field("gauge chemistry")
    cells = whole_field("Cells in series", "gauge cells", 1, MOST_CELLS)
    rated_Ah = number_field("Capacity on the label [Ah]", "gauge label", 0.01, MOST_AH)
    return Said(None, None, chemistry, cells, rated_Ah, start_percent, typed_V, at_A)


def _show(digest: str, work: Callable[[], Answer]) -> None:
    found = answered(digest, work)
    if found is not None:
        show_shown(found, "gauge", ALTS)

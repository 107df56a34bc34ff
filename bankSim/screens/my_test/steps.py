"""The steps of the page; one is shown at a time, so that only its work is done."""

import streamlit as st

from bankSim.screens.my_test.choosing import shelf
from bankSim.screens.my_test.shelf import Shelf
from bankSim.screens.my_test.view import STYLE

LOGS, LABEL, CUT_OUT, BATTERY, BANK, MORE = STEPS = (
    "1 Logs",
    "2 Capacity against the label",
    "3 Cells at the cut-out",
    "4 Battery from logs",
    "5 Bank against prediction",
    "More",
)
NEEDS_LOGS = (LABEL, BATTERY, BANK)


def show_steps() -> None:
    """Show which steps there are, and the chosen one."""
    own = shelf()
    st.html(STYLE)
    step = st.radio("Step", STEPS, horizontal=True, key="step of my test", persist_state="session")
    if step in NEEDS_LOGS and not own.logs:
        st.info(f"Bring a log first: step {LOGS}.", icon=":material/upload_file:")
        return
    _show(step, own)


def _show(step: str | None, own: Shelf) -> None:
    if step == LABEL:
        from bankSim.screens.my_test.capacity_section import show_capacity

        show_capacity(own)
    elif step == CUT_OUT:
        from bankSim.screens.my_test.snapshot_section import show_snapshot

        show_snapshot(own)
    elif step == BATTERY:
        from bankSim.screens.my_test.calibrate_section import show_calibration

        show_calibration(own)
    elif step == BANK:
        from bankSim.screens.my_test.compare_section import show_comparison

        show_comparison(own)
    elif step == MORE:
        from bankSim.screens.my_test.more_section import show_more

        show_more(own)
    else:
        from bankSim.screens.my_test.log_section import show_logs

        show_logs(own)

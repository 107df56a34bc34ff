"""Step 3: the cell voltages at the cut-out: what each cell still had, and which one decided."""

from collections.abc import Callable

import streamlit as st

from bankSim.measured.typed_snapshot import TypedSnapshot, given_of
from bankSim.screens.my_test.at_hand import answered
from bankSim.screens.my_test.choosing import choose_logs
from bankSim.screens.my_test.fields import number_field, sure_field, text_field, word_field
from bankSim.screens.my_test.reading import digest_of, key_of, read
from bankSim.screens.my_test.shelf import Shelf
from bankSim.screens.my_test.view import show_shown
from bankSim.show.answer import Answer

ALTS = {"snapshot": "What each cell still had at the cut-out, in Ah, with its uncertainty."}
TYPED, LOGGED = "I type them", "from logs with cell voltages"
CHEMISTRIES = ("LFP", "NMC", "AGM", "gel", "flooded")


def show_snapshot(shelf: Shelf) -> None:
    """Show the third step."""
    st.markdown(
        "Read the cells off at, or just before, the cut-out: what each of them still had, "
        "which one ended the test, and what a balance would win."
    )
    how = TYPED
    if shelf.logs:
        how = st.radio("Cell voltages", (TYPED, LOGGED), horizontal=True, key="snapshot how",
                       persist_state="session")  # fmt: skip
    if how == LOGGED:
        _from_logs(shelf)
    else:
        _from_fields()


def _from_fields() -> None:
    volts = text_field(
        "Cell voltages at the cut-out [V], cell 1 first", "snapshot volts",
        placeholder="e.g. 2.31 2.52 2.47 2.38",
        help="With spaces between them; millivolts and decimal commas are understood. Repeats of "
        "one battery have / between them.",
    )  # fmt: skip
    typed = _typed(from_logs=False)
    if volts is None:
        st.info("Type the cell voltages to get an answer.")
        return

    def work() -> Answer:
        from bankSim.measured.snapshot_answer import answer_typed
        from bankSim.measured.typed_voltages import typed_groups
        from bankSim.show.snapshot_story import snapshot_answer

        groups, told = typed_groups([volts])
        return snapshot_answer(answer_typed(groups, given_of(typed), told))

    _show(digest_of("snapshot", volts, typed), work)


def _from_logs(shelf: Shelf) -> None:
    kept = choose_logs(
        shelf, "Logs over the end of a discharge", "snapshot logs",
        help="With cell voltages; several are repeats of one battery.",
    )  # fmt: skip
    typed = _typed(from_logs=True)
    if not kept:
        st.info("Choose one log or several.")
        return
    pairs = [(one, shelf.asked_of(one)) for one in kept]

    def work() -> Answer:
        from bankSim.measured.snapshot_answer import answer_logs
        from bankSim.show.snapshot_story import snapshot_answer

        return snapshot_answer(answer_logs([read(*pair) for pair in pairs], given_of(typed)))

    _show(digest_of("snapshot of logs", [key_of(*pair) for pair in pairs], typed), work)


def _show(digest: str, work: Callable[[], Answer]) -> None:
    found = answered(digest, work)
    if found is not None:
        show_shown(found, "snapshot", ALTS)


def _typed(*, from_logs: bool) -> TypedSnapshot:
    """Ask for everything beside the voltages."""
    delivered = text_field(
        "Counted from full to cut-out [Ah]", "snapshot Ah", placeholder="e.g. 148",
        help="Of repeats one each, with / between them."
        + (" Empty: as counted in the log." if from_logs else ""),
    )  # fmt: skip
    rated_Ah = number_field("Capacity on the label [Ah]", "snapshot label", 0.05, 1e5)
    chemistry = word_field("Chemistry", "snapshot chemistry", CHEMISTRIES, unsaid=None)
    with st.expander("More about the moment"):
        return TypedSnapshot(
            chemistry=chemistry or "LFP",
            rated_Ah=rated_Ah,
            delivered_Ah=delivered,
            at_A=number_field("Current at cut-out [A]", "snapshot A", 0.001, 1e5),
            battery_V=text_field(
                "Voltage of the whole battery [V]", "snapshot battery",
                help="At that moment, as a check.",
            ),
            limit_V=number_field(
                "Cut-out voltage of a cell [V]", "snapshot limit", 0.5, 4.0,
                help="At which the electronics stop a cell, if known.",
            ),
            temperature_C=number_field(
                "Temperature of the cells [degrees C]", "snapshot temperature", -40.0, 80.0
            ),
            meter_mV=sure_field(
                "What a cell reading is usually off [mV]", "snapshot meter", 0.0, 500.0, 10.0,
                help="One standard deviation.",
            ),
            after_rest_min=number_field(
                "Read so long after the current had stopped [min]", "snapshot rest", 0.0, 1e5
            ),
            full=text_field(
                "Cells at the end of a full charge [V]", "snapshot full",
                help="Same order: a hint whether the deciding cell holds less charge or is "
                "smaller.",
            ),
        )  # fmt: skip

"""Step 2: what a capacity test says, and whether the label's claim is met."""

from collections.abc import Sequence

import streamlit as st

from bankSim.errors import SimulationError
from bankSim.measured.capacity_test import Question
from bankSim.measured.claims import Repeats
from bankSim.measured.correct import CORRECTIONS, Wanted
from bankSim.measured.count import Instrument
from bankSim.measured.log import LogError
from bankSim.measured.uncertainty import Shape
from bankSim.screens.my_test.at_hand import answered, show_trouble
from bankSim.screens.my_test.choosing import choose_logs
from bankSim.screens.my_test.fields import (
    chemistry_field,
    number_field,
    sure_field,
    text_field,
    word_field,
)
from bankSim.screens.my_test.reading import digest_of, key_of, read
from bankSim.screens.my_test.shelf import Kept, Shelf
from bankSim.screens.my_test.view import show_shown
from bankSim.screens.plain import plain
from bankSim.show.answer import Answer

ALTS = {
    "test-course": "Voltage and current over the Ah delivered, one line a test.",
    "test-Ah": "Ah of each test with its uncertainty, beside the label's claim.",
}
LIMITS = {
    "rectangular": "limits, all between equally likely",
    "triangular": "limits, the middle likelier",
    "normal": "standard uncertainties",
}


def show_capacity(shelf: Shelf) -> None:
    """Show the second step."""
    st.markdown(
        "One full discharge to the cut-out, or several of the same battery (or of several "
        "of one kind): what was delivered, how sure that is, and whether the label holds."
    )
    kept = choose_logs(shelf, "Logs of capacity tests", "capacity logs")
    try:
        question = _question()
        units = _units(kept)
    except SimulationError as error:
        show_trouble(error)
        return
    if not kept:
        st.info("Choose one log or several.")
        return
    asked = [shelf.asked_of(one) for one in kept]
    digest = digest_of("test", [key_of(*pair) for pair in zip(kept, asked, strict=True)],
                       units, question)  # fmt: skip

    def work() -> Answer:
        from bankSim.measured.capacity_test import evaluate_tests
        from bankSim.show.bench_summary import test_answer

        logs = [read(*pair) for pair in zip(kept, asked, strict=True)]
        return test_answer(*evaluate_tests(logs, units, question))

    found = answered(digest, work)
    if found is not None:
        show_shown(found, "capacity", ALTS)


def _question() -> Question:
    rated_Ah = number_field("Capacity on the label [Ah]", "capacity label", 0.01, 1e5)
    chemistry = chemistry_field("capacity chemistry")
    with st.expander("Conditions and accuracy"):
        end_V = number_field(
            "The test ends at [V]", "capacity end", 0.01, 1000.0,
            help="Voltage of the whole battery under load; empty: at the battery's cut-out.",
        )  # fmt: skip
        start_A = number_field(
            "The test starts above [A]", "capacity start", 0.001, 1e5,
            help="Empty: 5 % of the usual current.",
        )  # fmt: skip
        temperature_C = number_field(
            "Temperature [degrees C]", "capacity temperature", -60.0, 90.0,
            help="Where the log has none.",
        )  # fmt: skip
        each = st.checkbox(
            "Every large discharge of a log is a test", key="capacity each",
            persist_state="session",
            help="Each that was charged before; else only the largest one counts.",
        )  # fmt: skip
        confidence = sure_field(
            "Confidence of all statements [%]", "capacity sure", 50.0, 99.99, 95.0
        )
        instrument = _instrument()
        repeatability = number_field(
            "How well a test repeats [%]", "capacity repeats", 0.0, 100.0,
            help="Standard deviation from test to test, where no battery was tested twice; empty: "
            "0.5, lead-acid 2.",
        )  # fmt: skip
        wanted = _corrections(chemistry)
    return Question(
        rated_Ah, confidence / 100.0, instrument, end_V, start_A, temperature_C, wanted,
        Repeats(repeatability), each,
    )  # fmt: skip


def _instrument() -> Instrument:
    gain = number_field(
        "Error of the current, plus and minus [%]", "capacity gain", 0.0, 100.0,
        help="Of the shunt or clamp; empty: 0.5.",
    )  # fmt: skip
    offset_A = number_field(
        "Offset of the current, plus and minus [A]", "capacity offset", 0.0, 1000.0,
        help="Empty: 0.05.",
    )  # fmt: skip
    volts = number_field(
        "Error of the voltage, plus and minus [%]", "capacity volts", 0.0, 100.0, help="Empty: 0.5."
    )
    volts_offset_V = number_field(
        "Offset of the voltage, plus and minus [V]", "capacity volts offset", 0.0, 100.0,
        help="Empty: 0.02.",
    )  # fmt: skip
    limits = st.selectbox(
        "These errors are", list(LIMITS), format_func=LIMITS.__getitem__, key="capacity limits",
        persist_state="session",
    )  # fmt: skip
    return Instrument(gain, offset_A, volts, volts_offset_V, Shape(limits))


def _corrections(chemistry: str | None) -> Wanted:
    names = st.multiselect(
        "Also tell the Ah corrected for", CORRECTIONS, key="capacity corrections",
        persist_state="session", placeholder="nothing",
        help="Temperature: to 25 degrees C. Rate: to the hours below.",
    )  # fmt: skip
    to_rate_h = sure_field("Hours of the rate", "capacity rate", 0.1, 1000.0, 20.0)
    exponent = number_field(
        "Exponent of the rate (Peukert)", "capacity exponent", 1.0, 2.0,
        help="Empty: that of the tests where they differ in rate, else usual for the chemistry.",
    )  # fmt: skip
    return Wanted(tuple(names), chemistry, to_rate_h, exponent)


def _units(kept: Sequence[Kept]) -> list[str]:
    """Ask which battery each log is of; nothing where all are of one."""
    if len(kept) < 2:
        return [""] * len(kept)
    of = word_field("The logs are of", "capacity of", ("several batteries of one kind",),
                    unsaid="one battery, tested again")  # fmt: skip
    if of is None:
        return [""] * len(kept)
    words = [
        text_field(f"Battery of {plain(one.name)}", f"battery of {one.digest}", placeholder="A")
        for one in kept
    ]
    if not all(words):
        raise LogError("Say for each log which battery it is of, as A, A, B.")
    return [word or "" for word in words]

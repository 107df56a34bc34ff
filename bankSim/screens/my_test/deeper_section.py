"""Two batteries at their cut-out: larger cells, or the same cells taken deeper?"""

from collections.abc import Callable

import streamlit as st

from bankSim.measured.typed_sides import TypedSides
from bankSim.screens.my_test.at_hand import answered
from bankSim.screens.my_test.fields import number_field, sure_field, text_field, word_field
from bankSim.screens.my_test.reading import digest_of
from bankSim.screens.my_test.snapshot_section import CHEMISTRIES
from bankSim.screens.my_test.view import show_shown
from bankSim.show.answer import Answer

SIDES = (("First battery", "one"), ("Second battery", "two"))
Side = dict[str, str | None]


def show_deeper() -> None:
    """Ask for both batteries and answer."""
    sides = [_side(name, word) for name, word in SIDES]
    temperature_C = number_field(
        "Temperature of the cells [degrees C]", "deeper temperature", -40.0, 80.0
    )
    meter_mV = sure_field(
        "What a cell reading is usually off [mV]", "deeper meter", 0.0, 500.0, 10.0,
        help="One standard deviation.",
    )  # fmt: skip
    if not all(side["Ah"] for side in sides):
        st.info("Type what both gave, in Ah, to get an answer.")
        return
    typed = TypedSides(
        _both(sides, "cells"), _both(sides, "Ah"), _both(sides, "kg"), _both(sides, "Wh"),
        _both(sides, "A"), _names(sides), " / ".join(str(one["chemistry"]) for one in sides),
        meter_mV / 1000.0, temperature_C,
    )  # fmt: skip
    found = answered(digest_of("deeper", typed), _work(typed))
    if found is not None:
        show_shown(found, "deeper", {})


def _work(typed: TypedSides) -> Callable[[], Answer]:
    def work() -> Answer:
        from bankSim.measured.deeper import compare_depth
        from bankSim.measured.typed_sides import sides_of
        from bankSim.show.deeper_story import deeper_answer

        (one, two), told = sides_of(typed)
        return deeper_answer(compare_depth(one, two, seed=1, told=told))

    return work


def _side(title: str, word: str) -> Side:
    with st.container(border=True):
        st.markdown(f"**{title}**")
        return {
            "name": text_field("Name", f"{title} name", placeholder=word),
            "Ah": text_field("Counted from full to cut-out [Ah]", f"{title} Ah"),
            "cells": text_field(
                "Cell voltages at cut-out [V]",
                f"{title} cells",
                placeholder="e.g. 2.50 2.60 2.55 2.52",
            ),
            "kg": text_field("Weight of the whole battery [kg]", f"{title} kg"),
            "Wh": text_field("Energy given [Wh]", f"{title} Wh", help="If measured."),
            "A": text_field("Current at cut-out [A]", f"{title} A"),
            "chemistry": word_field("Chemistry", f"{title} chemistry", CHEMISTRIES, unsaid=None),
        }


def _both(sides: list[Side], key: str) -> str | None:
    """Return both sides as one types them, with a slash between; None where neither is known."""
    given = [side[key] for side in sides]
    return " / ".join(one or "-" for one in given) if any(given) else None


def _names(sides: list[Side]) -> str | None:
    given = [(side["name"] or "").replace("/", " ") for side in sides]
    if not any(given):
        return None
    words = [word for _, word in SIDES]
    return " / ".join(one or word for one, word in zip(given, words, strict=True))

"""Fields of the page; what stands in them survives a change of page."""

from collections.abc import Sequence

import streamlit as st

NOT_SAID = "not said"


def number_field(
    label: str,
    key: str,
    low: float,
    high: float,
    *,
    value: float | None = None,
    step: float | None = None,
    help: str | None = None,
) -> float | None:
    """Ask for a number with its unit in the label; None where the field is empty.

    All in the unit of the label.
    """
    return st.number_input(
        label, min_value=low, max_value=high, value=value, step=step, format="%g", key=key,
        help=help, placeholder=NOT_SAID, persist_state="session",
    )  # fmt: skip


def sure_field(
    label: str,
    key: str,
    low: float,
    high: float,
    value: float,
    *,
    step: float | None = None,
    help: str | None = None,
) -> float:
    """Ask for a number that has a usual value; an empty field stands for that.

    All in the unit of the label.
    """
    found = number_field(label, key, low, high, value=value, step=step, help=help)
    return value if found is None else found


def whole_field(
    label: str,
    key: str,
    low: int,
    high: int,
    *,
    value: int | None = None,
    help: str | None = None,
) -> int | None:
    """Ask for a whole number."""
    return st.number_input(
        label, min_value=low, max_value=high, value=value, step=1, key=key, help=help,
        placeholder=NOT_SAID, persist_state="session",
    )  # fmt: skip


def text_field(
    label: str,
    key: str,
    *,
    placeholder: str = "",
    help: str | None = None,
) -> str | None:
    """Ask for words; None where the field is empty."""
    found = st.text_input(
        label, key=key, placeholder=placeholder or NOT_SAID, help=help, max_chars=400,
        persist_state="session",
    )  # fmt: skip
    return found.strip() or None if found else None


def word_field(
    label: str,
    key: str,
    words: Sequence[str],
    *,
    unsaid: str | None = NOT_SAID,
    help: str | None = None,
) -> str | None:
    """Ask for one of some words; None for the first entry, `unsaid`, if there is one."""
    options: list[str] = [*([] if unsaid is None else [unsaid]), *words]
    found = st.selectbox(label, options, key=key, help=help, persist_state="session")
    return None if found == unsaid else found


def chemistry_field(key: str, unsaid: str | None = NOT_SAID) -> str | None:
    """Ask for the chemistry."""
    from bankSim.model.chemistry import CHEMISTRIES

    return word_field("Chemistry", key, tuple(CHEMISTRIES), unsaid=unsaid)

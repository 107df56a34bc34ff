"""Fields side by side on a wide screen, one below the other in the same order on a phone."""

from collections.abc import Callable

import streamlit as st


def row(*shows: Callable[[], None]) -> None:
    """Show fields in one row."""
    for column, show in zip(st.columns(len(shows)), shows, strict=True):
        with column:
            show()

"""Whether the visitor's screen is light or dark; known without loading anything heavy."""

import streamlit as st

LIGHT_PAPER, DARK_PAPER = "#FBFAF7", "#191B1D"  # as in settings.toml; a test compares them


def is_dark() -> bool:
    """Tell whether the visitor's screen is dark."""
    return getattr(st.context.theme, "type", None) == "dark"


def paper() -> str:
    """Return the colour behind everything on the visitor's screen, as "#rrggbb"."""
    return DARK_PAPER if is_dark() else LIGHT_PAPER

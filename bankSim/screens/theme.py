"""Whether the visitor's screen is light or dark; known without loading anything heavy."""

import streamlit as st

LIGHT_PAPER, DARK_PAPER = "#FBFAF7", "#191B1D"  # as in settings.toml; a test compares them
LIGHT_ON_PRIMARY, DARK_ON_PRIMARY = "#FFFFFF", "#10222E"  # words on the buttons that stand out


def is_dark() -> bool:
    """Tell whether the visitor's screen is dark."""
    return getattr(st.context.theme, "type", None) == "dark"


def paper() -> str:
    """Return the colour behind everything on the visitor's screen, as "#rrggbb"."""
    return DARK_PAPER if is_dark() else LIGHT_PAPER


def on_primary() -> str:
    """Return the colour of words on the theme's primary colour, as "#rrggbb"."""
    return DARK_ON_PRIMARY if is_dark() else LIGHT_ON_PRIMARY

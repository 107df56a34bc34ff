"""Puts a hover chart on the page, in the colours of the visitor's light or dark screen."""

from typing import Any

import streamlit as st


def is_dark() -> bool:
    """Tell whether the visitor's screen is dark."""
    return getattr(st.context.theme, "type", None) == "dark"


def draw(spec: Any, words: str, key: str) -> None:
    """Show a chart from `bankSim.screens.charts`.

    Parameters
    ----------
    spec : dict
        As plotly takes it.
    words : str
        The same for those who cannot see it.
    key : str
        One of its own on the page.
    """
    st.plotly_chart(
        spec,
        width="stretch",
        theme=None,
        key=key,
        alt=words,
        config={
            "displaylogo": False,
            "responsive": True,
            "modeBarButtonsToRemove": ["select2d", "lasso2d", "autoScale2d"],
        },
    )

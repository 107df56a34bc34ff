"""Puts a hover chart on the page, in the colours of the visitor's light or dark screen."""

from dataclasses import replace

import streamlit as st

from bankSim.screens.charts import CONFIG, DARK, LIGHT, Look, Spec, figure_of
from bankSim.screens.theme import DARK_PAPER, LIGHT_PAPER, is_dark

_ON_LIGHT, _ON_DARK = replace(LIGHT, paper=LIGHT_PAPER), replace(DARK, paper=DARK_PAPER)


def look() -> Look:
    """Return the colours of charts on the visitor's screen, on the paper of the page."""
    return _ON_DARK if is_dark() else _ON_LIGHT


def draw(spec: Spec, words: str, key: str, *, tools: bool = True) -> None:
    """Show a chart from `bankSim.screens.charts`.

    Parameters
    ----------
    spec : dict
        As plotly takes it.
    words : str
        The same for those who cannot see it.
    key : str
        One of its own on the page.
    tools : bool
        Offer to zoom and to save it; a touch screen shows these buttons all the time.
    """
    config = CONFIG | {"displayModeBar": False} if not tools else dict(CONFIG)
    st.plotly_chart(figure_of(spec), width="stretch", theme=None, key=key, alt=words, config=config)


__all__ = ["draw", "is_dark", "look"]

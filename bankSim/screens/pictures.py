"""Puts a picture that was drawn on white on the page; on a dark screen its white turns dark."""

import streamlit as st

from bankSim.screens.theme import is_dark

DARKENED = "darkened"  # look.css turns pictures inside such a container


def show_drawn(picture: str | bytes, words: str, key: str, *, caption: str | None = None) -> None:
    """Show a picture, as wide as the page.

    Parameters
    ----------
    picture : str or bytes
        SVG text or PNG.
    words : str
        The same for those who cannot see it.
    key : str
        One of its own on the page.
    caption : str, optional
        Markdown.
    """
    with st.container(key=f"{DARKENED if is_dark() else 'drawn'}-{key}"):
        st.image(picture, width="stretch", alt=words, caption=caption)

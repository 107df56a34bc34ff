"""Names the pages and shows the one that was chosen."""

from pathlib import Path

import streamlit as st
from streamlit.navigation.page import StreamlitPage

from bankSim.screens import warm_up
from bankSim.screens.theme import on_primary, paper

PAGES = Path(__file__).parent / "pages"
LOOK = Path(__file__).parent / "look.css"
SHOWN = "page shown"  # in the session: the name of the page that is before the visitor
# file, title, word in the address; the first is where one starts
NAMED = (
    ("your_bank", "Your bank", "your-bank"),
    ("what_happens", "What happens", "what-happens"),
    ("what_if", "What if", "what-if"),
    ("my_test", "My test", "my-test"),
    ("how_parallel_adds", "How parallel adds", "how-parallel-adds"),
    ("report", "Report", "report"),
)


def page_file(name: str) -> Path:
    """Return the file of a page."""
    return PAGES / f"{name}.py"


def page_of(name: str) -> StreamlitPage:
    """Return a page by the name of its file."""
    return next(page for own, page in _pages().items() if own == name)


def next_page() -> str | None:
    """Return the name of the page that comes after the one shown; None after the last."""
    names = [name for name, _, _ in NAMED]
    place = names.index(st.session_state.get(SHOWN, names[0]))
    return names[place + 1] if place + 1 < len(names) else None


def show() -> None:
    """Show the page that the visitor chose."""
    st.set_page_config(page_title="bankSim", layout="wide", initial_sidebar_state="auto")
    warm_up.begin()
    pages = _pages()
    chosen = st.navigation(list(pages.values()), position="top")
    st.session_state[SHOWN] = next(name for name, page in pages.items() if page == chosen)
    st.html(LOOK)
    st.html(f"<style>:root {{ --b-paper: {paper()}; --b-on-primary: {on_primary()}; }}</style>")
    chosen.run()


def _pages() -> dict[str, StreamlitPage]:
    return {
        name: st.Page(page_file(name), title=title, url_path=word, default=place == 0)
        for place, (name, title, word) in enumerate(NAMED)
    }

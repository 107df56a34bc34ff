"""Names the pages and shows the one that was chosen."""

from pathlib import Path

import streamlit as st

from bankSim.screens import warm_up

PAGES = Path(__file__).parent / "pages"
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


def show() -> None:
    """Show the page that the visitor chose."""
    st.set_page_config(page_title="bankSim", layout="wide", initial_sidebar_state="auto")
    warm_up.begin()
    pages = [
        st.Page(page_file(name), title=title, url_path=word, default=place == 0)
        for place, (name, title, word) in enumerate(NAMED)
    ]
    st.navigation(pages, position="top").run()

"""Choosing among the visitor's logs; what was chosen survives a change of page."""

import streamlit as st

from bankSim.screens.my_test.shelf import Kept, Shelf

_KEY = "shelf"


def shelf() -> Shelf:
    """Return the shelf of this visitor."""
    found: Shelf = st.session_state.setdefault(_KEY, Shelf())
    return found


def choose_log(shelf: Shelf, label: str, key: str, help: str | None = None) -> Kept | None:
    """Let the visitor choose one log; None when there is none."""
    digests = [one.digest for one in shelf.logs]
    if st.session_state.get(key) not in digests:
        st.session_state.pop(key, None)
    chosen = st.selectbox(
        label, digests, format_func=lambda one: _name(shelf, one), key=key, help=help,
        persist_state="session",
    )  # fmt: skip
    return shelf.named(chosen)


def choose_logs(shelf: Shelf, label: str, key: str, help: str | None = None) -> list[Kept]:
    """Let the visitor choose several logs, in an order; the only log there is stands chosen."""
    digests = [one.digest for one in shelf.logs]
    if len(digests) == 1:
        st.session_state.setdefault(key, digests)
    if key in st.session_state:
        st.session_state[key] = [one for one in st.session_state[key] if one in digests]
    chosen = st.multiselect(
        label, digests, format_func=lambda one: _name(shelf, one), key=key, help=help,
        persist_state="session", placeholder="choose",
    )  # fmt: skip
    return [kept for one in chosen if (kept := shelf.named(one)) is not None]


def _name(shelf: Shelf, digest: str) -> str:
    kept = shelf.named(digest)
    return kept.name if kept is not None else ""

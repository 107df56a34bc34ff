"""The results to take home: the same files that the command line writes."""

from collections.abc import Callable
from string import ascii_letters, digits

import streamlit as st

from bankSim.scenario.draft import Draft
from bankSim.show.files import json_text
from bankSim.show.printing import story_text
from bankSim.show.sheets import events_csv, timeline_csv
from bankSim.show.story import tell
from bankSim.sim.result import Result

_KEPT = frozenset(f"{ascii_letters}{digits}-_")
CSV, TEXT, JSON = "text/csv", "text/plain", "application/json"


def stem(draft: Draft) -> str:
    """Return the beginning of file names: that of the scenario, plain letters only."""
    name = draft.name.removesuffix(".toml")
    kept = "".join(mark if mark in _KEPT else "-" for mark in name)
    return kept.strip("-")[:60] or "bank"


def offer_events(draft: Draft, result: Result) -> None:
    """Offer the events as CSV."""
    st.download_button(
        "All events (CSV)", lambda: events_csv(result).encode(), f"{stem(draft)}-events.csv", CSV,
        key="download events", on_click="ignore", icon=":material/download:",
    )  # fmt: skip


def offer_all(draft: Draft, result: Result) -> None:
    """Offer timeline, story and summary; the events stand at their table."""
    first = stem(draft)
    offers = {
        "Timeline (CSV)": (lambda: timeline_csv(result), f"{first}-timeline.csv", CSV),
        "Events (CSV)": (lambda: events_csv(result), f"{first}-events.csv", CSV),
        "Story (text)": (lambda: story_text(tell(result)), f"{first}-story.txt", TEXT),
        "Summary (JSON)": (lambda: json_text(result), f"{first}-summary.json", JSON),
    }
    with st.container(horizontal=True, gap="small"):
        for label, (make, name, kind) in offers.items():
            st.download_button(
                label, _encoded(make), name, kind,
                key=f"download {label}", on_click="ignore", icon=":material/download:",
            )  # fmt: skip


def _encoded(make: Callable[[], str]) -> Callable[[], bytes]:
    """Return the same, made only when somebody wants it, as bytes."""
    return lambda: make().encode()

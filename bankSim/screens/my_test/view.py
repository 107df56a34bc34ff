"""Puts an answer on the page: first the answer itself, then pictures, then the details."""

from collections.abc import Mapping

import streamlit as st

from bankSim.screens.frame import show_grid
from bankSim.screens.my_test.shown import Shown
from bankSim.screens.pictures import show_drawn
from bankSim.screens.plain import plain
from bankSim.show.blocks import Section

PICTURE_PX = 680  # narrower screens scroll inside the picture's frame: its letters stay readable
STYLE = f"""<style>
[class*="st-key-scroll-"] {{ overflow-x: auto; align-items: flex-start; max-width: 900px; }}
[class*="st-key-scroll-"] > div {{ min-width: {PICTURE_PX}px; }}
@media (max-width: {PICTURE_PX + 40}px) {{
  [class*="st-key-scroll-"]::before {{ content: "Swipe to see all of it \\2192"; position: sticky;
    left: 0; font-size: 0.875rem; }}
}}
[data-testid="stRadio"] label {{ min-height: 28px; align-items: center; }}
[data-testid="stMultiSelect"] [data-tag] {{
    background: transparent; color: inherit; border: 1px solid currentColor;
}}
[data-testid="stMultiSelect"] button {{ min-width: 24px; min-height: 24px; }}
.js-plotly-plot .modebar-btn {{ min-height: 24px; }}
</style>"""
SEVERE = ("WARNING:", "DANGER:")


def show_shown(
    found: Shown, name: str, alts: Mapping[str, str], *, open_first: int = 1, beside: str = ""
) -> None:
    """Show an answer.

    Parameters
    ----------
    found : Shown
    name : str
        A word of the page, for keys and file names.
    alts : mapping
        What each picture shows, by its name, for those who cannot see it and as its heading.
    open_first : int
        So many sections stand open; the others unfold.
    beside : str
        Words under the pictures.
    """
    with st.container(border=True):
        for number, line in enumerate(found.story.headline):
            st.markdown(f"**{plain(line)}**" if number == 0 else plain(line))
    show_pictures(found, name, alts)
    if beside:
        st.caption(beside)
    for number, section in enumerate(found.story.sections):
        with st.expander(plain(section.title), expanded=number < open_first):
            show_inside(section)
    downloads(found, name)


def show_inside(section: Section) -> None:
    """Show the table and the lines of a section, without its title."""
    if section.grid is not None:
        show_grid(section.grid, section.title)
    for line in section.lines:
        if line.startswith(SEVERE):
            st.warning(plain(line))
        else:
            st.markdown(plain(line))


def show_pictures(found: Shown, name: str, alts: Mapping[str, str]) -> None:
    """Show the pictures; on a narrow screen each scrolls sideways inside its own frame."""
    for picture, png in found.pictures:
        words = next((alts[key] for key in alts if picture.startswith(key)), picture)
        with st.container(key=f"scroll-{name}-{picture}"):
            show_drawn(png, words, f"{name}-{picture}")


def downloads(found: Shown, name: str) -> None:
    """Offer the story, the numbers and other files."""
    with st.expander("Take it with you"):
        files = [
            ("The story (text)", f"{name}.txt", found.text, "text/plain"),
            ("All numbers (JSON)", f"{name}.json", found.summary, "application/json"),
        ]
        files += [(f"Table {file}", file, text, "text/csv") for file, text in found.texts]
        for words, file, text, mime in files:
            st.download_button(
                plain(words), text, file, mime, key=f"file {name} {file}", on_click="ignore"
            )
        for picture, png in found.pictures:
            st.download_button(
                plain(f"Picture {picture} (PNG)"), png, f"{name}-{picture}.png", "image/png",
                key=f"file {name} {picture}", on_click="ignore",
            )  # fmt: skip

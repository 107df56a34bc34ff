"""What every page has: its title above, the safety words below, and stories in between."""

import html

import streamlit as st

from bankSim.screens.plain import plain
from bankSim.show.blocks import Grid, Section
from bankSim.sim.summary import SAFETY_TEXT


def head(title: str, lead: str) -> None:
    """Begin a page: its title and one sentence on what it is for."""
    st.title(title, anchor=False)
    st.caption(lead)


def foot() -> None:
    """End a page with the safety words."""
    st.divider()
    st.caption(f"**Safety.** {plain(SAFETY_TEXT)}")


def show_section(section: Section) -> None:
    """Show a section of a story: title, table, sentences."""
    st.subheader(plain(section.title), anchor=False)
    if section.grid is not None:
        show_grid(section.grid, section.title)
    for line in section.lines:
        st.markdown(plain(line))


def show_grid(grid: Grid, caption: str) -> None:
    """Show a table of ready-made texts as a real table, which scrolls sideways when narrow."""
    names = "".join(f'<th scope="col">{html.escape(name)}</th>' for name in grid.columns)
    rows = "".join(f"<tr>{_row(row, grid.words)}</tr>" for row in grid.rows)
    st.html(
        '<div class="wide" tabindex="0" role="region" '
        f'aria-label="{html.escape(caption)}"><table><thead><tr>{names}</tr></thead>'
        f"<tbody>{rows}</tbody></table></div>"
    )


def _row(row: tuple[str, ...], words: int) -> str:
    parts = []
    for place, text in enumerate(row):
        side = "left" if place < words else "right"
        parts.append(f'<td style="text-align:{side}">{html.escape(text)}</td>')
    return "".join(parts)

"""What every page has: its title above, the safety words below, and stories in between."""

import html

import streamlit as st

from bankSim.screens.plain import plain
from bankSim.screens.router import NAMED, next_page, page_of
from bankSim.show.blocks import Grid, Section
from bankSim.sim.summary import SAFETY_TEXT


def head(title: str, lead: str) -> None:
    """Begin a page: its title and one sentence on what it is for."""
    st.title(title, anchor=False)
    st.caption(lead)


def foot(onward: str | None = None, *, leads_on: bool = True) -> None:
    """End a page with the ways on and the safety words.

    Parameters
    ----------
    onward : str, optional
        File name of the page to go to next; the one that follows in the row of pages if left out.
    leads_on : bool
        Point to the next page; not where the page itself does.
    """
    st.divider()
    _ways((onward or next_page()) if leads_on else None)
    st.caption(f"**Safety.** {plain(SAFETY_TEXT)}")


def _ways(onward: str | None) -> None:
    """Link to the page that comes next, then to all pages, for those who see no row above."""
    titles = {name: title for name, title, _ in NAMED}
    if onward is not None:
        icon = ":material/arrow_forward:"
        st.page_link(page_of(onward), label=f"**Next: {titles[onward]}**", icon=icon)
    with st.container(horizontal=True, gap="small", key="all pages"):
        for name, title in titles.items():
            st.page_link(page_of(name), label=title)


def show_section(section: Section) -> None:
    """Show a section of a story: title, table, sentences."""
    st.subheader(plain(section.title), anchor=False)
    if section.grid is not None:
        show_grid(section.grid, section.title)
    for line in section.lines:
        st.markdown(plain(line))


def show_grid(grid: Grid, caption: str, *, tall: bool = False) -> None:
    """Show a table of ready-made texts as a real table, which scrolls sideways when narrow.

    Parameters
    ----------
    grid : Grid
    caption : str
        What the table holds, for those who cannot see it.
    tall : bool
        Long: it also scrolls up and down inside itself.
    """
    st.html(grid_html(grid, caption, tall=tall))


def grid_html(grid: Grid, caption: str, *, tall: bool = False) -> str:
    """Return a table as HTML, every text escaped."""
    names = "".join(
        f'<th scope="col"{_side(place, grid.words)}>{html.escape(name)}</th>'
        for place, name in enumerate(grid.columns)
    )
    rows = "".join(f"<tr>{_row(row, grid.words)}</tr>" for row in grid.rows)
    return (
        f'<div class="wide{" tall" if tall else ""}" tabindex="0" role="region" '
        f'aria-label="{html.escape(caption)}"><table><thead><tr>{names}</tr></thead>'
        f"<tbody>{rows}</tbody></table></div>"
    )


def _row(row: tuple[str, ...], words: int) -> str:
    return "".join(
        f"<td{_side(place, words)}>{html.escape(text)}</td>" for place, text in enumerate(row)
    )


def _side(place: int, words: int) -> str:
    return "" if place < words else ' class="number"'

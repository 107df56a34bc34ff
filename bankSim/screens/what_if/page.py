"""The page What if: the picture, the sliders beside it, and two longer questions below."""

import streamlit as st

from bankSim.errors import ScenarioError
from bankSim.scenario.draft import Draft
from bankSim.screens.desk import Desk
from bankSim.screens.plain import plain
from bankSim.screens.runs import result_or_wait
from bankSim.screens.what_if.map_part import show_map
from bankSim.screens.what_if.matters_part import show_matters
from bankSim.screens.what_if.outcome import Bench, bench_of
from bankSim.screens.what_if.picture import mean_words, show_differences, show_picture
from bankSim.screens.what_if.play import Play, play
from bankSim.screens.what_if.sliders import (
    chosen_knobs,
    pick_battery,
    pick_cell,
    show_moved,
    show_sliders,
)

# The picture stays in view while one plays: on a phone above the sliders, which come right after
# it and before the words; on a wide screen beside them.
STAYS = """<style>
@media (max-width: 640px) {
  [data-testid="stColumn"]:has(.st-key-what_if_picture),
  [data-testid="stColumn"]:has(.st-key-what_if_picture) > [data-testid="stVerticalBlock"] {
    display: contents;
  }
  [data-testid="stLayoutWrapper"]:has(> .st-key-what_if_picture) {
    position: sticky; top: 3.5rem; z-index: 20; width: 100%; flex: 1 1 100%;
    background: var(--st-background-color, Canvas);
  }
  [data-testid="stLayoutWrapper"]:has(> .st-key-what_if_words) {
    order: 2; width: 100%; flex: 1 1 100%;
  }
}
@media (min-width: 641px) {
  [data-testid="stColumn"]:has(.st-key-what_if_picture) > [data-testid="stVerticalBlock"] {
    position: sticky; top: 4rem; height: auto;
  }
}
</style>"""
BAND_WORDS = (
    "Shaded: 9 in 10 cases, since nobody knows cells and leads exactly. A value that you set here "
    "counts as known. Grey dashes: before."
)


def show(desk: Desk) -> None:
    """Show the whole page, or what is wrong with the bank."""
    try:
        bench = bench_of(desk.draft)
    except ScenarioError:
        _faulty(desk.draft)
        return
    result_or_wait(desk.draft, bench.scenario)  # a long run shows how far it is, and can be stopped
    mine = play()
    mine.begin(desk.draft.digest)
    st.html(STAYS)
    _playground(bench, mine, desk)
    with st.expander(
        "A map over two of these", key="what if map open", on_change="rerun"
    ) as opened:
        if opened.open:
            show_map(bench, mine)
    with st.expander("What matters most", key="what if matters open", on_change="rerun") as opened:
        if opened.open:
            show_matters(bench, mine)


def _faulty(draft: Draft) -> None:
    from bankSim.screens.answers import checked
    from bankSim.screens.bank.fault_words import fault_lines
    from bankSim.screens.router import page_file

    st.error("Your bank cannot be predicted yet. Mend this first:")
    for line in fault_lines(draft, checked(draft)):
        st.markdown(f"- {plain(line, 500)}")
    st.page_link(page_file("your_bank"), label="To Your bank", icon=":material/arrow_back:")


@st.fragment
def _playground(bench: Bench, mine: Play, desk: Desk) -> None:
    """Picture and sliders: only this runs again when a slider is let go."""
    left, right = st.columns((3, 2), gap="medium")
    with right:
        pickers = st.columns(2)
        with pickers[0]:
            battery = pick_battery(bench)
        with pickers[1]:
            cell = pick_cell(bench, battery)
        mine.battery, mine.cell = battery, cell
        in_view, rest = chosen_knobs(bench, battery, cell)
        show_sliders(in_view, mine)
        if st.toggle("More sliders", key="what if more", persist_state="session"):
            show_sliders(rest, mine)
        show_moved(bench, mine)
        _buttons(bench, mine, desk)
    with left:
        with st.container(key="what_if_picture"):
            found = show_picture(bench, mine, battery)
        with st.container(key="what_if_words"):
            if found is not None:
                show_differences(bench, mine, *found)
                st.caption(f"{BAND_WORDS} {mean_words(found[0])}")


def _buttons(bench: Bench, mine: Play, desk: Desk) -> None:
    """Show what can be done with what was moved."""
    changed = bool(bench.moved(mine.settings))
    kept = bool(bench.moved(mine.ghost))
    with st.container(horizontal=True):
        if st.button(
            "Put this into my bank",
            key="what if put",
            disabled=not changed,
            help="Writes all moved values into your scenario; it can be undone there.",
        ):
            desk.change(bench.changed_draft(mine.settings))
            st.toast("It is in your bank now. Undo stands on the page Your bank.")
            st.rerun()
        st.button(
            "Back to my bank",
            key="what if back",
            disabled=not changed,
            on_click=mine.reset,
            args=(list(bench.knobs.values()),),
            help="Puts all sliders back.",
        )
        st.button(
            "Keep this as the comparison",
            key="what if keep",
            on_click=mine.keep,
            disabled=bench.moved(mine.settings) == bench.moved(mine.ghost),
            help="The present curve becomes the grey one.",
        )
        if kept:
            st.button("Compare with my bank again", key="what if forget", on_click=mine.forget)

"""Puts a calibrated battery into the visitor's bank, if the bank is sound with it."""

import streamlit as st

from bankSim.errors import SimulationError
from bankSim.measured.battery_file import BatteryFiles
from bankSim.screens.answers import checked
from bankSim.screens.desk import desk
from bankSim.screens.my_test.adopt import adopt
from bankSim.screens.my_test.at_hand import show_trouble
from bankSim.screens.my_test.fields import sure_field
from bankSim.screens.plain import plain
from bankSim.sim.numbers import quoted

NEW = -1
DONE = "battery put into the bank"


def offer(files: BatteryFiles, digest: str) -> None:
    """Ask where the battery goes; the button puts it there."""
    st.header("Put this battery into my bank", anchor=False)
    batteries = desk().draft.data.get("battery", [])
    if not isinstance(batteries, list) or not all(isinstance(one, dict) for one in batteries):
        st.info("The batteries of your bank have to be mended first, on the page Your bank.")
        return
    names = [str(one.get("name", "")) for one in batteries]
    place = st.selectbox(
        "Where it goes",
        [NEW, *range(len(names))],
        format_func=lambda n: "as one more battery" if n == NEW else f"in place of {names[n]}",
        key=f"place for {digest} {desk().edition}",
        help="In place of another one: its name, lead and label limits stay.",
    )
    lead_mohm = 0.0
    if place == NEW:
        lead_mohm = sure_field(
            "Its lead, both poles together [mohm]", "lead of calibrated", 0.0, 1000.0, 2.0,
            help="The logs were taken at its terminals; the way to the bars comes on top.",
        )  # fmt: skip
    if st.button("Put it into my bank", type="primary"):
        _put(files, None if place == NEW else place, lead_mohm, digest)
    told = st.session_state.get(DONE)
    if told is not None and told[0] == digest:
        st.success(plain(told[1]))


def _put(files: BatteryFiles, place: int | None, lead_mohm: float, digest: str) -> None:
    """Change the desk if the bank is sound with this battery; else say why not."""
    try:
        made = adopt(desk().draft, files, place, lead_mohm)
    except SimulationError as error:
        show_trouble(error)
        return
    look = checked(made.draft)
    if look.scenario is None:
        st.error("The bank is not sound with this battery, so nothing was changed:")
        for fault in look.faults:
            st.error(plain(fault))
        return
    desk().change(made.draft)
    st.session_state[DONE] = (
        digest,
        f"{quoted(made.name)} is in your bank now, with its curves. It can be undone on the page "
        "Your bank.",
    )
    st.rerun()

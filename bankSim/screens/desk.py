"""What one visitor has before them: the scenario they work on, kept in their session only."""

from dataclasses import dataclass, field

import streamlit as st

from bankSim.scenario.draft import Draft

MOST_UNDONE = 40
MOST_UNDONE_BYTES = 200_000_000  # of the different tables in earlier states
_KEY = "desk"


@dataclass
class Desk:
    """The work of one visitor.

    Parameters
    ----------
    draft : Draft
        The scenario as it is now.
    edition : int
        Grows whenever the draft is changed by anything but the widget that shows the value; widget
        keys hold it, so that all widgets then show the new values.
    before : list of Draft
        Earlier states, the last one newest, for undoing.
    """

    draft: Draft
    edition: int = 0
    before: list[Draft] = field(default_factory=list)

    def change(self, draft: Draft, *, by_widget: bool = False) -> None:
        """Put a changed draft in place of the present one, which can be had back."""
        if draft == self.draft:
            return
        self.before = _bounded([*self.before, self.draft][-MOST_UNDONE:])
        self.draft = draft
        self.edition += not by_widget

    def undo(self) -> None:
        """Go back to the state before the last change."""
        if self.before:
            self.draft = self.before.pop()
            self.edition += 1


def _bounded(drafts: list[Draft]) -> list[Draft]:
    """Return the newest of some states whose tables are not too large; tables are shared."""
    sizes: dict[int, int] = {}
    for place in range(len(drafts) - 1, -1, -1):
        sizes |= {id(content): len(content) for _, content in drafts[place].tables}
        if sum(sizes.values()) > MOST_UNDONE_BYTES:
            return drafts[min(place + 1, len(drafts) - 1) :]
    return drafts


def desk() -> Desk:
    """Return the desk of this visitor; a new visitor finds the ready scenario on it."""
    if _KEY not in st.session_state:
        from bankSim.screens.ready import first_draft

        st.session_state[_KEY] = Desk(first_draft())
    found: Desk = st.session_state[_KEY]
    return found

"""What one visitor has before them: the scenario they work on, kept in their session only."""

from dataclasses import dataclass, field

import streamlit as st

from bankSim.scenario.draft import Draft

MOST_UNDONE = 40
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
        self.before = [*self.before, self.draft][-MOST_UNDONE:]
        self.draft = draft
        self.edition += not by_widget

    def undo(self) -> None:
        """Go back to the state before the last change."""
        if self.before:
            self.draft = self.before.pop()
            self.edition += 1


def desk() -> Desk:
    """Return the desk of this visitor; a new visitor finds the ready scenario on it."""
    if _KEY not in st.session_state:
        from bankSim.screens.ready import first_draft

        st.session_state[_KEY] = Desk(first_draft())
    found: Desk = st.session_state[_KEY]
    return found

"""What a visitor has moved, kept while they look at other pages."""

from collections.abc import Iterable
from dataclasses import dataclass, field

import streamlit as st

from bankSim.screens.what_if.knob import Knob

_KEY = "what_if"


@dataclass
class Play:
    """Moved sliders of one visitor, on one draft.

    Parameters
    ----------
    base : str
        Digest of the draft that they belong to.
    settings : dict of str to float
        Values of moved sliders by their word. In the units of the sliders.
    ghost : dict of str to float
        Settings of the run that is shown behind; empty: the draft as it stands.
        In the units of the sliders.
    round : int
        Part of the widgets' keys: grows when all of them are to begin anew.
    battery, cell : int
        Picked last, from 0.
    """

    base: str = ""
    settings: dict[str, float] = field(default_factory=dict)
    ghost: dict[str, float] = field(default_factory=dict)
    round: int = 0
    battery: int = 0
    cell: int = 0

    def begin(self, base: str) -> None:
        """Begin anew where the draft is another one."""
        if base != self.base:
            self.base, self.settings, self.ghost = base, {}, {}
            self.battery = self.cell = 0
            self.round += 1

    def widget(self, knob: Knob) -> str:
        """Return the key of a slider's widget."""
        return f"what if {self.round} {knob.key}"

    def value(self, knob: Knob) -> float:
        """Return where a slider stands. In the unit of the slider."""
        return self.settings.get(knob.key, knob.start)

    def take(self, knob: Knob, value: float) -> None:
        """Note where a slider was moved. In the unit of the slider."""
        if knob.is_moved(value):
            self.settings[knob.key] = value
        else:
            self.settings.pop(knob.key, None)

    def reset(self, knobs: Iterable[Knob]) -> None:
        """Put some sliders back to where they started; for a button's callback."""
        for one in knobs:
            self.settings.pop(one.key, None)
            if self.widget(one) in st.session_state:
                st.session_state[self.widget(one)] = one.start

    def keep(self) -> None:
        """Let the present run be the one to compare with."""
        self.ghost = dict(self.settings)

    def forget(self) -> None:
        """Compare with the draft again."""
        self.ghost = {}


def play() -> Play:
    """Return what this visitor has moved."""
    found: Play = st.session_state.setdefault(_KEY, Play())
    return found

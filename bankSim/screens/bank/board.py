"""One look at the desk: what is on it, what is wrong and where, what is assumed."""

from collections.abc import Mapping
from dataclasses import dataclass, field

import streamlit as st

from bankSim.errors import ScenarioError
from bankSim.scenario.draft import Draft
from bankSim.scenario.faults import key_path
from bankSim.scenario.glossary import QUANTITIES
from bankSim.scenario.lines import Path
from bankSim.scenario.record import Assumed, Scenario
from bankSim.screens.answers import Checked, checked
from bankSim.screens.bank.labels import PERCENT, labels_for_keys
from bankSim.screens.desk import Desk, desk
from bankSim.screens.plain import plain

SOUND, TYPED, BIN = "bank sound", "bank typed", "bank bin"
MOST_IN_BIN = 12
ERROR_ICON = ":material/error:"


@dataclass
class Board:
    """What the parts of the page read from, and where they note which faults they have shown.

    Parameters
    ----------
    desk : Desk
    draft : Draft
    found : Checked
    sound : Scenario or None
        The last state that could be predicted.
    shown : set of path
        Places whose faults stand at their field.
    """

    desk: Desk
    draft: Draft
    found: Checked
    sound: Scenario | None
    shown: set[Path] = field(default_factory=set)

    def key(self, path: Path, more: str = "") -> str:
        """Return the key of the widget of a field; another one when the desk has a new edition."""
        return f"bank {self.desk.edition} {key_path(path)} {more}"

    def assumed(self, path: Path) -> Assumed | None:
        """Return what stands in for a key that the file leaves open."""
        known = self.known
        if known is None:
            return None
        return next((one for one in known.assumed if one.key == key_path(path)), None)

    @property
    def known(self) -> Scenario | None:
        """The sound state, unless batteries have come, gone or moved since."""
        listed = self.draft.at(("battery",))
        if self.sound is None or not isinstance(listed, list):
            return None
        names = [one.get("name") if isinstance(one, dict) else None for one in listed]
        former = [one.name for one in self.sound.bank.batteries]
        same = all(own in (None, was) for own, was in zip(names, former, strict=False))
        return self.sound if same and len(names) == len(former) else None

    def faults(self, path: Path, *, below: bool = False) -> list[str]:
        """Return what is wrong at a field, and note that it is shown there."""
        found = []
        for place, text in self.found.places:
            here = place[: len(path)] == path if below else place == path
            if here and place not in self.shown:
                found.append(text)
        self.shown |= {place for place, _ in self.found.places if place == path} | {
            place for place, _ in self.found.places if below and place[: len(path)] == path
        }
        typed = _typed().get(path)
        if typed:
            self.shown.add(path)
            found.append(typed[0])
        return found

    def tell(self, path: Path, *, below: bool = False) -> None:
        """Show what is wrong at a field, below it."""
        for text in self.faults(path, below=below):
            st.error(plain(mend_words(text, path)), icon=ERROR_ICON)


def board() -> Board:
    """Look at the desk, and keep the last sound state at hand."""
    own = desk()
    found = checked(own.draft)
    if found.scenario is not None:
        st.session_state[SOUND] = found.scenario
    return Board(own, own.draft, found, st.session_state.get(SOUND))


def mend_words(text: str, path: Path = ()) -> str:
    """Turn the words behind a key in a message into a sentence of their own."""
    value, mark, allowed = labels_for_keys(text).partition("; expected ")
    share = path and path[-1] in PERCENT and mark
    if share and allowed.startswith(QUANTITIES[str(path[-1])].allowed):  # also with a hint behind
        return f"Expected {_in_percent(str(path[-1]))}."
    if text.startswith("= ") and mark:
        return f"Now {value[2:]}; expected {allowed}."
    text = f"{value}{mark}{allowed}".removeprefix(": ").removeprefix("= ").strip()
    return f"{text[:1].upper()}{text[1:]}" + ("" if text.endswith((".", "?")) else ".")


def _in_percent(key: str) -> str:
    kind = QUANTITIES[key]
    low, high = 100.0 * kind.lowest, 100.0 * kind.highest
    return f"more than {low:g} and up to {high:g} %" if kind.above else f"{low:g} to {high:g} %"


def put(values: Mapping[Path, object], *, anew: bool = False) -> None:
    """Write values to the desk; None takes a key away.

    Parameters
    ----------
    values : mapping
    anew : bool
        Other widgets than the one that was touched show the values as well.
    """
    change(lambda draft: draft.with_values(values), anew=anew)
    for path in values:
        note_typed(path, None)


def change(work: object, *, anew: bool = True) -> None:
    """Change the draft on the desk by a function; what cannot be done is told, nothing is lost."""
    own = desk()
    try:
        own.change(work(own.draft), by_widget=not anew)  # type: ignore[operator]
    except ScenarioError as error:
        tell_later(error.faults)
    except (AttributeError, IndexError, KeyError, TypeError):
        tell_later(["The file is laid out so that this field cannot be changed here; use As text."])


def note_typed(path: Path, fault: str | None, text: str = "") -> None:
    """Keep, or forget, something typed that could not be taken, and what is wrong with it."""
    if fault is None:
        _typed().pop(path, None)
    else:
        _typed()[path] = (fault, text)


def typed_text(path: Path) -> str | None:
    """Return what was typed into a field and could not be taken."""
    found = _typed().get(path)
    return found[1] if found else None


def typed_faults() -> dict[Path, str]:
    """Return what is wrong with things typed that could not be taken, by their place."""
    return {path: fault for path, (fault, _) in _typed().items()}


def tell_later(lines: list[str]) -> None:
    """Show these lines at the top of the next run."""
    st.session_state.setdefault("bank told", []).extend(lines)


def told_now() -> list[str]:
    """Return the lines of `tell_later`, once."""
    lines: list[str] = st.session_state.pop("bank told", [])
    return lines


def _typed() -> dict[Path, tuple[str, str]]:
    kept = st.session_state.setdefault(TYPED, (desk().edition, {}))
    if kept[0] != desk().edition:
        kept = st.session_state[TYPED] = (desk().edition, {})
    found: dict[Path, tuple[str, str]] = kept[1]
    return found

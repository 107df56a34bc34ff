"""Asks the core, and keeps the last answers: what was asked once is at hand at once.

Answers are kept by the digest of everything that was asked, so visitors share work only where they
ask the very same; what is kept is bounded, and nobody may change it.
"""

from dataclasses import dataclass

import streamlit as st

from bankSim.errors import ScenarioError
from bankSim.scenario.draft import Draft
from bankSim.scenario.lines import Path
from bankSim.scenario.record import Scenario
from bankSim.screens.shelf import Shelf
from bankSim.sim.result import Result

KEPT = 48
MOST_BYTES = 400_000_000
_RESULTS: Shelf[Result] = Shelf(KEPT, MOST_BYTES, lambda result: result.trace.nbytes)


@dataclass(frozen=True)
class Checked:
    """A draft, looked through.

    Parameters
    ----------
    scenario : Scenario or None
        None when something is wrong.
    faults : tuple of str
        One line each, for people.
    places : tuple of (path, str)
        The same by the place in the document (counted from 0), for the field it belongs to.
    """

    scenario: Scenario | None
    faults: tuple[str, ...] = ()
    places: tuple[tuple[Path, str], ...] = ()

    def at(self, path: Path) -> tuple[str, ...]:
        """Return what is wrong exactly at a path."""
        return tuple(text for place, text in self.places if place == path)

    def below(self, path: Path) -> tuple[str, ...]:
        """Return what is wrong at a path or anywhere inside it."""
        return tuple(text for place, text in self.places if place[: len(path)] == path)


def checked(draft: Draft) -> Checked:
    """Look a draft through: a scenario, or what is wrong and where."""
    from bankSim.screens.room import keep_in_use

    found = _checked(draft.digest, draft)
    if found.scenario is not None and draft.tables:  # they may be read again, as for a slider
        keep_in_use(draft, found.scenario.folder)
    return found


def predicted(draft: Draft) -> Result:
    """Return the run of a sound draft, every value in the middle.

    Raises
    ------
    ScenarioError
        When the draft is not sound.
    """
    return known(draft) or keep(draft, _simulated(draft))


def known(draft: Draft) -> Result | None:
    """Return the run of a draft if it was made already."""
    return _RESULTS.get(draft.digest)


def keep(draft: Draft, result: Result) -> Result:
    """Keep the run of a draft for whoever asks next."""
    return _RESULTS.put(draft.digest, result)


def scenario_of(draft: Draft) -> Scenario:
    """Return the scenario of a sound draft, or raise its `ScenarioError`."""
    found = checked(draft)
    if found.scenario is None:
        raise ScenarioError(found.faults, found.places)
    return found.scenario


@st.cache_resource(max_entries=KEPT, show_spinner=False)
def _checked(digest: str, _draft: Draft) -> Checked:
    from bankSim.scenario.draft_tables import is_plain_name
    from bankSim.scenario.faults import key_path, show
    from bankSim.scenario.read import parse_scenario
    from bankSim.screens.room import folder_of_tables

    strange = [one for one in _draft.missing_tables() if not is_plain_name(one[1])]
    if strange:  # never looked for: it could lead out of the folder
        text = "expected a plain file name, such as curve.csv"
        told = tuple((path, f"= {show(name)}; {text}") for path, name in strange)
        lines = tuple(f"{_draft.name}: {key_path(path)} {one}" for path, one in told)
        return Checked(None, lines, told)
    try:
        folder = folder_of_tables(_draft)
        return Checked(parse_scenario(_draft.plain_text, folder, _draft.name))
    except ScenarioError as error:
        return Checked(None, tuple(error.faults), error.places)


def _simulated(draft: Draft) -> Result:
    from bankSim.sim.run import simulate

    return simulate(scenario_of(draft))

"""A scenario file on disk, taken up to be worked on: its text and the tables that lie beside it."""

import os
from dataclasses import replace
from pathlib import Path

from bankSim.errors import ScenarioError
from bankSim.scenario.draft import Draft, draft_of
from bankSim.scenario.draft_tables import LARGEST_TABLE_BYTES, is_plain_name, named_tables
from bankSim.scenario.syntax import printable, read_content


def read_draft(path: str | os.PathLike[str]) -> Draft:
    """Take up a scenario file; what it says may be wrong, as long as it is TOML.

    Parameters
    ----------
    path : str or path
        Tables that the file names are looked for in its folder; one that is not there stays
        missing.

    Raises
    ------
    ScenarioError
        When the file cannot be read or is no TOML, or when a table lies elsewhere or is too large.
    """
    place, file = Path(path), printable(os.fspath(path))
    draft = draft_of(read_content(place, file), file)
    draft = replace(draft, name=printable(place.name))
    for _, name in named_tables(draft.data):
        if not is_plain_name(name):
            raise ScenarioError([f"{file}: {name!r}; expected a table in the folder of this file"])
        if (place.parent / name).is_file():
            content = read_content(place.parent / name, name, LARGEST_TABLE_BYTES)
            draft = draft.with_table(name, content)
    return draft

"""Which keys of a file were given with a spread."""

from collections.abc import Iterator
from dataclasses import dataclass

from pydantic import BaseModel

from bankSim.model.spread import Spread
from bankSim.scenario.cut_spreads import cut_spreads
from bankSim.scenario.faults import Faults, key_path
from bankSim.scenario.keys import ScenarioKeys
from bankSim.scenario.lines import Path
from bankSim.scenario.uncertain import CELLS, INDEPENDENT, SHARED, Uncertain

# Keys of [[battery]] that all its cells have in common, beside those of [battery.cell].
OF_ALL_CELLS = ("state_of_charge", "capacity_fraction", "resistance_factor")


@dataclass(frozen=True, slots=True)
class GivenSpread:
    """One key that was given with a spread.

    Parameters
    ----------
    path : tuple of str and int
        Places in arrays count from 0.
    spread : Spread
        In the unit of the key.
    independent : bool
        Every cell of the battery differs for itself.
    """

    path: Path
    spread: Spread
    independent: bool

    @property
    def key(self) -> str:
        """The key as people write it, counted from 1."""
        return key_path(self.path)


def given_spreads(keys: ScenarioKeys) -> tuple[GivenSpread, ...]:
    """Return every key that was given with a spread, in file order of the tables.

    Normal spreads are cut where the key's range ends, and where they would break an order with
    another key: see `cut_spreads`.
    """
    written = dict(_walk(keys, ()))
    spreads, _ = cut_spreads(keys, {path: one.spread for path, one in written.items()})
    return tuple(GivenSpread(path, spreads[path], one.independent) for path, one in written.items())


def check_spreads(keys: ScenarioKeys, faults: Faults) -> None:
    """Refuse spreads that break an order with another key; independent cells where none are."""
    written = {path: one.spread for path, one in _walk(keys, ())}
    for misfit in cut_spreads(keys, written)[1]:
        if not faults.touches(*misfit.paths):
            faults.add(misfit.paths[0], misfit.text)
    for given in given_spreads(keys):
        if given.independent and not _is_of_all_cells(given.path):
            faults.add(
                given.path,
                f': {CELLS} = "{INDEPENDENT}" is for values that all cells of a battery have in '
                f'common, as in [battery.cell]; expected {CELLS} = "{SHARED}", or none',
            )


def _is_of_all_cells(path: Path) -> bool:
    inside = path[2:]
    return path[:1] == ("battery",) and (inside[:1] == ("cell",) or inside in _OF_ALL)


_OF_ALL = {(name,) for name in OF_ALL_CELLS}


def _walk(value: object, path: Path) -> Iterator[tuple[Path, Uncertain]]:
    if isinstance(value, Uncertain):
        yield path, value
    elif isinstance(value, BaseModel):
        for name, field in type(value).model_fields.items():
            yield from _walk(getattr(value, name), (*path, field.alias or name))
    elif isinstance(value, list):
        for number, item in enumerate(value):
            yield from _walk(item, (*path, number))

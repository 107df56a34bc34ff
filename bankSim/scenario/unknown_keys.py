"""What to say about a key that is not known: where it belongs, or which key was meant."""

import inspect
import typing
from functools import cache

from bankSim.scenario.faults import Faults
from bankSim.scenario.keys import ScenarioKeys
from bankSim.scenario.keys_battery import Table
from bankSim.scenario.lines import Path
from bankSim.scenario.quantity import nearest

STAGES = ("charger", "stages")
_UNITS = {"mohm", "ohm", "Ah", "A", "V", "mV", "W", "h", "min", "s", "m", "mm2", "C", "kg"}


def note_unknown(path: Path, faults: Faults) -> None:
    """Note an unknown key, with the place it belongs to or the key that was meant."""
    key, known = str(path[-1]), tuple(fields_of(_table_at(path[:-1])))
    elsewhere = _homes().get(key)
    twin = next((word for word in known if _same_but_unit(word, key)), None)
    near = nearest(key, known)
    meant = None
    if elsewhere:
        text = f"it belongs in {elsewhere}"
    elif twin:
        unit = twin.rpartition("_")[2].replace("C", "degrees C")
        text, meant = f"this key is given in {unit}: {twin}", twin
    elif near:
        text, meant = f"did you mean {near}?", near
    else:
        text = f"known here: {', '.join(known)}"
    faults.add(path, f" is not a known key; {text}")
    if meant:
        faults.doubt((*path[:-1], meant))


def _same_but_unit(known: str, key: str) -> bool:
    stem, _, unit = known.rpartition("_")
    return unit in _UNITS and key.rpartition("_")[0].lower() == stem.lower() != ""


@cache
def _homes() -> dict[str, str]:
    """Return where each key lives, for keys that live in one or two places only."""
    places: dict[str, list[str]] = {}

    def visit(table: type[Table], where: tuple[str, ...]) -> None:
        for key, inner in fields_of(table).items():
            place = f"[{'.'.join(where)}]" if where else "the top of the file"
            if where == STAGES:
                place = (
                    "a stage of the charger, as in stages = [{ hold_V = 14.4, until_tail_A = 5 }]"
                )
            places.setdefault(key, []).append(place)
            if inner:
                visit(inner[0], (*where, key))

    visit(ScenarioKeys, ())
    return {key: " or ".join(found) for key, found in places.items() if len(found) <= 2}


def _table_at(path: Path) -> type[Table]:
    table: type[Table] = ScenarioKeys
    for part in path:
        if isinstance(part, str):
            table = fields_of(table)[part][0]
    return table


@cache
def fields_of(table: type[Table]) -> dict[str, list[type[Table]]]:
    """Return the keys of a table as written, each with the tables it may hold."""
    return {
        field.alias or name: _tables_in(field.annotation)
        for name, field in table.model_fields.items()
    }


def _tables_in(annotation: object) -> list[type[Table]]:
    if inspect.isclass(annotation) and issubclass(annotation, Table):
        return [annotation]
    return [table for part in typing.get_args(annotation) for table in _tables_in(part)]

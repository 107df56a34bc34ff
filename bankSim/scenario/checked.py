"""From a TOML document to typed keys; every fault is noted and what is sound goes on."""

import copy
from typing import Any

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from bankSim.scenario.faults import Faults, counted
from bankSim.scenario.keys import ScenarioKeys
from bankSim.scenario.lines import Path
from bankSim.scenario.refusal import NOT_ALLOWED
from bankSim.scenario.unknown_keys import note_unknown

# Tables whose sound keys are still checked when one of their keys is wrong.
_ROOMS = {
    (),
    ("simulation",),
    ("surroundings",),
    ("wiring",),
    *((name, *item) for name in ("battery", "load", "charger") for item in ((), ("*",))),
    ("battery", "*", "cell"),
    ("battery", "*", "cells"),
    ("battery", "*", "cells", "*"),
}


def check_keys(document: dict[str, Any], faults: Faults) -> ScenarioKeys:
    """Return the keys of a document, without those that are wrong, which are noted as faults.

    Parameters
    ----------
    document : dict
        As TOML gives it.
    faults : Faults
        Gets one entry for each wrong value, unknown or missing key.

    Returns
    -------
    keys : ScenarioKeys
        What is sound; complete if no fault was noted.
    """
    try:
        return ScenarioKeys.model_validate(document)
    except ValidationError as error:
        for detail in error.errors(include_url=False):
            _note(detail, document, faults)
    return ScenarioKeys.model_validate(_without(document, faults.paths))


def _note(detail: ErrorDetails, document: dict[str, Any], faults: Faults) -> None:
    value, kind, context = detail["input"], detail["type"], detail.get("ctx", {})
    path = _real_path(detail["loc"], document, is_missing=kind == "missing")
    if kind == NOT_ALLOWED:
        faults.refuse(path, value, context["allowed"])
    elif kind == "extra_forbidden":
        note_unknown(path, faults)
    elif kind == "missing":
        faults.add(path, " is missing")
    elif kind == "list_type" and path[-2:-1] == ("active_h",):
        whole = path[:-1]  # a single window without its outer brackets
        if not faults.touches(whole):
            faults.add(whole, " is not a list of windows; write [[from, to]], such as [[2, 5]]")
    elif kind in ("model_type", "list_type"):
        faults.refuse(path, value, _shape(path, kind, value))
    else:
        side = "at most" if kind == "too_long" else "at least"
        limit = context["max_length" if kind == "too_long" else "min_length"]
        items = counted(context["actual_length"], "item", "items")
        faults.add(path, f" has {items}; expected {side} {limit}")


def _real_path(loc: tuple[int | str, ...], document: object, *, is_missing: bool) -> Path:
    """Drop the parts of a pydantic location that are names of alternatives, not keys."""
    path: list[int | str] = []
    here: Any = document
    for number, part in enumerate(loc):
        if isinstance(here, dict):
            missing = part not in here
            if missing and not (is_missing and number == len(loc) - 1):
                continue
            here = None if missing else here[part]
        elif isinstance(here, list) and isinstance(part, int):
            here = here[part]
        else:
            continue
        path.append(part)
    return tuple(path)


def _shape(path: Path, kind: str, value: object) -> str:
    """Say how a table or an array is written."""
    dotted = ".".join(str(part) for part in path if isinstance(part, str))
    if kind == "list_type":
        double = isinstance(value, dict) and len(path) in (1, 3)
        return f"an array; write [[{dotted}]], with double brackets" if double else "an array [...]"
    single = isinstance(value, list) and isinstance(path[-1], str) and len(path) in (1, 3)
    return f"a table; write [{dotted}], with single brackets" if single else "a table"


def _without(document: dict[str, Any], paths: list[Path]) -> dict[str, Any]:
    """Return a copy of the document without the keys that hold these paths."""
    sound = copy.deepcopy(document)
    for path in sorted({_cut(path) for path in paths}, key=len, reverse=True):
        *way, last = path
        here: Any = sound
        for part in way:
            here = here[part]
        if isinstance(last, int):
            here[last] = {}
        else:
            here.pop(last, None)
    return sound


def _cut(path: Path) -> Path:
    """Return the outermost part of a path that is not a room of its own."""
    for length in range(1, len(path) + 1):
        pattern = tuple("*" if isinstance(part, int) else part for part in path[:length])
        if pattern not in _ROOMS:
            return path[:length]
    return path

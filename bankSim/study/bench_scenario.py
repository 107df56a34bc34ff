"""The scenario of a capacity test: one battery, one load, until it cuts out."""

import json
import re
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from bankSim.errors import SimulationError
from bankSim.model.chemistry import CHEMISTRIES, is_lead
from bankSim.scenario.read import parse_scenario
from bankSim.scenario.record import Scenario
from bankSim.scenario.syntax import parse_toml
from bankSim.sim.numbers import quoted

LEAD_END_V = 1.75  # of a cell: 10.5 V of a 12 V battery, usual end of a capacity test
END_AFTER_S = 1.0
LONGEST_H = 240.0  # whatever the file says: a test goes on to its cut-out
COARSE_S = 60.0
LEVEL = "state_of_charge"
CLOCK = re.compile(r"([01]\d|2[0-3]):[0-5]\d")
UNDER_TEST = "battery under test"
TEST_LOAD = "test load"


class PlanError(SimulationError, ValueError):
    """A test cannot be planned; one line says what is missing."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """What a person said about the test.

    Parameters
    ----------
    battery : str or None
        Which of a file.
    rated_Ah : float or None
    chemistry : str or None
    cells : int or None
    load_A, load_W : float or None
        At most one; replaces the loads of a file.
    starts_at : str or None
        "HH:MM".
    temperature_C : float or None
    """

    battery: str | None = None
    rated_Ah: float | None = None
    chemistry: str | None = None
    cells: int | None = None
    load_A: float | None = None
    load_W: float | None = None
    starts_at: str | None = None
    temperature_C: float | None = None


def check_wanted(wanted: Wanted) -> None:
    """Refuse numbers that no test has; one line each."""
    limits = (
        ("--rated-Ah", wanted.rated_Ah, 0.01, 10_000.0),
        ("--cells-in-series", wanted.cells, 1, 100),
        ("--load-A", wanted.load_A, 0.001, 100_000.0),
        ("--load-W", wanted.load_W, 0.01, 1_000_000.0),
        ("--temperature-C", wanted.temperature_C, -35.0, 60.0),
    )
    for option, value, low, high in limits:
        if value is not None and not low <= value <= high:
            raise PlanError(f"{option} = {value:g}; expected {low:g} to {high:,.0f}")
    if wanted.starts_at is not None and not CLOCK.fullmatch(wanted.starts_at):
        raise PlanError(f"--starts-at = {wanted.starts_at!r}; expected 00:00 to 23:59")


def of_label(wanted: Wanted) -> Scenario:
    """Return the test of a battery of which only the label is known."""
    asked = {"--rated-Ah": wanted.rated_Ah, "--chemistry": wanted.chemistry}
    missing = [option for option, value in asked.items() if value is None]
    if wanted.cells is None:
        missing.append("--cells-in-series")
    if missing:
        raise PlanError(f"without FILE: {', '.join(missing)} not given; expected all of them")
    if wanted.chemistry not in CHEMISTRIES:
        words = ", ".join(CHEMISTRIES)
        raise PlanError(f"--chemistry = {wanted.chemistry!r}; expected one of: {words}")
    battery = {
        "name": UNDER_TEST,
        "chemistry": wanted.chemistry,
        "cells_in_series": wanted.cells,
        "rated_capacity_Ah": wanted.rated_Ah,
        "lead_mohm": 3.0,
    }
    title = f"Test of a {wanted.rated_Ah:g} Ah {wanted.chemistry} battery"
    return _made({"title": title, "battery": [battery]}, wanted, Path(), "label")


def of_file(file: Path, wanted: Wanted) -> Scenario:
    """Return the test of one battery of a scenario file, alone on the bench."""
    _check_not_label(wanted)
    from bankSim.scenario.read import read_scenario

    return of_scenario(read_scenario(file), wanted)  # tells everything that is wrong with it


def of_scenario(whole: Scenario, wanted: Wanted) -> Scenario:
    """Return the test of one battery of a scenario, alone on the bench."""
    _check_not_label(wanted)
    document = parse_toml(whole.text, whole.file)
    names = [one.name for one in whole.bank.batteries]
    if wanted.battery is None and len(names) > 1:
        known = ", ".join(repr(name) for name in names)
        raise PlanError(
            f"{whole.file}: {len(names)} batteries; expected --battery and one of: {known}"
        )
    if wanted.battery is not None and wanted.battery not in names:
        known = ", ".join(repr(name) for name in names)
        raise PlanError(f"--battery = {wanted.battery!r}; expected one of: {known}")
    number = 0 if wanted.battery is None else names.index(wanted.battery)
    own = {**charged(document["battery"][number]), "name": names[number]}
    kept: dict[str, Any] = {
        key: document[key] for key in ("simulation", "surroundings", "load") if key in document
    }
    title = f"Test of {quoted(names[number])}, from: {whole.title}"
    return _made({"title": title, **kept, "battery": [own]}, wanted, Path(whole.folder), whole.file)


def charged(battery: Mapping[str, Any]) -> dict[str, Any]:
    """Return a battery of a file as a test begins: charged until its fullest cell is full.

    Cells keep their differences; where one of them has a spread they stay as they are.

    Parameters
    ----------
    battery : mapping
        Its table of the file.
    """
    cells = battery.get("cells")
    usual = battery.get("cell", {}).get(LEVEL, battery.get(LEVEL, 1.0))
    levels = [cell.get(LEVEL, usual) for cell in cells or ()]
    if not all(isinstance(level, int | float) for level in levels):
        return dict(battery)
    full = {key: value for key, value in battery.items() if key != LEVEL}
    if LEVEL in battery.get("cell", {}):
        full["cell"] = {key: value for key, value in battery["cell"].items() if key != LEVEL}
    if any(level != levels[0] for level in levels):
        pairs = zip(cells or (), levels, strict=True)
        full["cells"] = [{**cell, LEVEL: 1.0 - max(levels) + level} for cell, level in pairs]
    elif cells:
        full["cells"] = [{key: cell[key] for key in cell if key != LEVEL} for cell in cells]
    return full


def _check_not_label(wanted: Wanted) -> None:
    """Refuse numbers of a label beside a scenario that says them."""
    given = {
        "--rated-Ah": wanted.rated_Ah,
        "--chemistry": wanted.chemistry,
        "--cells-in-series": wanted.cells,
    }
    for option, value in given.items():
        if value is not None:
            raise PlanError(f"{option} = {value}; expected only without a file")


def _made(document: dict[str, Any], wanted: Wanted, folder: Path, file: str) -> Scenario:
    """Put the load, the clock and the end of the test in, and read the outcome as a scenario."""
    if wanted.load_A is not None and wanted.load_W is not None:
        raise PlanError("--load-A and --load-W; expected only one of them")
    if wanted.load_A is not None:
        document["load"] = [{"name": TEST_LOAD, "current_A": wanted.load_A}]
    elif wanted.load_W is not None:
        document["load"] = [{"name": TEST_LOAD, "power_W": wanted.load_W}]
    if not document.get("load"):
        raise PlanError("no load; expected --load-A or --load-W")
    own = {"duration_h": LONGEST_H, "stop": "bank empty", "output_every_s": COARSE_S}
    simulation = {**document.get("simulation", {}), **own}
    if wanted.starts_at is not None:
        simulation["starts_at"] = wanted.starts_at
    document["simulation"] = simulation
    if wanted.temperature_C is not None:
        document["surroundings"] = {"temperature_C": wanted.temperature_C}
    battery = document["battery"][0]
    if is_lead(battery.get("chemistry")) and not battery.get("protection"):
        battery["protection"] = [
            {
                "watches": "battery voltage",
                "trips_below": LEAD_END_V * battery["cells_in_series"],
                "after_s": END_AFTER_S,
                "blocks": "discharge",
            }
        ]
    return parse_scenario(toml_text(document), folder, f"test of {file}")


def changed(scenario: Scenario, table: str, values: Mapping[str, object]) -> Scenario:
    """Return a scenario with other values in one of its tables."""
    document = parse_toml(scenario.text, scenario.file)
    document[table] = {**document.get(table, {}), **values}
    return parse_scenario(toml_text(document), Path(scenario.folder), scenario.file)


def toml_text(document: Mapping[str, Any]) -> str:
    """Return a document as TOML, a line for each key at the top."""
    return "".join(f"{_key(key)} = {_inline(value)}\n" for key, value in document.items())


def _key(name: str) -> str:
    return json.dumps(name, ensure_ascii=False)


def _inline(value: Any) -> str:
    """Return a value in one line; strings of JSON are basic strings of TOML."""
    if isinstance(value, Mapping):
        inside = ", ".join(f"{_key(key)} = {_inline(one)}" for key, one in value.items())
        return f"{{ {inside} }}"
    if isinstance(value, list | tuple):
        return f"[{', '.join(_inline(one) for one in value)}]"
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
    if isinstance(value, bool):
        return "true" if value else "false"
    return str(value.isoformat()) if hasattr(value, "isoformat") else repr(value)


def hold_back_s(scenario: Scenario) -> float:
    """Return the longest time constant of the one battery's cells: pairs, and wells. [s]"""
    times = [0.0]
    for cell in scenario.bank.batteries[0].cells:
        times += [pair.time_constant_s for pair in cell.relaxation]
        if cell.available_fraction < 1.0 and cell.well_rate_per_s > 0.0:
            times.append(1.0 / cell.well_rate_per_s)
    return max(times)

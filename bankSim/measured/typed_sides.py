"""Two batteries as people type them: one on each side of a slash."""

import re
from dataclasses import dataclass

from bankSim.measured.deeper import Side
from bankSim.measured.knee_facts import chemistry_named
from bankSim.measured.log import LogError
from bankSim.measured.snapshot import Circumstances
from bankSim.measured.typed_voltages import Typed, typed_groups, typed_numbers
from bankSim.model.chemistry import chemistry_of
from bankSim.sim.numbers import clean

UNKNOWN = ("-", "?", "")
IN_SERIES = {"LFP": 4, "NMC": 3}  # of a 12 V battery
IN_SERIES_LEAD = 6
LONGEST_NAME = 40


@dataclass(frozen=True, slots=True)
class TypedSides:
    """What was typed, None where it was not.

    Parameters
    ----------
    cells, given_Ah, mass_kg, given_Wh, current_A, names, chemistry : str or None
        Two sides with a slash between them; chemistry and current may be one for both.
    meter_V : float
        [V]
    temperature_C : float or None
        [degC]
    """

    cells: str | None
    given_Ah: str | None
    mass_kg: str | None
    given_Wh: str | None
    current_A: str | None
    names: str | None
    chemistry: str | None
    meter_V: float
    temperature_C: float | None


def sides_of(typed: TypedSides) -> tuple[tuple[Side, Side], tuple[str, ...]]:
    """Return both batteries, and how they were read.

    Raises
    ------
    LogError
        One line with the option and what is allowed.
    """
    told: list[str] = []
    given = typed_numbers(typed.given_Ah, "--Ah", 0.01, 1e5)
    if len(given) != 2:
        raise LogError("--Ah: expected two numbers, what each battery gave: --Ah 148 / 160")
    masses = _pair(typed.mass_kg, "--kg", 0.01, 1e5)
    energies = _pair(typed.given_Wh, "--Wh", 0.1, 1e7)
    currents = _pair(typed.current_A, "--at-A", 0.001, 1e5, share=True)
    kinds = _kinds(typed.chemistry)
    cells = _cells(typed.cells, told)
    names = _names(typed.names)
    counts = [
        len(cell.voltages_V) if cell else _in_series(kind, told)
        for cell, kind in zip(cells, kinds, strict=True)
    ]
    first, second = (
        Side(
            name=names[n],
            given_Ah=given[n],
            around=Circumstances(
                rated_Ah=given[n],
                chemistry=kinds[n],
                current_A=currents[n],
                temperature_C=typed.temperature_C,
                meter_V=typed.meter_V,
            ),
            voltages_V=cells[n].voltages_V if cells[n] else (),  # type: ignore[union-attr]
            step_V=cells[n].step_V if cells[n] else 0.0,  # type: ignore[union-attr]
            mass_kg=masses[n],
            given_Wh=energies[n],
            cells=counts[n],
        )
        for n in (0, 1)
    )
    return (first, second), tuple(dict.fromkeys(told))


def _pair(
    text: str | None, option: str, low: float, high: float, *, share: bool = False
) -> list[float | None]:
    """Read two numbers; "-" on one side means not known; one number may stand for both."""
    if text is None:
        return [None, None]
    sides = text.split("/") if "/" in text else text.split()
    if share and len(sides) == 1:
        sides = sides * 2
    if len(sides) != 2:
        raise LogError(f"{option} = {clean(text, 40)!r}; expected two numbers like 16 / 16.5")
    return [
        None if side.strip() in UNKNOWN else typed_numbers(side, option, low, high, most=1)[0]
        for side in sides
    ]


def _kinds(text: str | None) -> list[str]:
    words = [word for word in re.split(r"[\s/,]+", text or "LFP") if word]
    if len(words) == 1:
        words = words * 2
    if len(words) != 2:
        raise LogError(f"--chemistry = {clean(text or '', 40)!r}; expected one word or two")
    return [chemistry_named(word).word for word in words]


def _cells(text: str | None, told: list[str]) -> list[Typed | None]:
    """Read the cells of both sides."""
    sides = ["-", "-"] if text is None else text.split("/")
    if len(sides) != 2:
        raise LogError(f"--cells: {len(sides)} groups; expected those of two batteries with one "
                       "slash between them: 2.50 2.55 2.52 2.60 / 2.21 2.30 2.35 2.40")  # fmt: skip
    read: list[Typed | None] = []
    for side in sides:
        if side.strip() in UNKNOWN:
            read.append(None)
            continue
        groups, words = typed_groups([side], "--cells")
        told.extend(words)
        read.append(groups[0])
    return read


def _names(text: str | None) -> list[str]:
    if text is None:
        return ["one", "two"]
    names = [clean(side.strip(), LONGEST_NAME) for side in text.split("/")]
    if len(names) != 2 or not all(names) or names[0] == names[1]:
        raise LogError(
            f"--names = {clean(text, 40)!r}; expected two different names like old / new"
        )
    return names


def _in_series(kind: str, told: list[str]) -> int:
    """Return the cells of a 12 V battery, and say so."""
    chemistry = chemistry_of(kind)
    lead = chemistry is not None and not chemistry.is_lithium
    count = IN_SERIES_LEAD if lead else IN_SERIES[kind]
    told.append(f"No cell voltages for {kind}: taken as a 12 V battery of {count} cells.")
    return count

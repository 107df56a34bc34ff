"""Puts a calibrated battery into a bank: as one more, or in place of one."""

import copy
import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from bankSim.measured.battery_file import BatteryFiles
from bankSim.scenario.draft import Draft
from bankSim.scenario.draft_tables import TABLE_KEYS, named_tables

ARRAY = ("battery",)
# what belongs to the place in the bank and to the label, not to what was measured
STAYS = (
    "name", "lead", "lead_mohm", "continuous_discharge_A", "continuous_charge_A",
    "diode_drop_V", "balancer", "heater",
)  # fmt: skip
UNLESS_FOUND = ("mass_kg", "protection")  # stay where the logs say nothing of them


@dataclass(frozen=True, slots=True)
class Adopted:
    """A bank with the battery in it.

    Parameters
    ----------
    draft : Draft
    name : str
        Of the battery, in this bank.
    """

    draft: Draft
    name: str


def adopt(
    draft: Draft, made: BatteryFiles, instead_of: int | None, lead_mohm: float | None = None
) -> Adopted:
    """Return the bank with a calibrated battery.

    Parameters
    ----------
    draft : Draft
    made : BatteryFiles
    instead_of : int or None
        Place of the battery that it replaces, from 0, whose name, lead and label limits stay; None
        makes it one more.
    lead_mohm : float or None
        Of one more battery. [mohm]
    """
    item: dict[str, Any] = copy.deepcopy(tomllib.loads(made.text)["battery"][0])
    names = [one.get("name", "") for one in draft.data.get("battery", [])]
    if instead_of is None:
        item["name"] = _free(str(item["name"]), names)
        item["lead_mohm"] = lead_mohm or 0.0
        place = len(names)
    else:
        place = instead_of
        _keep(item, draft.at((*ARRAY, place)))
        draft = draft.without_item(ARRAY, place) if len(names) > 1 else draft
    tables = _free_tables(draft, made.tables)
    _rename(item, {old: new for old, (new, _) in tables.items()})
    draft = draft.with_item(ARRAY, place, item)
    if instead_of is not None and len(names) == 1:  # the array is never empty on the way
        draft = draft.without_item(ARRAY, place + 1)
    for name, text in tables.values():
        draft = draft.with_table(name, text.encode())
    return Adopted(_without_unnamed(draft), str(item["name"]))


def _keep(item: dict[str, Any], former: Mapping[str, Any]) -> None:
    """Let stay what belongs to the place in the bank."""
    if "lead" in former or "lead_mohm" in former:
        item.pop("lead_mohm", None)
    for key in (*STAYS, *(one for one in UNLESS_FOUND if one not in item)):
        if key in former:
            item[key] = copy.deepcopy(former[key])


def _free(name: str, taken: list[str]) -> str:
    count, found = 2, name
    while found in taken:
        found = f"{name} {count}"
        count += 1
    return found


def _free_tables(draft: Draft, tables: Mapping[str, str]) -> dict[str, tuple[str, str]]:
    """Return for each table the name it gets here: no other table of the bank is replaced."""
    own, found = dict(draft.tables), {}
    for name, text in tables.items():
        new, count = name, 2
        while own.get(new, text.encode()) != text.encode():
            new = re.sub(r"\.csv$", f"-{count}.csv", name)
            count += 1
        found[name] = (new, text)
    return found


def _rename(part: Any, names: Mapping[str, str]) -> None:
    inside = part.items() if isinstance(part, dict) else enumerate(part)
    for key, value in inside:
        if key in TABLE_KEYS and value in names:
            part[key] = names[value]
        elif isinstance(value, dict | list):
            _rename(value, names)


def _without_unnamed(draft: Draft) -> Draft:
    named = {name for _, name in named_tables(draft.data)}
    return replace(draft, tables=tuple(one for one in draft.tables if one[0] in named))

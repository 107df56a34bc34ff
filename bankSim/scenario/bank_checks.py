"""Checks across batteries, wiring and simulation; every fault is noted, none is raised."""

from collections import Counter
from collections.abc import Sequence

from bankSim.model.bank import Layout, Wiring
from bankSim.model.battery import Battery
from bankSim.scenario.build_battery import LEAST_SERIES_OHM, has_no_resistance
from bankSim.scenario.faults import Faults, show
from bankSim.scenario.glossary import QUANTITIES
from bankSim.scenario.keys import ScenarioKeys, SwingKeys

MOST_ROWS = 2_000_000
MOST_NUMBERS = 50_000_000
RESERVED_NAME = "bank"  # heads the columns of the whole bank in the timeline


def check_bank(keys: ScenarioKeys, faults: Faults) -> None:
    """Check what concerns more than one battery, load or charger, and the surroundings."""
    if not keys.battery and not faults.touches(("battery",)):
        faults.add(("battery",), " is missing; expected at least one [[battery]]")
    _check_names("battery", [battery.name for battery in keys.battery], faults)
    _check_names("load", [load.name for load in keys.load], faults)
    _check_names("charger", [charger.name for charger in keys.charger], faults)
    _check_columns(keys, faults)
    _check_cells_in_series(keys, faults)
    for short, long in (("link_mohm", "link"), ("main_mohm", "main")):
        if getattr(keys.wiring, short) is not None and getattr(keys.wiring, long) is not None:
            faults.add(("wiring", long), f" and {short} are both given; expected one of them")
    _check_swing(keys.surroundings.temperature_C, faults)
    _check_timeline_size(keys, faults)


def name_of(kind: str, number: int, written: str | None) -> str:
    """Return the name as written, or "battery 1" and the like; `number` counts from 0."""
    return written or f"{kind} {number + 1}"


def check_meeting(batteries: Sequence[Battery | None], wiring: Wiring, faults: Faults) -> None:
    """Refuse batteries that meet with no resistance between them: their currents have no bound.

    Parameters
    ----------
    batteries : sequence of Battery or None
        In file order; None stands for one that could not be built.
    wiring : Wiring
    faults : Faults
        Gets one entry for each such battery after the first.
    """
    row = wiring.layout is not Layout.EQUAL_LEADS
    if row and wiring.link_ohm >= LEAST_SERIES_OHM:
        return
    bare = [number for number, one in enumerate(batteries) if one and has_no_resistance(one)]
    links = ", or in wiring.link_mohm" if row else ""
    for number in bare[1:]:
        first = batteries[bare[0]]
        assert first is not None
        faults.add(
            ("battery", number),
            f" and battery[{bare[0] + 1}] {show(first.name)} meet with no resistance between them; "
            "expected more than 0 in ohmic_mohm, internal_mohm or lead_mohm of one of the two"
            f"{links}",
        )


def _check_cells_in_series(keys: ScenarioKeys, faults: Faults) -> None:
    """Refuse batteries of one chemistry whose voltages cannot match; tables may stand for any."""
    for chemistry in dict.fromkeys(battery.chemistry for battery in keys.battery):
        cells = {
            number: battery.cells_in_series
            for number, battery in enumerate(keys.battery)
            if chemistry and battery.chemistry == chemistry and battery.cells_in_series
        }
        if len(set(cells.values())) > 1:
            _refuse_the_fewer(cells, faults)


def _refuse_the_fewer(cells: dict[int, int], faults: Faults) -> None:
    """Note each battery (by place in the file) whose cells in series most others do not have."""
    usual, _ = Counter(cells.values()).most_common(1)[0]
    like = next(number for number, count in cells.items() if count == usual)
    expected = f"the same as battery[{like + 1}], which has {usual}"
    why = "batteries of the same chemistry in parallel need the same voltage"
    for number, count in cells.items():
        if count != usual:
            faults.refuse(("battery", number, "cells_in_series"), count, f"{expected}: {why}")


def _check_names(kind: str, written: list[str | None], faults: Faults) -> None:
    first: dict[str, int] = {}
    for number, given in enumerate(written):
        name = name_of(kind, number, given)
        path = (kind, number, "name")
        if name in first and not faults.touches(path):
            faults.refuse(path, name, f"a name that {kind}[{first[name] + 1}] does not have")
        first.setdefault(name, number)


def _check_columns(keys: ScenarioKeys, faults: Faults) -> None:
    """Refuse names that head columns of the timeline which are another's."""
    batteries = [name_of("battery", n, one.name) for n, one in enumerate(keys.battery)]
    chargers = [name_of("charger", n, one.name) for n, one in enumerate(keys.charger)]
    for kind, names in (("battery", batteries), ("charger", chargers)):
        for number, name in enumerate(names):
            if name == RESERVED_NAME:
                allowed = "another name; this one heads the columns of the whole bank"
                faults.refuse((kind, number, "name"), name, allowed)
    for number, name in enumerate(chargers):
        path = ("charger", number, "name")
        if name in batteries and not faults.touches(path):
            owner = f"battery[{batteries.index(name) + 1}]"
            allowed = f"a name that {owner} does not have: both head a column of the timeline"
            faults.refuse(path, name, allowed)


def _check_swing(given: float | SwingKeys, faults: Faults) -> None:
    """Keep the coldest and the warmest hour in the range of a fixed temperature."""
    if not isinstance(given, SwingKeys):
        return
    quantity = QUANTITIES["temperature_C"]
    coldest, warmest = given.mean_C - given.swing_C, given.mean_C + given.swing_C
    if coldest < quantity.lowest or warmest > quantity.highest:
        faults.add(
            ("surroundings", "temperature_C", "swing_C"),
            f" = {show(given.swing_C)}; expected less: the day would go from {coldest:g} to "
            f"{warmest:g} degC, allowed is {quantity.allowed}",
        )


def _check_timeline_size(keys: ScenarioKeys, faults: Faults) -> None:
    times = keys.simulation
    columns = 3 + sum(4 + (battery.cells_in_series or 1) for battery in keys.battery)
    rows = times.duration_h * 3600.0 / times.output_every_s
    most = min(MOST_ROWS, MOST_NUMBERS // columns)
    path = ("simulation", "output_every_s")
    if rows > most and not faults.touches(path, ("simulation", "duration_h")):
        least = times.duration_h * 3600.0 / most
        faults.add(
            path,
            f" = {show(times.output_every_s)}; expected {least:.3g} s or more: {times.duration_h:g}"
            f" h would make {rows:.3g} rows of {columns} columns, at most {most} rows are kept",
        )

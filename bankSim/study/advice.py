"""What to measure at the bench, and how, to know a group of unknowns better."""

from bankSim.study.groups import Group
from bankSim.study.unknown import Kind

_HOW = {
    Kind.CAPACITY: "charge {it} full, discharge it alone down to its cut-out at about the current "
    "it will see, and count the Ah",
    Kind.CELL_CAPACITY: "discharge {it} alone from full and count the Ah; read every cell voltage "
    "just before the switch opens, off its display or data port or at the balance wires: the "
    "lowest cell has given all of that, the others hold as much more as their voltages tell",
    Kind.RESISTANCE: "switch a known load on at {it} alone and note its voltage just before and "
    "some seconds after: the step over the current is its resistance (0.1 V at 10 A: 10 mohm)",
    Kind.CELL_RESISTANCE: "switch a known load on at {it} alone and read every cell voltage just "
    "before and some seconds after: each step over the current is that cell's resistance (10 mV "
    "at 10 A: 1 mohm)",
    Kind.CHARGE: "charge {it} at the full charging voltage of its maker until the current has died "
    "down to 1 to 2 A for every 100 Ah, right before the run, or count the Ah it gave since",
    Kind.CELL_CHARGE: "read the cell voltages of {it} near the end of a slow charge, while they "
    "rise steeply: the ones that lag are less full; hold the charge until the balancer has "
    "brought them together",
    Kind.INTERNAL: "at a known current, subtract the voltage at the poles of {it} from the sum of "
    "its cell voltages, and divide by the current",
    Kind.LEAD: "measure the voltage over both leads of {it}, from pole to bar, at a known current, "
    "and divide by the current (10 mV at 10 A: 1 mohm)",
    Kind.LINK: "measure the voltage over one link, between neighbours on one rail, at a known "
    "current through it, and divide by the current (10 mV at 10 A: 1 mohm)",
    Kind.MAIN: "measure the voltage lost between the take-off and the loads, plus and minus cable "
    "together, at a known current, and divide by the current (10 mV at 10 A: 1 mohm)",
    Kind.LIMITS: "read the limits off the data sheet or the settings of the electronics of {it}, "
    "or note the cell voltages at a cut-out and at the end of a charge",
    Kind.DELAYS: "read the delays off the data sheet or the settings of the electronics of {it}, "
    "or time a cut-out from the moment a cell passes the limit",
    Kind.DROP: "once {it} blocks one direction, let a few amperes flow in the other and subtract "
    "the voltage at its poles from the sum of its cell voltages",
    Kind.RELAXATION: "load {it} for half an hour, switch the load off, and log its voltage for "
    "the hour after",
    Kind.HYSTERESIS: "bring {it} to half charge once by charging and once by discharging, let it "
    "rest for some hours each time, and take half the difference of the voltages of a cell",
    Kind.STANDING: "charge {it} full, leave it unconnected for a month, and count the Ah that "
    "fill it again",
    Kind.WELLS: "test {it} alone twice, at a small and at a large current, and compare the Ah",
    Kind.WARMTH: "take the voltage step of a known load at {it} once warm and once cold",
    Kind.HEAT: "run {it} at a steady large current and log the temperature of its cells for an "
    "hour or two",
    Kind.TEMPERATURE: "hang a thermometer beside the batteries for a day",
    Kind.LOAD: "measure current and voltage of {it} while it runs as it will, for a whole cycle if "
    "it switches by itself",
    Kind.CHARGER: "measure the largest current of {it}, and the voltage at which it holds",
}
_WRITE = {
    Kind.CAPACITY: "{table}.capacity_fraction, those Ah over the label",
    Kind.CELL_CAPACITY: "capacity_Ah of each cell as {table}.cells",
    Kind.RESISTANCE: "{table}.cell.ohmic_mohm, less internal_mohm and over the cells in series",
    Kind.CELL_RESISTANCE: "ohmic_mohm of each cell as {table}.cells",
    Kind.CHARGE: "{table}.state_of_charge",
    Kind.CELL_CHARGE: "state_of_charge of each cell as {table}.cells",
    Kind.INTERNAL: "{table}.internal_mohm",
    Kind.LEAD: "{table}.lead_mohm in place of {table}.lead",
    Kind.LINK: "wiring.link_mohm in place of wiring.link",
    Kind.MAIN: "wiring.main_mohm in place of wiring.main",
    Kind.LIMITS: "all its rules as {table}.protection",
    Kind.DELAYS: "all its rules as {table}.protection, with after_s",
    Kind.DROP: "{table}.diode_drop_V",
    Kind.RELAXATION: "{table}.cell.relaxation",
    Kind.HYSTERESIS: "{table}.cell.hysteresis_mV",
    Kind.WELLS: "{table}.cell.available_fraction and well_rate_per_h, which make the Ah agree",
    Kind.TEMPERATURE: "surroundings.temperature_C",
    Kind.LOAD: "{table}.power_W with the spread that is left, such as sd_percent = 1 (a plain "
    "number counts as known to 5 % only)",
}  # self-discharge, heat and the rise in the cold have no key: measuring tells whether to worry
_LIKE = {
    "capacity_fraction": Kind.CAPACITY,
    "capacity_Ah": Kind.CAPACITY,
    "resistance_factor": Kind.RESISTANCE,
    "ohmic_mohm": Kind.RESISTANCE,
    "state_of_charge": Kind.CHARGE,
    "internal_mohm": Kind.INTERNAL,
    "lead_mohm": Kind.LEAD,
    "link_mohm": Kind.LINK,
    "main_mohm": Kind.MAIN,
    "trips_below": Kind.LIMITS,
    "trips_above": Kind.LIMITS,
    "releases_below": Kind.LIMITS,
    "releases_above": Kind.LIMITS,
    "after_s": Kind.DELAYS,
    "release_after_s": Kind.DELAYS,
    "diode_drop_V": Kind.DROP,
    "mohm": Kind.RELAXATION,
    "time_constant_s": Kind.RELAXATION,
    "hysteresis_mV": Kind.HYSTERESIS,
    "available_fraction": Kind.WELLS,
    "well_rate_per_h": Kind.WELLS,
    "temperature_C": Kind.TEMPERATURE,
    "mean_C": Kind.TEMPERATURE,
}
_OF_LOADS = ("power_W", "current_A", "resistance_ohm")
_OF_CHARGERS = ("limit_A", "limit_W", "peak_W", "hold_V", "until_tail_A")
_OF_CELLS = {
    Kind.CAPACITY: Kind.CELL_CAPACITY,
    Kind.RESISTANCE: Kind.CELL_RESISTANCE,
    Kind.CHARGE: Kind.CELL_CHARGE,
}


def advice(group: Group) -> str:
    """Return one instruction for a practical person, without a full stop.

    Parameters
    ----------
    group : Group
        One that is given in the file with a spread (`Kind.KEY`) is told by its key.
    """
    it, kind, key = f'"{group.subject}"', group.kind, group.keys[0]
    if kind is not Kind.KEY:
        write = _WRITE.get(kind, "").format(table=key.partition(".")[0])
        return f"{_HOW[kind].format(it=it)}{'; then write ' if write else ''}{write}"
    like = _kind_like(group)
    how = f"find out {key} more closely" if like is None else _HOW[like].format(it=it)
    return f"{how}; then narrow {key} in the file"


def _kind_like(group: Group) -> Kind | None:
    """Return the kind that a key of the file is measured like; None when there is none."""
    table, _, name = group.keys[0].rpartition(".")
    if name in _OF_LOADS:
        return Kind.LOAD if table.startswith("load[") else None
    if name in _OF_CHARGERS:
        return Kind.CHARGER
    kind = _LIKE.get(name)
    by_cell = "cells[" in table or len(group.labels) > 1
    return _OF_CELLS.get(kind, kind) if kind is not None and by_cell else kind

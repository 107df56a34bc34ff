"""Groups of unknowns in words: keys of the file become what people call them."""

from bankSim.study.groups import Group
from bankSim.study.unknown import Kind

NOUNS = {
    # surroundings and wiring
    "temperature_C": "temperature",
    "mean_C": "mean temperature over the day",
    "swing_C": "swing of the temperature over the day",
    "link_mohm": "resistance of one link",
    "main_mohm": "resistance of the main cable",
    "lead_mohm": "resistance of the leads",
    "length_m": "length",
    "area_mm2": "copper area",
    # battery and cell
    "rated_capacity_Ah": "capacity on the label",
    "state_of_charge": "state of charge",
    "capacity_fraction": "capacity",
    "resistance_factor": "resistance",
    "internal_mohm": "internal resistance",
    "continuous_discharge_A": "discharge limit on the label",
    "continuous_charge_A": "charge limit on the label",
    "mass_kg": "mass",
    "diode_drop_V": "diode drop",
    "capacity_Ah": "capacity",
    "ohmic_mohm": "resistance",
    "mohm": "resistance",
    "time_constant_s": "time constant",
    "hysteresis_mV": "hysteresis",
    "available_fraction": "part of the charge at hand at once",
    "well_rate_per_h": "rate at which bound charge follows",
    # protection, balancer, heater
    "trips_below": "limit",
    "trips_above": "limit",
    "after_s": "delay",
    "releases_above": "release limit",
    "releases_below": "release limit",
    "release_after_s": "release delay",
    "current_A": "current",
    "starts_above_V": "starting voltage",
    "within_mV": "voltage difference left alone",
    "on_below_C": "switch-on temperature",
    "off_above_C": "switch-off temperature",
    # loads and chargers
    "power_W": "power",
    "resistance_ohm": "resistance",
    "reference_voltage_V": "voltage of its rated power",
    "voltage_exponent": "voltage exponent",
    "on_min": "time on",
    "off_min": "time off",
    "cut_off_V": "cut-off voltage",
    "cut_off_after_s": "delay of the cut-off",
    "restart_V": "restart voltage",
    "limit_A": "largest current",
    "limit_W": "largest power",
    "hold_V": "voltage held",
    "until_tail_A": "tail current",
    "at_most_h": "longest time",
    "peak_W": "peak power",
}
_TABLES = {
    "surroundings": "the surroundings",
    "link": "the links",
    "main": "the main cable",
    "lead": "the leads",
    "cell": "the cells",
    "cells": "cell",
    "relaxation": "relaxation",
    "protection": "protection rule",
    "balancer": "the balancer",
    "heater": "the heater",
    "stages": "stage",
    "sun": "its sun",
}
_OWN = {
    Kind.WARMTH: "rise of resistance in the cold",
    Kind.HEAT: "heat loss",
    Kind.LIMITS: "protection limits",
    Kind.DELAYS: "protection delays",
    Kind.LINK: "resistance of the links",
}


def group_words(group: Group) -> str:
    """Return what a group is, to stand behind "the": 'state of charge of cell 3 of "old"'.

    Parameters
    ----------
    group : Group
        One that is given in the file (`Kind.KEY`) is told by what its key means; a key without
        words of its own stays as it is.
    """
    of_subject = f' of "{group.subject}"' if group.subject else ""
    if group.kind in _OWN:
        return f"{_OWN[group.kind]}{of_subject}"
    if group.kind is not Kind.KEY:
        return group.name
    *tables, name = _parts(group)
    if name not in NOUNS:
        return group.name
    own = [table_words(table, len(group.labels)) for table in reversed(tables)]
    if len(group.labels) > 1 and "each cell" not in own:
        own.append("each cell")
    return "".join([NOUNS[name], *(f" of {word}" for word in own if word), of_subject])


def _parts(group: Group) -> list[str]:
    """Return the names on the way to a key, without the battery, load or charger itself."""
    parts = group.keys[0].split(".")
    return parts[1:] if group.subject else parts


def table_words(table: str, count: int = 1) -> str:
    """Return what a table of the file is, with its place: "relaxation 2", "cell 3", "the leads".

    Parameters
    ----------
    table : str
        One name of a key, such as "relaxation[2]".
    count : int
        Of the unknowns that stand for it.

    Returns
    -------
    words : str
        Nothing where the table is no thing of its own.
    """
    name, _, place = table.rstrip("]").partition("[")
    if name == "cell" and count > 1:
        return "each cell"
    word = _TABLES.get(name, "")
    return f"{word} {place}" if word and place else word

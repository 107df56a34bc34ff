"""What the keys of the file are called on the screen."""

import re

from bankSim.scenario.lines import Path

LABELS = {
    "title": "Title",
    "notes": "Notes",
    "name": "Name",
    "chemistry": "Chemistry",
    "cells_in_series": "Voltage",
    "rated_capacity_Ah": "Capacity on the label (Ah)",
    "state_of_charge": "State of charge at the start (%)",
    "capacity_fraction": "Capacity now, part of the label (%)",
    "resistance_factor": "Resistance now, times new",
    "internal_mohm": "Switches and straps inside (mohm)",
    "lead_mohm": "Both leads together (mohm)",
    "lead": "Lead",
    "link": "Link between neighbours",
    "main": "Main conductors",
    "link_mohm": "One link between neighbours (mohm)",
    "main_mohm": "Main conductors, both together (mohm)",
    "length_m": "Length, one way (m)",
    "area_mm2": "Copper",
    "joints": "Bolted joints on each conductor",
    "fuse_A": "Fuse (A)",
    "continuous_discharge_A": "Most discharge on the label (A)",
    "continuous_charge_A": "Most charge on the label (A)",
    "mass_kg": "Mass (kg)",
    "diode_drop_V": "Drop of a blocked switch (V)",
    "capacity_Ah": "Capacity of the cell (Ah)",
    "ohmic_mohm": "Resistance of the cell (mohm)",
    "hysteresis_mV": "Hysteresis (mV)",
    "available_fraction": "Part of the charge at hand",
    "well_rate_per_h": "Rate at which the rest follows (1/h)",
    "ocv_table": "Voltage curve (table)",
    "relaxation": "Relaxation",
    "mohm": "Resistance (mohm)",
    "time_constant_s": "Time constant (s)",
    "protection": "Protection rules",
    "cell": "Cells",
    "cells": "Single cells",
    "watches": "Watches",
    "trips_below": "Trips below",
    "trips_above": "Trips above",
    "after_s": "After (s)",
    "blocks": "Blocks",
    "releases_above": "Lets go above",
    "releases_below": "Lets go below",
    "release_after_s": "Lets go after (s)",
    "release_needs": "Lets go only with",
    "balancer": "Balancer",
    "heater": "Heater",
    "kind": "Kind",
    "current_A": "Current (A)",
    "starts_above_V": "Starts at a cell voltage of (V)",
    "within_mV": "Leaves differences alone up to (mV)",
    "always": "Works at any voltage",
    "power_W": "Power (W)",
    "on_below_C": "On below (degC)",
    "off_above_C": "Off above (degC)",
    "needs": "Works only while",
    "resistance_ohm": "Resistance (ohm)",
    "reference_voltage_V": "The power holds at (V)",
    "voltage_exponent": "How power follows voltage (exponent)",
    "duty": "On and off in turn",
    "on_min": "On for (min)",
    "off_min": "Off for (min)",
    "active_h": "Only in these hours since the start",
    "daily": "Only at these times of day",
    "profile": "Profile (table)",
    "cut_off_V": "Its own cut-off (V)",
    "cut_off_after_s": "Cuts off after (s)",
    "restart_V": "Starts again at (V)",
    "limit_A": "Most current (A)",
    "limit_W": "Most power (W)",
    "hold_V": "Voltage that it holds (V)",
    "stages": "Stages",
    "until_tail_A": "Until the current falls to (A)",
    "at_most_h": "For at most (h)",
    "sun": "Sun",
    "peak_W": "Power at noon (W)",
    "rise": "Sunrise",
    "set": "Sunset",
    "layout": "How the batteries meet",
    "temperature_C": "Temperature (degC)",
    "mean_C": "Mean of the day (degC)",
    "swing_C": "From the mean to the warmest (degC)",
    "warmest_at": "Warmest at",
    "duration_h": "Longest time (h)",
    "stop": "The run ends",
    "starts_at": "Time of day at the start",
    "output_every_s": "A row every (s)",
    "value": "in the middle",
    "sd": "give or take (sd)",
    "sd_percent": "give or take (%)",
    "low": "lowest",
    "high": "highest",
    "wiring": "Wiring",
    "surroundings": "Place",
    "simulation": "Time",
    "battery": "Battery",
    "load": "Load",
    "charger": "Charger",
    "from": "from",
    "to": "to",
}
PERCENT = ("state_of_charge", "capacity_fraction")  # shown times 100


def label_of(path: Path) -> str:
    """Return the label of a field; a key that the screen does not know stands for itself."""
    words = [part for part in path if isinstance(part, str)]
    key = words[-1] if words else ""
    return LABELS.get(key, key)


_UNIT = re.compile(r" \([^()]*\)$")
_KEYS = re.compile(rf"\b(?:{'|'.join(key for key in LABELS if '_' in key)})\b")
_PLACE = re.compile(r"\b(battery|load|charger)\[(\d+)\]")


def labels_for_keys(text: str) -> str:
    """Return a sentence about the file with the labels of the page in place of its keys."""
    placed = _PLACE.sub(r"\1 \2", text)
    return _KEYS.sub(lambda found: f'"{_UNIT.sub("", LABELS[found[0]])}"', placed)


def place_words(path: Path, data: object) -> str:
    """Return where a path leads, for a list: Battery 2 "old", cell 3, Capacity (Ah)."""
    parts: list[str] = []
    here = data
    for number, part in enumerate(path):
        here = _inside(here, part)
        if isinstance(part, int):
            name = here.get("name") if isinstance(here, dict) and number == 1 else None
            parts[-1] = f"{_one(str(path[number - 1]))} {part + 1}"
            parts[-1] += f' "{name}"' if isinstance(name, str) else ""
        else:
            parts.append(LABELS.get(part, part))
    return ", ".join(parts)


def _one(key: str) -> str:
    singular = {"cells": "Cell", "protection": "Rule", "stages": "Stage"}
    return singular.get(key, LABELS.get(key, key))


def _inside(here: object, part: str | int) -> object:
    if isinstance(here, dict) and isinstance(part, str):
        return here.get(part)
    if isinstance(here, list) and isinstance(part, int) and part < len(here):
        return here[part]
    return None

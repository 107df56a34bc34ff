"""Tables of the glossary: keys of scenario files, and what results hold."""

from bankSim.scenario.glossary import QUANTITIES
from bankSim.scenario.quantity import Quantity
from bankSim.sim import balancing_result, joining_result, result
from making.blocks import Maker, table
from making.docstrings import Item, read

# symbols of docs/theory.md
SYMBOLS = {
    "temperature_C": "Ta", "mean_C": "Tm", "swing_C": "S", "link_mohm": "r", "main_mohm": "R_main",
    "length_m": "l", "area_mm2": "A", "joints": "n_joints", "fuse_A": "I_fuse",
    "rated_capacity_Ah": "C", "state_of_charge": "z", "internal_mohm": "R_i", "mass_kg": "m",
    "diode_drop_V": "D", "capacity_Ah": "Q", "ohmic_mohm": "R0", "mohm": "R_j",
    "time_constant_s": "tau_j", "hysteresis_mV": "M", "available_fraction": "c",
    "well_rate_per_h": "k'", "trips_below": "L", "trips_above": "L", "releases_above": "L_release",
    "releases_below": "L_release", "balancer_current_A": "B", "starts_above_V": "start",
    "within_mV": "within", "heater_W": "P_heater", "power_W": "P0", "current_A": "I0",
    "resistance_ohm": "1/G", "reference_voltage_V": "Vr", "voltage_exponent": "n",
    "limit_A": "I_max", "limit_W": "P_max", "hold_V": "V_hold", "until_tail_A": "tail",
    "peak_W": "P_peak", "duration_h": "t",
}  # fmt: skip
# of results; what is not here is 0 or more where it has a unit
SIGNS = {
    "cells_Wh": "given +, stored -", "residual_Wh": "either", "currents_A": "discharge +",
    "currents_after_A": "discharge +", "first_A": "discharge +", "value": "as watched",
    "most_A": "discharge +",
    "threshold": "as watched", "limit": "as watched", "coldest_C": "either",
    "warmest_C": "either", "given_Ah": "given +", "lowest_state_of_charge": "may pass 0",
    "highest_state_of_charge": "may pass 1", "final_state_of_charge": "may pass 0 and 1",
    "stranded_Ah": "0 or more", "remaining_Ah": "may pass 0",
}  # fmt: skip
RECORDS = {
    "results of the bank": result.BankOutcome,
    "results of a battery": result.BatteryOutcome,
    "energy": result.EnergyLedger,
    "chargers": result.ChargerOutcome,
    "events": result.Event,
    "cautions": result.Caution,
    "joined batteries": joining_result.JoinedBattery,
    "joined pairs": joining_result.JoinedPair,
    "returns": joining_result.Return,
    "balancing": balancing_result.BalancerGain,
}


def makers() -> dict[str, Maker]:
    """Return the makers of the glossary's blocks."""
    made: dict[str, Maker] = {"scenario keys": scenario_keys}
    for name, kind in RECORDS.items():
        made[name] = lambda kind=kind: record(kind)
    return made


def scenario_keys() -> str:
    """Return all keys that are numbers."""
    rows = [
        (f"`{name}`", SYMBOLS.get(name, ""), one.unit or "1", _range(one), one.meaning)
        for name, one in QUANTITIES.items()
    ]
    return table(("key", "symbol", "unit", "allowed", "meaning"), rows)


def _range(one: Quantity) -> str:
    low = f"above {one.lowest:g}" if one.above else f"{one.lowest:g}"
    high = f"{one.highest:,.0f}".replace(",", " ")
    return f"{low} to {high}{', whole' if one.whole else ''}"


def record(kind: type) -> str:
    """Return the fields of a record of results."""
    rows = [
        (f"`{one.name}`", one.unit or "-", _sign(one), one.meaning or _spelled(one.name))
        for one in read(kind).items()
    ]
    return table(("name", "unit", "sign", "meaning"), rows)


def _sign(one: Item) -> str:
    usual = "0 or more" if one.unit and "str" not in one.kind else "-"
    return SIGNS.get(one.name, usual)


def _spelled(name: str) -> str:
    words = name.split("_")
    return " ".join(words[:-1] if len(words) > 1 else words).capitalize() + "."

"""Banks that keep to every range and yet are like no bank: legal documents from a seed."""

import math
import random
from typing import Any

from bankSim.model.bank import Layout
from bankSim.scenario.glossary import QUANTITIES
from bankSim.scenario.quantity import Quantity
from tests.hostile import shipped
from tests.hostile.make_low_banks import low_bank
from tests.hostile.write_toml import toml_text

CELLS = {"LFP": (4, 8, 16), "NMC": (4, 7, 14), "AGM": (6, 12), "gel": (6,), "flooded": (6, 12, 24)}
CELL_V = {"LFP": 3.3, "NMC": 3.7, "AGM": 2.1, "gel": 2.1, "flooded": 2.1}
LOW = 0.15  # part of the banks that are near empty beside chargers
WILD = 0.25  # part of the numbers that lie anywhere in their range; the rest lie near common ones


def anywhere(rng: random.Random, key: str, common: float) -> float:
    """Return a number of the range of a key: near the common one, or anywhere, or at an end."""
    quantity: Quantity = QUANTITIES[key]
    low, high = float(quantity.lowest), float(quantity.highest)
    way = rng.random()
    if way > WILD:
        value = common * 2.0 ** rng.uniform(-1, 1)
    elif way > 0.4 * WILD:
        value = math.copysign(10.0 ** rng.uniform(-6, math.log10(max(high, 1.0))), high)
    else:
        value = rng.choice((low, high, common))
    return min(max(value, low if low > 0 else low + 1e-6 * quantity.above), high)


def bank(rng: random.Random) -> dict[str, bytes]:
    """A legal scenario with its table of a load."""
    if rng.random() < LOW:
        return low_bank(rng)
    chemistry = rng.choice(sorted(CELLS))
    cells = rng.choice(CELLS[chemistry])
    volts = cells * CELL_V[chemistry]
    count = rng.choice((1, 2, 2, 3, 3, 5, 9))
    document: dict[str, Any] = {
        "simulation": _simulation(rng),
        "surroundings": {"temperature_C": rng.choice((25.0, -40.0, 80.0, rng.uniform(-20, 45)))},
        "wiring": _wiring(rng, count),
        "battery": [_battery(rng, n, chemistry, cells, volts) for n in range(count)],
        "load": [_load(rng, n, volts, count) for n in range(rng.choice((0, 1, 1, 2, 4)))],
        "charger": [_charger(rng, n, volts) for n in range(rng.choice((0, 0, 1, 2)))],
    }
    return {"bank.toml": toml_text(document).encode(), "load.csv": rng.choice(shipped.profiles())}


def _simulation(rng: random.Random) -> dict[str, Any]:
    hours = anywhere(rng, "duration_h", 5.0)
    hours = min(hours, 2000.0)
    every = max(anywhere(rng, "output_every_s", 60.0), hours * 3600.0 / 50_000.0, 0.01)
    stop = rng.choice(("bank empty", "end"))
    return {"duration_h": hours, "output_every_s": every, "stop": stop, "starts_at": "08:00"}


def _wiring(rng: random.Random, count: int) -> dict[str, Any]:
    layout = rng.choice([one.value for one in Layout])
    wiring: dict[str, Any] = {"layout": layout, "main_mohm": anywhere(rng, "main_mohm", 0.5)}
    if layout != Layout.EQUAL_LEADS.value and count > 1:
        wiring["link_mohm"] = anywhere(rng, "link_mohm", 0.3)
    return wiring


def _battery(
    rng: random.Random, number: int, chemistry: str, cells: int, volts: float
) -> dict[str, Any]:
    battery: dict[str, Any] = {
        "name": f"b{number}",
        "chemistry": chemistry,
        "cells_in_series": cells,
        "rated_capacity_Ah": anywhere(rng, "rated_capacity_Ah", 100.0),
        "state_of_charge": rng.choice((0.0, 1.0, rng.random(), rng.random())),
        "lead_mohm": max(anywhere(rng, "lead_mohm", 1.0), 1e-3),
    }
    if rng.random() < 0.4:
        battery["capacity_fraction"] = anywhere(rng, "capacity_fraction", 0.9)
        battery["resistance_factor"] = anywhere(rng, "resistance_factor", 1.5)
        battery["internal_mohm"] = anywhere(rng, "internal_mohm", 1.0)
    if rng.random() < 0.4:
        battery["protection"] = [_rule(rng, volts / cells) for _ in range(rng.randint(0, 3))]
    if rng.random() < 0.2:
        battery["cells"] = [{"state_of_charge": rng.random()} for _ in range(cells)]
    return battery


def _rule(rng: random.Random, cell_V: float) -> dict[str, Any]:
    """A rule that may chatter: it lets go close to where it trips, at once."""
    below = rng.random() < 0.5
    limit = cell_V * rng.uniform(0.85, 1.05)
    gap = rng.choice((1e-6, 0.001, 0.05, 0.3))
    rule: dict[str, Any] = {
        "watches": "lowest cell voltage" if below else "highest cell voltage",
        "trips_below" if below else "trips_above": limit,
        "after_s": rng.choice((0.0, 1.0, 1e-6, 30.0)),
        "blocks": rng.choice(("discharge", "both")) if below else rng.choice(("charge", "both")),
    }
    if rng.random() < 0.7:
        rule["releases_above" if below else "releases_below"] = limit + (gap if below else -gap)
        rule["release_after_s"] = rng.choice((0.0, 1.0, 60.0))
    return rule


def _load(rng: random.Random, number: int, volts: float, count: int) -> dict[str, Any]:
    load: dict[str, Any] = {"name": f"load {number}"}
    kind = rng.randrange(4)
    if kind == 0:
        return {**load, "profile": "load.csv"}
    key = ("current_A", "power_W", "resistance_ohm")[kind - 1]
    load[key] = anywhere(rng, key, (15.0 * count, 15.0 * count * volts, volts / 15.0)[kind - 1])
    if kind == 2 and rng.random() < 0.4:
        load["reference_voltage_V"] = volts
        load["voltage_exponent"] = rng.uniform(0.0, 4.0)
    if rng.random() < 0.3:
        load["duty"] = {
            "on_min": 10.0 ** rng.uniform(-1.5, 3),
            "off_min": 10.0 ** rng.uniform(-1.5, 3),
        }
    if rng.random() < 0.3:
        cut = volts * rng.uniform(0.8, 1.0)
        load |= {"cut_off_V": cut, "cut_off_after_s": rng.choice((0.0, 3.0))}
        load["restart_V"] = cut + rng.choice((1e-6, 0.01, 1.0))
    return load


def _charger(rng: random.Random, number: int, volts: float) -> dict[str, Any]:
    charger: dict[str, Any] = {
        "name": f"charger {number}",
        "hold_V": volts * rng.uniform(1.0, 1.15),
    }
    if rng.random() < 0.3:
        peak = anywhere(rng, "peak_W", 300.0)
        return {**charger, "sun": {"peak_W": peak, "rise": "06:00", "set": "19:00"}}
    key = rng.choice(("limit_A", "limit_W"))
    return {**charger, key: anywhere(rng, key, 30.0 if key == "limit_A" else 400.0)}

"""Banks charged near empty under loads beside chargers: some take charge while others give.

Each is legal and of a size that somebody might wire; what is unlike a bank is that chemistries are
mixed and that chargers and loads are near balance, where a network has several answers or none.
"""

import random
from typing import Any

from tests.hostile.write_toml import toml_text

# cells in series and charger's voltage by chemistry, for each number of 12 V in series
CELLS = {"LFP": 4, "NMC": 4, "AGM": 6, "gel": 6, "flooded": 6}
EMPTY_V = {"LFP": 11.6, "NMC": 12.8, "AGM": 11.7, "gel": 11.7, "flooded": 11.7}  # about 5 %
FULL = 0.08  # highest charge of what is near empty


def low_bank(rng: random.Random) -> dict[str, bytes]:
    """A legal scenario of batteries near empty, with a table of a load that also feeds."""
    times, usual = rng.choice((1, 1, 1, 2, 4)), rng.choice(sorted(CELLS))
    hold_V = times * rng.uniform(13.6, 14.8)
    charger_A = 10.0 ** rng.uniform(0.3, 2.3)
    count = rng.choice((1, 2, 2, 3, 3, 4, 6))
    document: dict[str, Any] = {
        "simulation": _simulation(rng),
        "surroundings": {"temperature_C": _temperature(rng)},
        "wiring": _wiring(rng, count),
        "battery": [_battery(rng, number, usual, times) for number in range(count)],
        "load": _loads(rng, charger_A * hold_V, hold_V),
        "charger": _chargers(rng, charger_A, hold_V),
    }
    return {"bank.toml": toml_text(document).encode(), "load.csv": _profile(rng, charger_A)}


def _simulation(rng: random.Random) -> dict[str, Any]:
    hours = rng.choice((0.02, 0.5, 3.0, 12.0))
    return {"duration_h": hours, "output_every_s": rng.choice((1.0, 60.0)) if hours < 1 else 60.0,
            "stop": rng.choice(("bank empty", "end", "end"))}  # fmt: skip


def _temperature(rng: random.Random) -> Any:
    if rng.random() < 0.15:
        return {"mean_C": rng.uniform(-15.0, 15.0), "swing_C": rng.uniform(0.0, 12.0)}
    return rng.choice((25.0, rng.uniform(-25.0, 5.0), rng.uniform(-5.0, 40.0)))


def _wiring(rng: random.Random, count: int) -> dict[str, Any]:
    layout = rng.choice(("equal leads", "same end", "opposite ends"))
    wiring: dict[str, Any] = {"layout": layout, "main_mohm": rng.choice((0.0, 0.5, 5.0, 40.0))}
    if layout != "equal leads" and count > 1:
        wiring["link_mohm"] = rng.uniform(0.05, 2.0)
    return wiring


def _battery(rng: random.Random, number: int, usual: str, times: int) -> dict[str, Any]:
    chemistry = usual if rng.random() < 0.5 else rng.choice(sorted(CELLS))
    cells = CELLS[chemistry] * times
    rated_Ah = 10.0 ** rng.uniform(0.8, 2.5)
    low = rng.random() < 0.85
    charge = rng.choice((0.0, rng.uniform(0.0, 0.02), rng.uniform(0.0, FULL), FULL))
    battery: dict[str, Any] = {
        "name": f"b{number}",
        "chemistry": chemistry,
        "cells_in_series": cells,
        "rated_capacity_Ah": rated_Ah,
        "state_of_charge": charge if low else rng.random(),
        "lead_mohm": rng.choice((0.3, 2.0, 20.0)),
        "resistance_factor": rng.choice((1.0, 1.0, rng.uniform(0.5, 4.0), 20.0)),
    }
    if rng.random() < 0.3:
        battery["capacity_fraction"] = rng.uniform(0.3, 1.0)
    if rng.random() < 0.3:
        battery["diode_drop_V"] = rng.choice((0.0, 0.3, 0.7, 1.2))
    if rng.random() < 0.5:
        rules = [_rule(rng, cells, EMPTY_V[chemistry] * times, rated_Ah) for _ in range(4)]
        battery["protection"] = rules[: rng.randint(0, 4)]
    if rng.random() < 0.25:
        battery["cells"] = [{"state_of_charge": rng.uniform(0.0, FULL)} for _ in range(cells)]
    return battery


def _rule(rng: random.Random, cells: int, empty_V: float, rated_Ah: float) -> dict[str, Any]:
    """A rule near where the battery is: it may trip at once, on charge or on discharge."""
    after_s = rng.choice((0.0, 1.0, 10.0))
    if rng.random() < 0.25:
        way = rng.choice(("discharge", "charge"))
        return {"watches": f"{way} current", "trips_above": rated_Ah * rng.uniform(0.05, 1.0),
                "after_s": after_s, "blocks": way} | _release(rng, "below", 0.0)  # fmt: skip
    cell = rng.random() < 0.5
    volts = empty_V * rng.uniform(0.85, 1.02) / (cells if cell else 1)
    if rng.random() < 0.7:
        watches = "lowest cell voltage" if cell else "battery voltage"
        rule = {"watches": watches, "trips_below": volts, "after_s": after_s}
        back = _release(rng, "above", volts * rng.choice((1.001, 1.05, 1.12)))
        return rule | {"blocks": rng.choice(("discharge", "discharge", "both"))} | back
    volts *= 1.2
    watches = "highest cell voltage" if cell else "battery voltage"
    rule = {"watches": watches, "trips_above": volts, "after_s": after_s}
    back = _release(rng, "below", volts * rng.choice((0.999, 0.97)))
    return rule | {"blocks": rng.choice(("charge", "charge", "both"))} | back


def _release(rng: random.Random, side: str, limit: float) -> dict[str, Any]:
    """What lets a rule go again; three in ten stay tripped."""
    if rng.random() < 0.3:
        return {}
    needs = rng.choice(("nothing", "nothing", "charging", "load removed"))
    if side == "below" and limit == 0.0:
        limit = rng.uniform(0.1, 1.0)
    return {f"releases_{side}": limit, "release_after_s": rng.choice((0.0, 5.0, 60.0)),
            "release_needs": needs}  # fmt: skip


def _chargers(rng: random.Random, charger_A: float, hold_V: float) -> list[dict[str, Any]]:
    """One charger, or two that share the current; some by watts, some for a while."""
    count = rng.choice((1, 1, 2))
    made = []
    for number in range(count):
        amperes = charger_A / count
        own_V = hold_V if number == 0 else hold_V * rng.choice((1.0, rng.uniform(0.93, 1.03)))
        by_watts = rng.random() < 0.3
        charger: dict[str, Any] = {"name": f"charger {number}", "hold_V": own_V}
        charger["limit_W" if by_watts else "limit_A"] = amperes * (own_V if by_watts else 1.0)
        if rng.random() < 0.3:
            start_h = rng.choice((0.0, rng.uniform(0.0, 1.0)))
            charger["active_h"] = [[start_h, start_h + rng.uniform(0.005, 4.0)]]
        made.append(charger)
    return made


def _loads(rng: random.Random, charger_W: float, hold_V: float) -> list[dict[str, Any]]:
    """Loads that together take less than, about, or more than the chargers give."""
    part = rng.choice((rng.uniform(0.2, 0.82), rng.uniform(0.82, 1.0), rng.uniform(0.82, 1.0),
                       1.0, rng.uniform(1.0, 1.2), rng.uniform(1.2, 3.0)))  # fmt: skip
    count = rng.choice((1, 1, 1, 2, 3))
    loads = [_load(rng, number, charger_W * part / count, hold_V) for number in range(count)]
    if rng.random() < 0.15:
        loads.append({"name": "table", "profile": "load.csv"})
    return loads


def _load(rng: random.Random, number: int, power_W: float, hold_V: float) -> dict[str, Any]:
    load: dict[str, Any] = {"name": f"load {number}"}
    key = rng.choice(("power_W", "power_W", "power_W", "current_A", "resistance_ohm"))
    load[key] = {"power_W": power_W, "current_A": power_W / hold_V,
                 "resistance_ohm": hold_V**2 / power_W}[key]  # fmt: skip
    if key == "power_W" and rng.random() < 0.15:
        load |= {"reference_voltage_V": hold_V, "voltage_exponent": rng.choice((0.4, 1.6, 3.0))}
    when = rng.random()
    if when < 0.25:
        load["duty"] = {"on_min": rng.uniform(0.1, 30.0), "off_min": rng.uniform(0.1, 30.0)}
    elif when < 0.4:
        load["active_h"] = [[rng.uniform(0.0, 0.01), rng.uniform(0.02, 5.0)]]
    if rng.random() < 0.25:
        cut_V = hold_V * rng.uniform(0.7, 0.9)
        load |= {"cut_off_V": cut_V, "cut_off_after_s": rng.choice((0.0, 3.0)),
                 "restart_V": cut_V * rng.choice((1.0001, 1.02, 1.1))}  # fmt: skip
    return load


def _profile(rng: random.Random, charger_A: float) -> bytes:
    """A load in amperes that now and then feeds the bank instead."""
    rows = [f"{0.05 * n * (n + 1):g},{charger_A * rng.uniform(-0.6, 0.8):g}" for n in range(12)]
    return "\n".join(["time_h,current_A", *rows, ""]).encode()

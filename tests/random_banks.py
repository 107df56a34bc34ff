"""Mixed banks drawn from a seed: unequal cells, tables with kinks, rows, rules, loads."""

import numpy as np
from simple_banks import battery, steady, stepped

from bankSim.model.bank import Bank, Layout, Wiring
from bankSim.model.cell import Cell, RelaxationPair
from bankSim.model.charge_lag import ChargeLag
from bankSim.model.curve import Curve
from bankSim.model.rule import Blocks, Rule, Watch

# a hand-made table of a cell with a flat middle and a knee
TABLE_Z = (0.0, 0.02, 0.06, 0.15, 0.3, 0.5, 0.75, 0.95, 1.0)
TABLE_V = (2.5, 2.85, 3.05, 3.19, 3.25, 3.29, 3.32, 3.34, 3.42)


def random_lag(rng, full_ohm):
    """What a charge meets: in every second cell the same all over, else rising towards full."""
    if rng.random() < 0.5:
        return ChargeLag(full_ohm)
    bend_V = rng.uniform(0.03, 0.2) if rng.random() < 0.5 else np.inf
    starts_at = 0.8 if rng.random() < 0.5 else -np.inf
    return ChargeLag(10.0 * full_ohm, rng.uniform(0.004, 0.05), starts_at, bend_V)


def random_cell(rng, Ah, z, *, plain):
    """One table cell; `plain` leaves out hysteresis, efficiency and standing draw."""
    volts = np.array(TABLE_V) + np.sort(rng.uniform(-0.01, 0.01, len(TABLE_V)))
    ohm = 0.08 / Ah * rng.uniform(0.8, 1.6)
    rise = Curve.linear([0.0, 0.15, 1.0], [2.2 * ohm, ohm, ohm], hold_ends=True)
    pairs = tuple(
        RelaxationPair(0.04 / Ah * rng.uniform(0.5, 1.5), tau)
        for tau in rng.uniform([8, 80, 900], [20, 200, 2500])[: rng.integers(0, 4)]
    )
    more = {} if plain else {
        "charge_ohm_from": 0.15,  # its rise hinders discharge only
        "charge_lag": random_lag(rng, 0.2 / Ah),
        "hysteresis_V": rng.uniform(0.0, 0.015),
        "hysteresis_rate": rng.uniform(20, 150),
        "coulombic_efficiency": rng.uniform(0.97, 1.0),
        "standing_A": rng.uniform(0.0, 0.01),
    }  # fmt: skip
    return Cell(Curve.linear(TABLE_Z, volts), rise, Ah * 3600.0, z, pairs, **more)


def random_battery(rng, name, *, plain=False):
    """Four unequal cells behind rules with delays."""
    Ah, z = rng.uniform(40, 200), rng.uniform(0.8, 1.0)
    cells = [
        random_cell(rng, Ah * rng.uniform(0.97, 1.0), z * rng.uniform(0.96, 1.0), plain=plain)
        for _ in range(4)
    ]
    rules = [
        Rule(Watch.LOWEST_CELL, True, rng.uniform(2.3, 2.7), rng.uniform(0.0, 5.0)),
        Rule(Watch.DISCHARGE_CURRENT, False, 2.0 * Ah, 1.0, Blocks.DISCHARGE),
    ]
    resistances = {"internal": rng.uniform(0.5e-3, 3e-3), "lead": rng.uniform(0.5e-3, 4e-3)}
    return battery(name, *cells, rules=rules, **resistances)


def random_bank(seed, *, batteries=None, hours=30.0, plain=False):
    """A bank of 2 to 4 batteries under a steady or stepped load that empties it."""
    rng = np.random.default_rng(seed)
    count = batteries or int(rng.integers(2, 5))
    members = tuple(random_battery(rng, f"b{i}", plain=plain) for i in range(count))
    total_Ah = sum(one.rated_C for one in members) / 3600.0
    exponent = float(rng.choice([0.0, 1.0, 2.0, 0.7]))
    amount = total_Ah / rng.uniform(5, 20) / 13.0 ** (exponent - 1.0)
    load = steady(amount, exponent)
    if rng.random() < 0.5:
        times = np.concatenate([[0.0], np.sort(rng.uniform(0, 0.6 * hours * 3600, 6))])
        load = stepped(times, amount * rng.uniform(-0.2, 2.0, 7), exponent)
        load.profile_amount[-1] = amount
    wiring = Wiring(list(Layout)[rng.integers(3)], rng.uniform(1e-5, 6e-4), rng.uniform(0.0, 1e-3))
    return Bank(members, wiring, (load,), duration_s=hours * 3600.0)

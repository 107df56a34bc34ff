"""Banks drawn from a seed that are charged, rest, block, come back and warm up."""

import numpy as np
from random_banks import random_lag

from bankSim.model.bank import Bank, Layout, Wiring
from bankSim.model.battery import Battery
from bankSim.model.cell import Cell, RelaxationPair
from bankSim.model.charger import Charger, Stage, Sun
from bankSim.model.curve import Curve
from bankSim.model.load import CutOff, Load, Schedule
from bankSim.model.rule import Blocks, Needs, Release, Rule, Watch
from bankSim.model.upkeep import Balancer, Balancing, Heater, Thermal

HOUR_S = 3600.0
ALWAYS = Schedule()
# hand-made: a flat middle between two knees, and the slow slope of a lead-acid battery (12 V)
FLAT_Z = (0.0, 0.02, 0.06, 0.15, 0.3, 0.5, 0.75, 0.95, 0.99, 1.0, 1.01)
FLAT_V = (2.5, 2.85, 3.05, 3.19, 3.25, 3.29, 3.32, 3.34, 3.4, 3.5, 3.7)
SLOW_Z = (0.0, 0.1, 0.4, 0.8, 1.0, 1.05)
SLOW_V = (11.2, 11.7, 12.15, 12.6, 12.9, 13.6)


def knees(z):
    """Return a smooth flat curve with a knee at either end."""
    return 3.25 + 0.09 * z - 0.75 * np.exp(-z / 0.03) + 0.25 * np.exp((z - 1.0) / 0.008)


def battery(name, *cells, rules, lead, internal=0.0, **more):
    """A battery whose label says what its smallest cell holds."""
    rated_C = min(cell.charge_C for cell in cells)
    return Battery(name, cells, internal, lead, tuple(rules), rated_C, **more)


def chance(rng, part):
    """Tell whether something is there."""
    return bool(rng.random() < part)


def pairs(rng, ohm, most=2):
    """0 to `most` relaxation pairs, the later ones slower."""
    taus = rng.uniform([15, 200], [60, 1200])[: rng.integers(0, most + 1)]
    return tuple(RelaxationPair(ohm * rng.uniform(0.3, 0.8), tau) for tau in taus)


def cold_part(rng):
    """Usable part of the charge over temperature."""
    part = rng.uniform(0.75, 0.9)
    return Curve.linear([263.15, 283.15, 298.15], [part, 0.5 * (1.0 + part), 1.0], hold_ends=True)


def lithium(rng, name, start):
    """Two to four cells in series standing for a 12 V battery, with rules that let go."""
    Ah, count = rng.uniform(20, 90), int(rng.integers(2, 5))
    scale = 4.0 / count
    smooth = chance(rng, 0.4)
    ohm = scale * 0.06 / Ah * rng.uniform(0.8, 1.6)
    shape = {
        "activation_J_mol": 20e3 * chance(rng, 0.5),
        "usable_part": cold_part(rng) if chance(rng, 0.2) else None,
    }
    cells = []
    for _ in range(count):
        volts = np.array(FLAT_V) + np.sort(rng.uniform(-0.01, 0.01, len(FLAT_V)))
        if smooth:
            curve = Curve.smooth(knees, np.concatenate([np.linspace(0, 0.2, 20), [0.4, 0.7, 0.9],
                                                        np.linspace(0.93, 1.01, 12)]))  # fmt: skip
        else:
            curve = Curve.linear(FLAT_Z, volts)
        more = {"hysteresis_V": 0.01 * scale, "hysteresis_rate": 80.0} if chance(rng, 0.4) else {}
        own = Ah * rng.uniform(0.97, 1.0) * HOUR_S
        begin = float(np.clip(start * rng.uniform(0.98, 1.0), 0.0, 1.0))
        cells.append(
            Cell(
                curve.scaled(scale),
                Curve.constant(ohm),
                own,
                begin,
                pairs(rng, ohm),
                coulombic_efficiency=rng.uniform(0.985, 1.0),
                standing_A=rng.uniform(0.0, 0.005),
                **shape,
                **more,
            )
        )
    rules = lithium_rules(rng, Ah, scale)
    balancer = None
    if chance(rng, 0.35):
        kind = list(Balancing)[rng.integers(2)]
        above_V = scale * 3.38 if kind is Balancing.BLEED or chance(rng, 0.5) else -np.inf
        balancer = Balancer(kind, 0.02 * Ah * rng.uniform(0.2, 1.0), above_V, 0.01)
    return battery(
        name, *cells, rules=rules, internal=0.1 / Ah, lead=rng.uniform(1e-3, 5e-3),
        diode_drop_V=rng.uniform(0.4, 0.8), balancer=balancer, **warmth(rng, Ah),
    )  # fmt: skip


def lithium_rules(rng, Ah, scale):
    """Usual rules with releases that wait and want different things."""
    low = Release(scale * 3.1, rng.uniform(10, 60), Needs.CHARGING)
    if chance(rng, 0.3):
        low = Release(scale * rng.uniform(2.95, 3.05), rng.uniform(60, 300), Needs.NOTHING)
    high = Release(scale * rng.uniform(3.31, 3.37), rng.uniform(5, 40))
    heavy = Release(0.02 * Ah, rng.uniform(600, 1500), Needs.LOAD_REMOVED)
    rules = [
        Rule(Watch.LOWEST_CELL, True, scale * 2.6, rng.uniform(1, 6), Blocks.DISCHARGE, low),
        Rule(
            Watch.HIGHEST_CELL,
            False,
            scale * rng.uniform(3.45, 3.56),
            rng.uniform(0.5, 4),
            Blocks.CHARGE,
            high,
        ),
    ]
    if chance(rng, 0.5):
        limit_A = Ah * rng.uniform(0.6, 1.2)
        rules.append(Rule(Watch.DISCHARGE_CURRENT, False, limit_A, 2.0, Blocks.DISCHARGE, heavy))
    if chance(rng, 0.3):
        thaw = Release(276.15, 20.0)
        rules.append(Rule(Watch.TEMPERATURE, True, 274.15, 5.0, Blocks.CHARGE, thaw))
    return rules


def lead_acid(rng, name, start):
    """One element with two wells, gassing and losses, without electronics or with a few."""
    Ah = rng.uniform(40, 120)
    ohm = 0.5 / Ah * rng.uniform(0.8, 1.5)
    straight = chance(rng, 0.3)
    curve = Curve.linear([0.0, 1.0], [11.4, 13.0]) if straight else Curve.linear(SLOW_Z, SLOW_V)
    cell = Cell(
        curve, Curve.linear([0.0, 0.4, 1.0], [1.8 * ohm, ohm, ohm], hold_ends=True), Ah * HOUR_S,
        start, pairs(rng, ohm), coulombic_efficiency=rng.uniform(0.85, 0.97),
        standing_A=rng.uniform(0.0, 0.02), available_fraction=rng.uniform(0.35, 0.7),
        well_rate_per_s=rng.uniform(0.4, 2.0) / HOUR_S, gassing_A=Ah * rng.uniform(0.0, 0.3),
        activation_J_mol=12e3 * chance(rng, 0.5),
        usable_part=cold_part(rng) if chance(rng, 0.3) else None,
        charge_lag=random_lag(rng, 3.0 / Ah),
    )  # fmt: skip
    rules = []
    if chance(rng, 0.8):
        back = Release(rng.uniform(12.6, 12.9), rng.uniform(20, 120))
        limit_V = rng.uniform(10.8, 11.6)
        rules = [Rule(Watch.BATTERY_VOLTAGE, True, limit_V, 10.0, Blocks.DISCHARGE, back)]
    return battery(
        name, cell, rules=rules, lead=rng.uniform(1e-3, 5e-3), diode_drop_V=0.6, **warmth(rng, Ah)
    )


def warmth(rng, Ah):
    """Some batteries have a temperature of their own, some of these a heater."""
    if chance(rng, 0.5):
        return {}
    thermal = Thermal(100.0 * Ah * rng.uniform(0.8, 1.2), rng.uniform(0.3, 2.0))
    heater = None
    if chance(rng, 0.4):
        heater = Heater(rng.uniform(10, 40), 276.15, 279.15, chance(rng, 0.6))
    return {"thermal": thermal, "heater": heater}


def random_loads(rng, total_Ah, hours):
    """A steady load, one that comes and goes, sometimes a heavy one or a small source."""
    mean_A = total_Ah / rng.uniform(6, 20)
    cut_off = CutOff(11.2, rng.uniform(2, 10), 13.2) if chance(rng, 0.7) else None
    exponent = float(rng.choice([0.0, 1.0, 2.0, 0.7]))
    loads = [held("steady", exponent, 0.4 * mean_A, cut_off=cut_off)]
    on_s, off_s = rng.uniform(900, 3600, 2)
    duty = Schedule(duty_s=(round(on_s), round(off_s)))
    loads.append(held("comes and goes", 0.0, 1.2 * mean_A, duty, CutOff(10.9, 5.0, 12.8)))
    if chance(rng, 0.5):
        start_s = rng.uniform(0.05, 0.8) * hours * HOUR_S
        window = Schedule(active_s=((start_s, start_s + rng.uniform(300, 2500)),))
        heavy_A = total_Ah * rng.uniform(0.3, 0.9)
        loads.append(held("heavy", 0.0, heavy_A, window, CutOff(10.8, 3.0, 12.9)))
    if chance(rng, 0.2):
        loads.append(held("source", 1.0, -0.3 * mean_A, Schedule(duty_s=(7000.0, 5000.0))))
    return tuple(loads), mean_A


def held(name, exponent, current_A, schedule=ALWAYS, cut_off=None):
    """A load that draws a current at 13 V while it is on."""
    amount = current_A / 13.0 ** (exponent - 1.0)
    return Load(name, exponent, np.zeros(1), np.array([amount]), schedule, cut_off)


def random_chargers(rng, mean_A, hours):
    """One or two chargers: by the sun, by amperes or by watts, in stages."""
    chargers = []
    for number in range(int(rng.integers(1, 3))):
        limit_A = mean_A * rng.uniform(2.0, 5.0)
        hold_V = rng.uniform(14.1, 14.8)
        boost = Stage(
            hold_V, 0.1 * limit_A if chance(rng, 0.7) else None, rng.uniform(2, 5) * HOUR_S
        )
        stages = (boost, Stage(rng.uniform(13.4, 13.7))) if chance(rng, 0.6) else (boost,)
        if chance(rng, 0.2) and chargers:
            stages = chargers[0].stages
        starts_s = rng.uniform(0.0, 0.4) * hours * HOUR_S
        window = Schedule(active_s=((starts_s, starts_s + rng.uniform(0.2, 0.5) * hours * HOUR_S),))
        kind = rng.integers(3)
        power = (
            {"sun": Sun(15.0 * limit_A, 6.5 * HOUR_S, 18.0 * HOUR_S)},
            {"limit_A": limit_A, "schedule": window},
            {"limit_W": 13.0 * limit_A, "schedule": window},
        )[kind]
        chargers.append(Charger(f"charger {number}", stages, **power))
    return tuple(chargers)


def random_hybrid(seed):
    """Return a bank of 2 to 4 batteries that lives for 4 to 30 hours.

    Delays of releases, and room between where rules trip and where they let go, keep batteries
    from chattering.
    """
    rng = np.random.default_rng(seed)
    hours = float(rng.uniform(4, 30))
    level = rng.uniform(0.25, 0.95)
    members = []
    for number in range(int(rng.integers(2, 5))):
        make = lead_acid if number and chance(rng, 0.35) else lithium
        start = float(np.clip(level + rng.uniform(-0.25, 0.25), 0.05, 1.0))
        members.append(make(rng, f"b{number}", start))
    total_Ah = sum(one.rated_C for one in members) / HOUR_S
    loads, mean_A = random_loads(rng, total_Ah, hours)
    wiring = Wiring(list(Layout)[rng.integers(3)], rng.uniform(1e-5, 6e-4), rng.uniform(0.0, 2e-3))
    cold = chance(rng, 0.35)
    return Bank(
        tuple(members),
        wiring,
        loads,
        temperature_K=rng.uniform(273.0, 280.0) if cold else rng.uniform(285.0, 303.0),
        duration_s=round(hours * HOUR_S),
        stop_when_empty=chance(rng, 0.1),
        starts_at_s=float(rng.integers(0, 24)) * HOUR_S,
        chargers=random_chargers(rng, mean_A, hours),
        swing_K=rng.uniform(0.0, 8.0) if chance(rng, 0.5) else 0.0,
    )

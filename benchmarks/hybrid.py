"""A bank that lives: 72 h, four batteries, chargers, duty loads, rules that let go."""

import time
from dataclasses import replace

import numpy as np

from bankSim.crosscheck.twin import solve_twin
from bankSim.crosscheck.twin_result import STAGE
from bankSim.model.bank import Bank, Wiring
from bankSim.model.charger import Charger, Stage, Sun
from bankSim.model.load import CutOff, Load, Schedule
from bankSim.model.upkeep import Thermal
from bankSim.model.usual_rules import lithium_rules
from bankSim.sim.engine import Engine
from benchmarks import ngspice
from benchmarks.banks import battery
from benchmarks.show import Table, ms, percent, plain
from benchmarks.timing import race, stopwatch

HOUR_S = 3600.0
TOLERANCES = (1e-4, 2e-5, 1e-6)
REFERENCE = 1e-8
SPICE_STEP_S = 10.0
COLUMNS = (
    "contender",
    "relative tolerance",
    "steps tried",
    "events",
    "error Ah",
    "error of event times, s",
    "ms a run",
    "noise",
    "times ours",
)
AMPERES = (95.0, 110.0, 80.0, 60.0)  # label limits of discharge


def hybrid(size=1.0):
    """Four unequal batteries for 72 h times `size`: sun, mains, a fridge, lamps, an inverter."""
    batteries = tuple(
        replace(
            battery(f"b{i}", 100.0, 100.0 - 9.0 * i, 1.0 + 0.2 * i),
            rules=lithium_rules(2.5, 2.9, 3.6, 3.4, limit_A),
            thermal=Thermal(11_000.0, 2.5),
            lead_ohm=1.5e-3 + 0.5e-3 * i,
        )
        for i, limit_A in enumerate(AMPERES)
    )
    sun = Charger(
        "sun", (Stage(14.6, 4.0, 4 * HOUR_S), Stage(13.5)), sun=Sun(900.0, 6 * HOUR_S, 19 * HOUR_S)
    )
    mains = Charger(
        "mains",
        (Stage(14.5, 8.0), Stage(13.4)),
        limit_A=60.0,
        schedule=Schedule(active_s=((50 * HOUR_S, 55 * HOUR_S),)),
    )
    return Bank(
        batteries,
        Wiring(main_ohm=5e-4),
        (
            _load("fridge", 70.0, Schedule(duty_s=(900.0, 1500.0)), CutOff(11.5, 10.0, 12.8)),
            _load("lamps", 90.0, Schedule(daily_s=((18 * HOUR_S, 23.5 * HOUR_S),))),
            _load("inverter", 1100.0, Schedule(daily_s=((19 * HOUR_S, 20 * HOUR_S),))),
            _load("standby", 25.0, Schedule()),
        ),
        temperature_K=293.15,
        swing_K=6.0,
        duration_s=size * 72.0 * HOUR_S,
        starts_at_s=5 * HOUR_S,
        stop_when_empty=False,
        chargers=(sun, mains),
    )


def _load(name, watt, schedule, cut_off=None):
    return Load(name, 0.0, np.array([0.0]), np.array([watt]), schedule, cut_off)


def hybrid_table(size, rounds):
    """Return the table, and lines on the reference: the solver at 1e-8, checked by the twin."""
    bank = hybrid(size)
    reference = _ours(bank, REFERENCE)
    began = time.process_time()
    twin = solve_twin(bank)
    twin_s = time.process_time() - began
    runs = {tolerance: _ours(bank, tolerance) for tolerance in TOLERANCES}
    times = race({t: (lambda t=t: _seconds(bank, t)) for t in TOLERANCES}, rounds)
    base = times[TOLERANCES[1]].seconds
    rows = [
        ["this solver", f"{t:g}", *_cells(runs[t], reference), ms(times[t].seconds),
         percent(times[t].spread), plain(times[t].seconds / base)]
        for t in TOLERANCES
    ]  # fmt: skip
    found = (twin.delivered_Ah, _events(twin), "-")
    rows.append(
        ["SciPy LSODA, the twin", "1e-09", *_cells(found, reference), ms(twin_s), "-",
         plain(twin_s / base)]
    )  # fmt: skip
    lines = [f"Errors are against this solver at {REFERENCE:g}; the default is {TOLERANCES[1]:g}."]
    if ngspice.missing():
        lines.append(f"ngspice is left out: {ngspice.missing()}")
    else:
        taken = ngspice.seconds(bank, bank.duration_s, SPICE_STEP_S)
        rows.append(
            ["ngspice, temperatures fixed", f"step {SPICE_STEP_S:g} s", *["-"] * 4, ms(taken), "-",
             plain(taken / base)]
        )  # fmt: skip
        lines.append("ngspice: transient only, errors not compared: its temperatures stand still.")
    return Table(f"A bank that lives: {72.0 * size:g} h, four batteries", COLUMNS, rows), lines


def _events(twin):
    """The twin also tells when a schedule switches a charger on."""
    return [e.time_s for e in twin.events if not (e.what == STAGE and e.value == 1.0)]


def _ours(bank, tolerance):
    engine = Engine(bank, tolerance, keep_trace=False).finish()
    times = [row[0] for row in engine.events]
    return engine.run.tally["out"] / HOUR_S, times, int(engine.run.clock["steps"][0])


def _seconds(bank, tolerance):
    engine = Engine(bank, tolerance, keep_trace=False)
    return stopwatch(engine.finish)


def _cells(found, reference):
    given, times, steps = found
    error = np.max(np.abs(given - reference[0]) / reference[0])
    same = len(times) == len(reference[1])
    late = max(np.abs(np.subtract(times, reference[1])), default=0.0) if same else np.inf
    return str(steps), str(len(times)), f"{error:.1e}", f"{late:.2g}"

"""Do the books still balance after a year? Residuals of charge and energy, month by month."""

from dataclasses import dataclass, replace

import numpy as np

from bankSim.model.bank import Bank, Wiring
from bankSim.model.charger import Charger, Stage, Sun
from bankSim.model.load import CutOff, Load, Schedule
from bankSim.model.upkeep import Balancer, Balancing
from bankSim.model.usual_rules import lithium_rules
from bankSim.sim.engine import Engine
from bankSim.sim.run import energy_ledger, ledger_gap
from benchmarks.banks import battery
from benchmarks.show import Table, plain

HOUR_S = 3600.0
YEAR_H = 8760.0
MONTHS = 12
STEPS_A_LOOK = 200
STANDING_A = 0.004
FINER = 1e-6
COLUMNS = (
    "until", "steps tried", "through the batteries, Ah", "charge residual, Ah", "relative",
    "through loads and chargers, Wh", "energy residual, Wh", "relative",
)  # fmt: skip


@dataclass(frozen=True)
class Books:
    """The books of a run at one instant.

    Parameters
    ----------
    time_h : float
    steps : int
        Tried so far.
    through_Ah : float
        Given and taken by all batteries. [Ah]
    charge_Ah : float
        Worst gap between what a cell lost and what its currents account for. [Ah]
    through_Wh : float
        From chargers and to loads. [Wh]
    energy_Wh : float
        Gap between all that was given and all that went somewhere. [Wh]
    """

    time_h: float
    steps: int
    through_Ah: float
    charge_Ah: float
    through_Wh: float
    energy_Wh: float

    @property
    def charge_part(self):
        """Charge residual over throughput. [1]"""
        return self.charge_Ah / self.through_Ah

    @property
    def energy_part(self):
        """Energy residual over throughput. [1]"""
        return self.energy_Wh / self.through_Wh


def year_bank(hours=YEAR_H):
    """Two unequal batteries that live from the sun: duty loads, evenings, balancers, leaks."""
    batteries = (
        _living(battery("newer", 120.0, 117.0, 1.0), Balancer(Balancing.BLEED, 0.1, 3.42)),
        _living(battery("older", 100.0, 84.0, 1.5), Balancer(Balancing.TRANSFER, 1.0)),
    )
    sun = Charger(
        "sun", (Stage(14.2, 4.0, 4 * HOUR_S), Stage(13.5)), sun=Sun(330.0, 7 * HOUR_S, 18 * HOUR_S)
    )
    loads = (
        _load("fridge", 55.0, Schedule(duty_s=(900.0, 1500.0)), CutOff(11.5, 10.0, 12.8)),
        _load("lamps", 40.0, Schedule(daily_s=((18 * HOUR_S, 23 * HOUR_S),))),
        _load("standby", 6.0, Schedule()),
    )
    return Bank(
        batteries, Wiring(main_ohm=5e-4), loads, duration_s=hours * HOUR_S,
        starts_at_s=12 * HOUR_S, output_every_s=HOUR_S, stop_when_empty=False, chargers=(sun,),
    )  # fmt: skip


def _living(one, balancer):
    """Give a battery rules that let go, a balancer, and cells that leak unequally."""
    cells = tuple(
        replace(cell, standing_A=STANDING_A * number) for number, cell in enumerate(one.cells, 1)
    )
    rules = lithium_rules(2.5, 2.9, 3.6, 3.4, 90.0)
    return replace(one, cells=cells, rules=rules, balancer=balancer)


def _load(name, watt, schedule, cut_off=None):
    return Load(name, 0.0, np.array([0.0]), np.array([watt]), schedule, cut_off)


def books_of(engine):
    """Read the books of a march, under way or finished."""
    clock, energy = engine.run.clock[0], energy_ledger(engine)
    tally = engine.run.tally
    return Books(
        float(clock["time"]) / HOUR_S,
        int(clock["steps"]),
        float((tally["out"] + tally["into"]).sum()) / HOUR_S,
        float(np.abs(ledger_gap(engine)).max()) / HOUR_S,
        energy.loads_Wh + energy.chargers_Wh,
        abs(energy.residual_Wh),
    )


def monthly_books(bank, months=MONTHS):
    """March a bank and read its books at the end of every part of its time."""
    engine, found = Engine(bank, keep_trace=False), []
    over = False
    while not over:
        over = engine.go_on(STEPS_A_LOOK)
        done = float(engine.run.clock["time"][0]) / bank.duration_s
        if over or done * months >= len(found) + 1:
            found.append(books_of(engine))
    return engine, found


def drift_table(hours=YEAR_H):
    """Return the table of a year, and lines on how the answer itself moves with the tolerance."""
    bank = year_bank(hours)
    engine, found = monthly_books(bank)
    finer = Engine(bank, FINER, keep_trace=False).finish()
    rows = [
        [f"{one.time_h:.0f} h", str(one.steps), plain(one.through_Ah), f"{one.charge_Ah:.1e}",
         f"{one.charge_part:.1e}", plain(one.through_Wh), f"{one.energy_Wh:.1e}",
         f"{one.energy_part:.1e}"]
        for one in found
    ]  # fmt: skip
    lines = [
        "Charge residual: the worst cell's, between its state of charge and its account of "
        "current, charging losses, leaks and balancing. Energy residual: given less spent, all "
        "batteries together.",
        _moved(engine, finer),
    ]
    title = f"The books over {hours:.0f} h: two batteries, sun, fridge, lamps, balancers, leaks"
    return Table(title, COLUMNS, rows), lines


def _moved(engine, finer):
    """Tell how far the answer, unlike the books, moves with the tolerance."""
    ours, theirs = (e.run.tally["out"] + e.run.tally["into"] for e in (engine, finer))
    moved = np.max(np.abs(ours / theirs - 1.0))
    events = [len(one.events) for one in (engine, finer)]
    return (
        "The books tell of rounding, not of truth. The answer itself: at "
        f"{engine.relative_tolerance:g} the Ah through a battery differ by {moved:.1e} "
        f"(relative) from a run at {FINER:g}; "
        f"{events[0]} events here, {events[1]} there."
    )

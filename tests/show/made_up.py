"""Results written by hand, so that what is shown can be checked without solving anything."""

from dataclasses import replace

import numpy as np

from bankSim.kernels.arrays import GRID
from bankSim.model.bank import Bank, Wiring
from bankSim.model.battery import Battery
from bankSim.model.cell import Cell
from bankSim.model.curve import Curve
from bankSim.model.rule import Blocks, Rule, Watch
from bankSim.scenario.record import Assumed, Scenario
from bankSim.sim.result import (
    COLLAPSE,
    EMPTY,
    TRIP,
    BankOutcome,
    BatteryOutcome,
    Caution,
    Event,
    Numerics,
    Result,
)

HOUR_S = 3600.0


def battery(name, rated_Ah=100.0, cells=4):
    cell = Cell(Curve.linear([0.0, 1.0], [2.5, 3.4]), Curve.constant(1e-3), rated_Ah * 3600.0)
    rule = Rule(Watch.LOWEST_CELL, below=True, threshold=2.5)
    return Battery(name, (cell,) * cells, 1e-3, 1e-3, (rule,), rated_Ah * 3600.0)


def trip(name, time_h, names, cell=3, value=2.5, cells=4, **changes):
    """A low-cell cut-out of battery `name`; the others take over what it carried."""
    place = names.index(name)
    readings = tuple(2.5 if k + 1 == cell else 2.8 + 0.05 * k for k in range(cells))
    before = tuple(2.0 for _ in names)
    after = tuple(0.0 if k == place else 4.0 for k in range(len(names)))
    event = Event(
        time_s=time_h * HOUR_S, what=TRIP, battery=name, watches="lowest cell voltage", cell=cell,
        value=value, threshold=2.5, unit="V", blocks="discharge", bus_voltage_V=11.43,
        battery_voltage_V=11.46, cell_voltages_V=readings, currents_A=before,
        currents_after_A=after, text=f"{name} cut out.",
    )  # fmt: skip
    return replace(event, **changes)


def collapse(time_h, names):
    zero = tuple(0.0 for _ in names)
    return Event(
        time_h * HOUR_S, COLLAPSE, None, None, None, None, None, "", None, 9.0, None, None,
        zero, zero, "the load asks for more power than the bank can give",
    )  # fmt: skip


def outcome(name, rated_Ah=100.0, cut=None, **changes):
    base = BatteryOutcome(
        name=name, rated_Ah=rated_Ah, delivered_Ah=0.95 * rated_Ah, charged_Ah=0.0,
        delivered_Wh=12.8 * rated_Ah, peak_discharge_A=7.123, peak_charge_A=0.0,
        share_at_start=0.5, stranded_Ah=1.234, remaining_Ah=0.0456,
        final_state_of_charge=(0.01, 0.02, 0.0, 0.03), first_cut_out=cut,
    )  # fmt: skip
    return replace(base, **changes)


def trace(outcomes, end_h, cells=4, rows=400):
    """Rows as the solver logs them: each battery stops at its cut-out, after a knee."""
    time_s = np.linspace(0.0, end_h * HOUR_S, rows)
    ends = [one.first_cut_out.time_s if one.first_cut_out else np.inf for one in outcomes]
    swing = [2.0 + 0.3 * k + np.sin(time_s / 9000.0 + k) for k in range(len(outcomes))]
    currents = [np.where(time_s < end, one, 0.0) for end, one in zip(ends, swing, strict=True)]
    bus = 13.3 - 1.9 * (time_s / max(time_s[-1], 1.0)) ** 3
    columns = [time_s, np.full(rows, GRID), bus, sum(currents), bus]
    kelvin = np.full(rows, 298.15)
    for current, end in zip(currents, ends, strict=True):
        shut = np.where(time_s < end, 0.0, float(Blocks.DISCHARGE))
        columns += [current, bus, np.linspace(1.0, 0.0, rows), kelvin, shut]
    for end in ends:
        columns += [cell_voltage(time_s, end, k) for k in range(cells)]
    return np.column_stack(columns)


def cell_voltage(time_s, end_s, place):
    left_h = np.clip((end_s - time_s) / HOUR_S, 0.0, 1e3)
    knee = 3.25 - 0.75 * np.exp(-left_h * (1.0 + 0.4 * (place != 2))) - 0.01 * place
    return np.where(time_s < end_s, knee, 2.95 - 0.02 * place)


def result(outcomes, events=(), end_h=54.2, end_reason=EMPTY, cells=4, **changes):
    """A finished run of the given outcomes; `bank` may be replaced by keyword."""
    bank = Bank(tuple(battery(one.name, one.rated_Ah, cells) for one in outcomes), Wiring(), ())
    scenario = Scenario(
        title="Made up", bank=bank, file="made-up.toml",
        assumed=changes.pop("assumed", ()), remarks=changes.pop("remarks", ()),
    )  # fmt: skip
    given = sum(one.delivered_Ah for one in outcomes)
    made = Result(
        scenario=scenario, end_time_s=end_h * HOUR_S, end_reason=end_reason,
        bank=BankOutcome(given, 12.8 * given, 0.0, 3.0, 1e-12, end_h * HOUR_S),
        batteries=tuple(outcomes), events=tuple(events), cautions=(),
        numerics=Numerics(1e-6, 1e-6, 612, 34, 0), trace=trace(outcomes, end_h, cells),
    )  # fmt: skip
    return replace(made, **changes)


def pair():
    """Two batteries, "old" out after 41 h by its cell 3, "new" after 54.2 h by its cell 1."""
    names = ["old", "new"]
    first, second = trip("old", 41.0, names), trip("new", 54.2, names, cell=1)
    outcomes = [
        outcome("old", 100.0, first, share_at_start=0.31, delivered_Ah=84.2),
        outcome("new", 140.0, second, share_at_start=0.69, delivered_Ah=146.8, stranded_Ah=0.4),
    ]
    pack = "Middle of published values, Author et al., J. Example 12 (2018) 34"
    return result(
        outcomes,
        [first, second],
        cautions=(
            Caution("fuse", "note", 80.0, 100.0, "A", "The fuse of old is close to its limit."),
            Caution("surge", "danger", 900.0, 100.0, "A", "900 A flow on joining: never do this."),
        ),
        assumed=(
            Assumed("battery[1].internal_mohm", 1.2, "mohm", pack),
            Assumed("battery[2].internal_mohm", 1.2, "mohm", pack),
            Assumed("battery[1].cell.ohmic_mohm", 0.45, "mohm", pack),
            Assumed("battery[2].cell.ohmic_mohm", 0.3214286, "mohm", pack),
            Assumed("surroundings.temperature_C", 25.0, "degC", "Room temperature"),
        ),
        remarks=("wiring.link_mohm has no effect with equal leads.",),
    )


def crowd(count=64):
    """Many batteries that cut out one after the other."""
    names = [f"battery number {k + 1} on the left shelf" for k in range(count)]
    cuts = [trip(name, 10.0 + 0.1 * k, names) for k, name in enumerate(names)]
    outcomes = [outcome(name, 100.0, cut) for name, cut in zip(names, cuts, strict=True)]
    return result(outcomes, cuts, end_h=17.0)

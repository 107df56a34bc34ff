"""Results made by hand, a few rows of a trace each: for tests of what is read off a run."""

from dataclasses import dataclass

import numpy as np

from bankSim.scenario.record import Scenario
from bankSim.sim.result import BankOutcome, BatteryOutcome, ChargerOutcome, Event, Result


@dataclass(frozen=True)
class Course:
    """Columns of one battery, each one number for all rows or one for each."""

    A: object = 0.0
    V: object = 13.0
    z: object = 0.5
    K: object = 298.15
    mode: object = 0
    cells: object = None  # a list of columns; without it all cells alike


def outcome_of(battery, course, **given):
    """Totals of a battery, as far as the columns tell them; `given` goes before."""
    amps, level = np.atleast_1d(course.A), np.atleast_1d(course.z)
    cells = [np.asarray(course.V) / len(battery.cells)] if course.cells is None else course.cells
    told = {
        "delivered_Ah": 0.0, "charged_Ah": 0.0, "delivered_Wh": 0.0, "share_at_start": None,
        "peak_discharge_A": float(max(amps.max(), 0.0)),
        "peak_charge_A": float(max(-amps.min(), 0.0)),
        "stranded_Ah": 0.0, "remaining_Ah": 0.0, "first_cut_out": None,
        "final_state_of_charge": (float(level[-1]),),
        "lowest_cell_voltage_V": float(min(np.min(one) for one in cells)),
        "highest_cell_voltage_V": float(max(np.max(one) for one in cells)),
        "lowest_state_of_charge": float(level.min()),
        "highest_state_of_charge": float(level.max()),
    }  # fmt: skip
    return BatteryOutcome(battery.name, battery.rated_C / 3600.0, **(told | given))


def event(time_s, what, battery=None, **given):
    """Something that happened; of all that is left open nothing is known."""
    unknown = dict.fromkeys(("watches", "cell", "value", "threshold", "blocks"))
    told = unknown | {
        "unit": "", "bus_voltage_V": 0.0, "battery_voltage_V": None, "cell_voltages_V": None,
        "currents_A": (), "currents_after_A": (),
    }  # fmt: skip
    return Event(time_s, what, battery, **(told | given))


def made(bank, time_s, *courses, outcomes=(), charger_A=None, bank_A=None, bus_V=13.0,
         loads_V=None, kinds=0.0, **given):  # fmt: skip
    """A result whose trace holds the given columns; `outcomes` are changes, one a battery.

    The bank's current is the sum of its batteries', the loads see the bus, unless told otherwise.
    """
    rows = len(time_s)

    def full(value):
        return np.broadcast_to(np.asarray(value, dtype=float), (rows,))

    total = sum(full(one.A) for one in courses) if bank_A is None else full(bank_A)
    loads_V = bus_V if loads_V is None else loads_V
    columns = [full(time_s), full(kinds), full(bus_V), total, full(loads_V)]
    for one in courses:
        columns += [full(value) for value in (one.A, one.V, one.z, one.K, one.mode)]
    for battery, one in zip(bank.batteries, courses, strict=True):
        alike = [np.asarray(one.V, dtype=float) / len(battery.cells)] * len(battery.cells)
        columns += [full(value) for value in (alike if one.cells is None else one.cells)]
    charger_A = [0.0] * len(bank.chargers) if charger_A is None else charger_A
    columns += [full(value) for value in charger_A]
    changes = outcomes or [{}] * len(courses)
    batteries = tuple(map_outcomes(bank, courses, changes))
    end_s = float(time_s[-1])
    told = {
        "bank": BankOutcome(0.0, 0.0, 0.0, 0.0, 0.0, end_s, float(np.abs(total).max())),
        "events": (), "cautions": (), "numerics": None,
        "chargers": tuple(
            ChargerOutcome(charger.name, 0.0, 0.0, float(np.max(amps)))
            for charger, amps in zip(bank.chargers, charger_A, strict=True)
        ),
    }  # fmt: skip
    return Result(
        Scenario("made by hand", bank), end_s, "end of duration",
        batteries=batteries, trace=np.column_stack(columns), **(told | given),
    )  # fmt: skip


def map_outcomes(bank, courses, changes):
    """Yield the totals of every battery."""
    for battery, course, given in zip(bank.batteries, courses, changes, strict=True):
        yield outcome_of(battery, course, **given)

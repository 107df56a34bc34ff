"""Batteries of known cells discharged by the program's own solver to a cell limit."""

from dataclasses import replace
from functools import cache

import numpy as np
from simple_banks import bank_of, battery, run, steady

from bankSim.measured.log import Log
from bankSim.model.lfp import typical_cell
from bankSim.model.rule import Blocks, Rule, Watch

RATED_AH = 150.0
LIMIT_V = 2.5


def cells_of(charges, capacities=None):
    sizes = capacities or [RATED_AH] * len(charges)
    return [
        replace(typical_cell(RATED_AH, size * 3600.0), state_of_charge=z, standing_A=0.0)
        for z, size in zip(charges, sizes, strict=True)
    ]


def stays_off():
    return Rule(Watch.LOWEST_CELL, True, LIMIT_V, 0.0, Blocks.DISCHARGE, None)


@cache
def discharged(charges, current_A=15.0):
    """Return (Ah given, cell voltages just before cut-out, timeline) of a battery of such cells."""
    one = battery("b", *cells_of(charges), rules=(stays_off(),))
    result = run(
        bank_of(one, load=steady(current_A), duration_s=15.0 * 3600.0, output_every_s=20.0)
    )
    frame = result.timeline(jumps=True)
    flowing = frame[frame["b.current_A"] > 0.5 * current_A]
    last = flowing.iloc[-1]
    volts = tuple(float(last[f"b.cell{n + 1}_voltage_V"]) for n in range(len(charges)))
    given = float(last["time_s"]) * current_A / 3600.0
    return given, volts, frame


def truly_left(charges, current_A=15.0):
    """Return what each cell could still have given to 2.5 V, each discharged alone. [Ah]"""
    given, _, _ = discharged(charges, current_A)
    return np.array([discharged((z,), current_A)[0] - given for z in charges])


def log_of(charges, current_A=15.0):
    """The solver's run as a log that goes on for a while after the cut-out."""
    _, _, frame = discharged(charges, current_A)
    cells = np.column_stack([frame[f"b.cell{n + 1}_voltage_V"] for n in range(len(charges))])
    return Log("made.csv", frame["time_s"].to_numpy(float), cells.sum(axis=1),
               frame["b.current_A"].to_numpy(float), cells_V=cells)  # fmt: skip


__all__ = ["LIMIT_V", "RATED_AH", "discharged", "log_of", "truly_left"]

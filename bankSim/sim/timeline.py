"""The trace as a table with named columns."""

from typing import TYPE_CHECKING

import numpy as np

from bankSim.kernels.arrays import END, FIXED, GRID, PER_BATTERY
from bankSim.model.bank import Bank
from bankSim.model.cell import ZERO_C_K
from bankSim.model.curve import Floats
from bankSim.sim.result import Result

if TYPE_CHECKING:
    import pandas as pd


def timeline_frame(result: Result, *, jumps: bool) -> "pd.DataFrame":
    """Return the timeline of a result.

    Parameters
    ----------
    result : Result
    jumps : bool
        False: evenly spaced rows and the last instant, times rising. True: also the rows just
        before and just after every switching; times repeat there.

    Returns
    -------
    table : DataFrame
        time_s, bank.voltage_V, bank.current_A, then per battery NAME.current_A, NAME.voltage_V,
        NAME.state_of_charge (weighted by capacity), NAME.temperature_C, NAME.cell1_voltage_V ...;
        after all batteries NAME.blocked of each (0 nothing, 1 charge, 2 discharge, 3 both), and
        NAME.current_A of every charger.
    """
    import pandas as pd

    return pd.DataFrame(timeline_columns(result, jumps=jumps))


def timeline_columns(result: Result, *, jumps: bool) -> dict[str, Floats]:
    """Return the columns of `timeline_frame` by their names, without loading pandas.

    Parameters
    ----------
    result : Result
    jumps : bool
        As for `timeline_frame`.

    Returns
    -------
    columns : dict from name to array (rows,)
        [units of the names]
    """
    bank, trace = result.scenario.bank, result.trace
    rows = trace if jumps else trace[np.isin(trace[:, 1], (GRID, END))]
    columns = {"time_s": rows[:, 0], "bank.voltage_V": rows[:, 2], "bank.current_A": rows[:, 3]}
    columns.update(_battery_columns(bank, rows))
    for number, battery in enumerate(bank.batteries):
        columns[f"{battery.name}.blocked"] = rows[:, FIXED + PER_BATTERY * number + 4]
    first = rows.shape[1] - len(bank.chargers)
    for number, charger in enumerate(bank.chargers):
        columns[f"{charger.name}.current_A"] = rows[:, first + number]
    return columns


def _battery_columns(bank: Bank, rows: Floats) -> dict[str, Floats]:
    columns: dict[str, Floats] = {}
    cell_at = FIXED + PER_BATTERY * len(bank.batteries)
    for number, battery in enumerate(bank.batteries):
        at = FIXED + PER_BATTERY * number
        for offset, quantity in enumerate(("current_A", "voltage_V", "state_of_charge")):
            columns[f"{battery.name}.{quantity}"] = rows[:, at + offset]
        columns[f"{battery.name}.temperature_C"] = rows[:, at + 3] - ZERO_C_K
        for number_in_series in range(len(battery.cells)):
            name = f"{battery.name}.cell{number_in_series + 1}_voltage_V"
            columns[name] = rows[:, cell_at + number_in_series]
        cell_at += len(battery.cells)
    return columns

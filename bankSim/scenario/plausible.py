"""Voltages that one cell, or a whole bank, can plausibly have."""

from bankSim.scenario.faults import Faults, show
from bankSim.scenario.keys_battery import BatteryKeys
from bankSim.scenario.lines import Path

HIGHEST_CELL_V = 10.0  # of one cell in a string; a single element may stand for a whole battery
HIGHEST_ELEMENT_V = 60.0
HIGHEST_LIMIT_V = 6.0  # of a limit, per cell; above it the voltage of the whole battery was meant
LEAST_V = 1.0  # of a whole battery, per cell; below it the voltage of one cell was meant


def highest_cell_voltage(cells_in_series: int) -> float:
    """Return the highest voltage that one cell can have. [V]"""
    return HIGHEST_CELL_V if cells_in_series > 1 else HIGHEST_ELEMENT_V


def highest_limit(cells_in_series: int) -> float:
    """Return the highest limit on the voltage of one cell. [V]"""
    return HIGHEST_LIMIT_V if cells_in_series > 1 else HIGHEST_ELEMENT_V


def plausible_bank_voltage(batteries: list[BatteryKeys]) -> tuple[float, float] | None:
    """Return the range of voltages that a charger may hold and a load may see.

    It fits the battery with the fewest volts; batteries in parallel need not have the same number
    of cells, because a table may stand for several of them.

    Parameters
    ----------
    batteries : list of BatteryKeys
        Those whose number of cells is in doubt are left out.

    Returns
    -------
    lowest_V, highest_V : float
        Or None if no number of cells is known. [V]
    """
    counts = [battery.cells_in_series for battery in batteries if battery.cells_in_series]
    if not counts:
        return None
    return LEAST_V * min(counts), min(count * highest_limit(count) for count in counts)


def check_bank_voltage(
    value_V: float | None,
    path: Path,
    bank_V: tuple[float, float] | None,
    faults: Faults,
) -> bool:
    """Note a voltage that the bank cannot have.

    Parameters
    ----------
    value_V : float or None
        None is fine. [V]
    path : tuple
        Its key.
    bank_V : (float, float) or None
        From `plausible_bank_voltage`; with None nothing is checked. [V]
    faults : Faults

    Returns
    -------
    plausible : bool
    """
    if value_V is None or bank_V is None:
        return True
    lowest, highest = bank_V
    if lowest <= value_V <= highest:
        return True
    faults.add(
        path, f" = {show(value_V)}; expected {lowest:g} to {highest:g} V (at the loads, whole bank)"
    )
    return False

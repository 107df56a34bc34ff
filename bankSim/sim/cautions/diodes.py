"""Body diodes that carry much current for long: they get hot where the switches are open."""

from collections.abc import Iterator

import numpy as np

from bankSim.kernels.arrays import CHARGE_BLOCKED, DISCHARGE_BLOCKED
from bankSim.model.battery import Battery
from bankSim.model.curve import Floats
from bankSim.sim.numbers import number, quoted, span
from bankSim.sim.result import Caution, Result
from bankSim.sim.returns import column, time_above

# More than this for longer than this is worth a word; own choice, makers' limits are seldom told.
MUCH_A, MUCH_PER_H, LONG_S = 10.0, 0.1, 600.0


def of_diodes(result: Result) -> Iterator[Caution]:
    """Warn of batteries with one direction blocked that carry much current the other way."""
    for number_of, battery in enumerate(result.scenario.bank.batteries):
        much_A = min(MUCH_A, MUCH_PER_H * battery.rated_C / 3600.0)
        carried_A = _through_diode_A(result, number_of)
        above_s = time_above(result.trace[:, 0], carried_A, much_A)
        if above_s > LONG_S:
            yield _hot(battery, carried_A, much_A, above_s)


def _through_diode_A(result: Result, number_of: int) -> Floats:  # noqa: N802 - the unit as printed
    """Return the size of the current through a body diode in every row, 0 while none conducts."""
    mode, current = column(result.trace, number_of, 4), column(result.trace, number_of, 0)
    one_way = np.isin(mode, (CHARGE_BLOCKED, DISCHARGE_BLOCKED))
    return np.where(one_way, np.abs(current), 0.0)


def _hot(battery: Battery, carried_A: Floats, much_A: float, above_s: float) -> Caution:
    most_A = float(carried_A.max(initial=0.0))
    heat_W = most_A * battery.diode_drop_V
    return Caution(
        "large current through a body diode",
        "warning",
        most_A,
        much_A,
        "A",
        f"With one direction blocked, {quoted(battery.name)} carries up to {number(most_A)} A "
        "through its "
        f"body diode, more than {number(much_A)} A for {span(above_s)} in all: about "
        f"{number(heat_W, 2)} W of heat in its switches at most.",
        "Ask the maker whether its electronics switch fully on for the other direction, or what "
        "the diode may carry; some forbid it. Keep its charge from being blocked under load.",
    )

"""Lithium that nothing stops at the top, or that is held there for long."""

from collections.abc import Iterator

import numpy as np

from bankSim.model.chemistry import chemistry_of
from bankSim.model.load import Flags
from bankSim.model.rule import Blocks
from bankSim.sim.cautions.cells import cell_volts
from bankSim.sim.cautions.chargers_there import held_up
from bankSim.sim.cautions.charging import stops_charge_V
from bankSim.sim.numbers import named, number, quoted, span
from bankSim.sim.result import STAGE, Caution, Result
from bankSim.sim.returns import chargers_A, column, time_above

# LFP is full well below this; held there it ages (from memory, own choice of the time). Chargers
# hold such round voltages, and cells lie a little below them as long as any current flows.
HELD_V, HELD_S = 3.5, 2.0 * 3600.0
CLOSE_V = 0.005
FED_A = 1e-6  # of all chargers: less is none
# Below this an LFP cell does not get full in a day, nor do balancers work: own choice.
LOW_V = 3.38
FILLS_V = (3.5, 3.6)  # usual, to fill LFP (from memory)
FULL_BY_THEN = 0.9  # state of charge from which such a voltage is that of full cells; own choice


def of_lithium(result: Result) -> Iterator[Caution]:
    """Warn of lithium whose charge no rule stops, of LFP held at the top, or never near it."""
    yield from _of_no_stop(result)
    for number_of in range(len(result.batteries)):
        yield from _of_held(result, number_of)
        yield from _of_too_low(result, number_of)


def _of_no_stop(result: Result) -> Iterator[Caution]:
    bank = result.scenario.bank
    names = []
    for battery in bank.batteries:
        chemistry = chemistry_of(battery.chemistry)
        if chemistry is not None and chemistry.is_lithium and stops_charge_V(battery) is None:
            names.append(battery.name)
    if names and bank.chargers:
        yield Caution(
            "no cut-out at high voltage",
            "warning",
            None,
            None,
            "",
            f"{named(names)} {'has' if len(names) == 1 else 'have'} no rule that stops charge at "
            "a high voltage; only the charger's setting protects the cells.",
            "Give lithium batteries their own electronics that stop charge by the highest cell; "
            "write that rule into the file if it is there.",
        )


def _of_held(result: Result, number_of: int) -> Iterator[Caution]:
    battery = result.scenario.bank.batteries[number_of]
    if battery.chemistry != "LFP":
        return
    above_V = cell_volts(result, number_of).mean(axis=1) - (HELD_V - CLOSE_V)
    fuller = column(result.trace, number_of, 2) - FULL_BY_THEN
    takes = (column(result.trace, number_of, 4).astype(int) & int(Blocks.CHARGE)) == 0
    fed = takes & (_gives(result) | held_up(result)) if result.chargers else np.True_
    held = np.where(fed, np.minimum(above_V, fuller), -1.0)  # let alone, a real cell falls back
    held_s = time_above(result.trace[:, 0], held, 0.0)
    if held_s > HELD_S:
        yield Caution(
            "held at a high voltage",
            "warning",
            held_s / 3600.0,
            HELD_S / 3600.0,
            "h",
            f"The cells of {quoted(battery.name)} are at {HELD_V:.2f} V or above for "
            f"{span(held_s)} in all; LFP is full by then, and ages faster when it is held there.",
            f"{_ends(result, held > 0.0)}, then hold about 3.35 to 3.40 V a cell or nothing.",
        )


def _gives(result: Result) -> Flags:
    """Tell in which rows of the trace some charger gives a current."""
    amps = chargers_A(result.trace, len(result.scenario.bank.chargers))
    return np.asarray(amps.sum(axis=1) > FED_A)


def _ends(result: Result, held: Flags) -> str:
    """Say how to end that hold, where the loads alone draw the tail current that should end it."""
    chargers, trace = result.scenario.bank.chargers, result.trace
    ended = any(event.what == STAGE for event in result.events)
    if len(chargers) == 1 and held.any() and not ended:
        (one,) = chargers
        loads_A = trace[held, 3] + chargers_A(trace, 1)[held, 0]
        drawn_A, first = float(np.median(loads_A)), one.stages[0]
        if first.tail_A is not None and first.tail_A <= drawn_A:
            return (
                f"End the charge by time (at_most_h): the current of {quoted(one.name)} does not "
                f"fall to its tail of {number(first.tail_A)} A while it feeds the loads with "
                f"{number(drawn_A)} A"
            )
    return "End the charge when its current has fallen (a stage that ends at a tail current)"


def _of_too_low(result: Result, number_of: int) -> Iterator[Caution]:
    bank, most = result.scenario.bank, float(column(result.trace, number_of, 2).max())
    battery = bank.batteries[number_of]
    hold_V = max((one.highest_hold_V for one in bank.chargers), default=np.inf)
    low_V = LOW_V * len(battery.cells)
    if battery.chemistry != "LFP" or hold_V >= low_V or most >= FULL_BY_THEN:
        return
    if (_gives(result) & (np.abs(result.trace[:, 4] - hold_V) < CLOSE_V)).any():
        cells = len(battery.cells)
        fill_V = [f"{number(cells * volts, 3)}" for volts in FILLS_V]
        usual = f"{' to '.join(fill_V)} V for {cells} cells"
        yield Caution(
            "charge voltage too low for LFP",
            "note",
            hold_V,
            low_V,
            "V",
            f"No charger holds more than {number(hold_V, 4)} V: {quoted(battery.name)} gets no "
            f"further than {number(100.0 * most, 2)} % of its charge, and its cells are never "
            "evened out at the top.",
            "If it is to get full, set the charger higher, as the battery's maker says: "
            f"{usual} are usual, until the current has fallen.",
        )

"""The arrays that kernels work on: names, columns, shapes; SI units throughout.

n batteries, m cells in all, p rules, s load segments, g load exponents other than 0, 1, 2.
Discharge current is positive. A kernel gets two bundles: `Bank`, which never changes during a
march, and `Run`, from which a march can be taken up again.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

MOST_PAIRS = 3

CELL = np.dtype(
    [
        ("charge", "f8"),  # Q [C]
        ("efficiency", "f8"),  # share of a charging current that is stored [1]
        ("standing", "f8"),  # self-discharge [A]
        ("hysteresis", "f8"),  # M [V]
        ("rate", "f8"),  # g [1]
        ("ohm_factor", "f8"),  # R0(T) / R0(25 degC) [1]
        ("pairs", "i8"),  # how many relaxation pairs
        ("ocv_first", "i8"),  # pieces[ocv_first:ocv_end] is U(z)
        ("ocv_end", "i8"),
        ("ohm_first", "i8"),  # the same of R0(z)
        ("ohm_end", "i8"),
    ]
)
BATTERY = np.dtype(
    [
        ("first", "i8"),  # cells[first:end] are its cells
        ("end", "i8"),
        ("internal", "f8"),  # [ohm]
        ("lead", "f8"),  # [ohm]
        ("temperature", "f8"),  # [K]
        ("stride", "f8"),  # most charge in one step [C]
    ]
)
RULE = np.dtype(
    [
        ("battery", "i8"),
        ("watch", "i8"),
        ("sign", "f8"),  # +1 trips below the threshold, -1 above
        ("threshold", "f8"),  # [V, A or K]
        ("delay", "f8"),  # [s]
        ("blocks", "i8"),  # bits
    ]
)
TALLY = np.dtype(
    [
        ("mode", "i8"),  # blocked directions, bits
        ("on", "i8"),  # 1 where current may flow now
        ("slope", "f8"),  # dI/dt [A/s]
        ("guess", "f8"),  # predicted current at the end of a trial step [A]
        ("goal", "f8"),  # corrected current there [A]
        ("stiff", "f8"),  # -d emf / d current over the trial step [ohm]
        ("reach", "f8"),  # most that a voltage of it can stray inside the trial step [V]
        ("out", "f8"),  # charge delivered [C]
        ("into", "f8"),  # charge taken [C]
        ("energy", "f8"),  # delivered at the terminals [J]
        ("peak_out", "f8"),  # largest discharge current [A]
        ("peak_into", "f8"),  # largest charge current [A]
        ("share", "f8"),  # part of the bank current when it first flows; NaN until then [1]
    ]
)
ALARM = np.dtype(
    [
        ("phase", "i8"),
        ("since", "f8"),  # when its condition began, while pending [s]
        ("near", "i8"),  # 1 when its limit is within reach of the trial step
    ]
)
CLOCK = np.dtype(
    [
        ("time", "f8"),  # [s]
        ("step", "f8"),  # wished length of the next step [s]
        ("last_step", "f8"),  # length of the last one, 0 after a jump [s]
        ("fed_until", "f8"),  # when the loads could first not be fed [s]
        ("segment", "i8"),  # of the loads; -1 before the start
        ("next_row", "i8"),  # number of the next timeline row
        ("arrived", "i8"),  # 1 when what is due at this instant has not happened yet
        ("jumped", "i8"),  # 1 when currents have jumped since the last step
        ("starved", "i8"),  # 1 from loads that could not be fed until some are fed again
        ("refused", "i8"),  # 1 from charge that nobody took until some is taken again
        ("steps", "i8"),
        ("rejected", "i8"),
        ("forced", "i8"),
        ("bank_peak", "f8"),  # largest current through the take-off, either way [A]
        ("bank_out", "f8"),  # charge through the take-off [C]
        ("bank_into", "f8"),
        ("bank_energy", "f8"),  # at the loads [J]
        ("lead_energy", "f8"),  # lost between terminals and loads [J]
    ]
)


class Bank(NamedTuple):
    """What never changes during a march."""

    cell: NDArray[np.void]  # (m,) CELL
    pair: Floats  # (m, 3, 2) R_j at the battery's temperature [ohm], tau_j [s]
    pieces: Floats  # (q, 6) anchor z, 4 coefficients, largest |slope| of every curve piece
    battery: NDArray[np.void]  # (n,) BATTERY
    rule: NDArray[np.void]  # (p,) RULE, in order of action
    setting: Floats  # (8,) see the indices below
    edge: Floats  # (s + 1,) load segments; the last edge is the end of the run [s]
    demand: Floats  # (s, 3 + g) P [W], I0 [A], G [1/ohm], a [A V^(1-e)] per segment
    exponent: Floats  # (g,) e [1]


# Bank.setting: one rail between neighbours, 0 for equal leads [ohm]; 1 for take-offs at opposite
# ends; take-off to loads [ohm]; tolerances [1] and [A]; spacing of timeline rows, inf for none
# [s]; 1 to end when the loads can no longer be fed; 1 for rows around every load edge
LINK, FAR, MAIN, RELATIVE, ABSOLUTE, EVERY, STOP_EMPTY, TRACE_EDGES = range(8)


class Run(NamedTuple):
    """All that changes, and the room to calculate in."""

    moment: Floats  # (m, 8) the cells now, columns below
    now: Floats  # (n + 1, 3) the batteries now, columns below
    trial: Floats  # the same at the end of a trial step
    trial_now: Floats
    probe: Floats  # the same inside a trial step, or just after a jump
    probe_now: Floats
    weight: Floats  # (m, 3, 2) of the relaxation pairs over a step, see `pair_weights`
    extreme: Floats  # (n, 4) of the cells of a battery so far, columns below
    hint: Ints  # (m, 2) pieces of U and R0 last used
    tally: NDArray[np.void]  # (n,) TALLY
    alarm: NDArray[np.void]  # (p,) ALARM
    gap: Floats  # (p, 9) `phase_gap` of every rule now and at 8 instants of the trial step
    level: Floats  # (3 + g,) the loads in force
    clock: NDArray[np.void]  # (1,) CLOCK
    ladder: Floats  # (n, 5) room to solve the network
    active: Ints  # (n,) connected batteries
    series: Floats  # (n,) resistance of each branch [ohm]
    rows: Floats  # (c, 5 + 3 n + m) the trace; (0, ...) for none
    events: Floats  # (d, 6 + 3 n + m)
    used: Ints  # (2,) filled rows and events


# moment: z [1], h [1], v_1..v_3 [V], U + M h - sum v [V], R0 [ohm], dU/dz - I dR0/dz [V]
SOC, BRANCH, PAIR, CELL_EMF, CELL_OHM, CELL_SLOPE = 0, 1, 2, 5, 6, 7
# extreme: of any cell of a battery so far, z [1] and terminal voltage [V]
LOWEST_SOC, HIGHEST_SOC, LOWEST_V, HIGHEST_V = range(4)
# now: sum of cell emf [V], resistance up to the terminals [ohm], current [A]
EMF, OHM, CURRENT = range(3)
# now[n]: voltage at the take-off [V], bank current [A], voltage at the loads [V]
BUS, TOTAL, AT_LOADS = range(3)

# blocked directions
CHARGE_BLOCKED, DISCHARGE_BLOCKED, BOTH_BLOCKED = 1, 2, 3

# what a rule watches, and its phase
LOWEST_CELL, HIGHEST_CELL, BATTERY_VOLTAGE, DISCHARGE_CURRENT, CHARGE_CURRENT, TEMPERATURE = range(
    6
)
ARMED, PENDING, TRIPPED = range(3)

# what an event is, and which row of the trace (floats: they are stored among floats)
TRIP, COLLAPSE, REFUSED = 0.0, 1.0, 2.0
GRID, BEFORE, AFTER, END = 0.0, 1.0, 2.0, 3.0
WHOLE_BANK = -1.0  # in place of a rule's number

# what a solve of the network, or a march, answers
OK = 0
NOBODY = 1  # no battery is connected
SHORTFALL = 2  # the loads ask for more power than the bank can give
NO_TAKER = 3  # charge is offered and no battery may take it
EMPTY = 4  # march ended: no battery can discharge any more
DURATION = 5  # march ended: the time is over
PAUSED = 6  # march stopped for the caller: step budget used or log full; call again
FAILED = 7  # the network did not settle: a bug

"""The arrays that kernels work on: names, columns, shapes; SI units throughout.

n batteries, m cells in all, p rules, s load segments, g load exponents other than 0, 1, 2,
u groups of loads that cut themselves off, c chargers, t stages of chargers. Discharge current is
positive. A kernel gets two bundles: `Bank`, which never changes during a march, and `Run`, from
which a march can be taken up again.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

MOST_PAIRS = 3
WELL_SLOT = 3  # place of the wells behind the relaxation pairs

CELL = np.dtype(
    [
        ("charge", "f8"),  # Q [C]
        ("efficiency", "f8"),  # share of a charging current that is stored [1]
        ("standing", "f8"),  # self-discharge [A]
        ("gassing", "f8"),  # loss per unit of charge beyond full [A]
        ("hysteresis", "f8"),  # M [V]
        ("rate", "f8"),  # g [1]
        ("bound", "f8"),  # part of the charge in the bound well, 1 - c [1]
        ("pairs", "i8"),  # how many relaxation pairs
        ("ocv_first", "i8"),  # pieces[ocv_first:ocv_end] is U(a)
        ("ocv_end", "i8"),
        ("ohm_first", "i8"),  # the same of R0(a) at 25 degC
        ("ohm_end", "i8"),
        ("charge_from", "f8"),  # on charge R0 is read at this a or above it [1]
        ("ohm_scale", "f8"),  # R0 over that curve; differs between draws of a study [1]
        ("lag", "f8"),  # what drives the first pair on charge besides its own, at full [ohm]
        ("lag_near", "f8"),  # 1 / w_c, 0 for the same at any charge [1]
        ("lag_away", "f8"),  # w_c / (w_c + 1 - y_s) [1]
        ("lag_bend", "f8"),  # 1 / B, 0 for a straight line [1/V]
    ]
)
BATTERY = np.dtype(
    [
        ("first", "i8"),  # cells[first:end] are its cells
        ("end", "i8"),
        ("internal", "f8"),  # [ohm]
        ("lead", "f8"),  # [ohm]
        ("drop", "f8"),  # of the body diode [V]
        ("stride", "f8"),  # most charge in one step [C]
        ("rated", "f8"),  # label capacity [C]
        ("limit_out", "f8"),  # label limit of the discharge current, inf for none [A]
        ("limit_into", "f8"),  # the same of the charge current [A]
        ("activation", "f8"),  # Ea / Rg of its resistances [K]
        ("usable_first", "i8"),  # pieces[usable_first:usable_end] is f(T), empty for 1
        ("usable_end", "i8"),
        ("heat_time", "f8"),  # C / hA; 0: the temperature of the surroundings [s]
        ("heat_loss", "f8"),  # hA [W/K]
        ("balancing", "i8"),  # NO_BALANCER, BLEED or TRANSFER
        ("balance_current", "f8"),  # [A]
        ("balance_above", "f8"),  # [V]
        ("balance_within", "f8"),  # [V]
    ]
)
RULE = np.dtype(
    [
        ("act", "i8"),  # what it does, see BLOCK and following
        ("subject", "i8"),  # battery, group of loads or charger that it acts on
        ("watch", "i8"),
        ("sign", "f8"),  # +1 trips below the threshold, -1 above
        ("threshold", "f8"),  # [V, A or K]
        ("delay", "f8"),  # [s]
        ("blocks", "i8"),  # bits
        ("releases", "i8"),  # 1 if it can let go during a run
        ("let_go", "f8"),  # where it does [V, A or K]
        ("let_go_delay", "f8"),  # [s]
        ("needs", "i8"),  # what a release waits for besides
        ("power", "f8"),  # of a heater [W]
        ("asks_charger", "i8"),  # 1 for a heater that needs a charger
    ]
)
CHARGER = np.dtype(
    [
        ("amperes", "f8"),  # limit, 0 when it is given as a power [A]
        ("watts", "f8"),  # limit, or height of the day's half sine, 0 when given in A [W]
        ("day", "f8"),  # from sunrise to sunset; 0 for a steady limit [s]
        ("first", "i8"),  # stage[first:end] are its stages
        ("end", "i8"),
    ]
)
TALLY = np.dtype(
    [
        ("mode", "i8"),  # blocked directions, bits
        ("on", "i8"),  # 1 where current may flow now
        ("held", "i8"),  # directions that stay blocked after too many hiccups, bits
        ("slope", "f8"),  # dI/dt [A/s]
        ("guess", "f8"),  # predicted current at the end of a trial step [A]
        ("goal", "f8"),  # corrected current there [A]
        ("path", "f8"),  # where a straight line points that is taken for a part of the step [A]
        ("into_now", "i8"),  # 1 where R0 was read for a charging current
        ("ohm_out", "f8"),  # resistance of its branch for discharge and for charge, where a search
        ("ohm_into", "f8"),  # looks for directions; the same twice where they are known [ohm]
        ("stiff", "f8"),  # -d emf / d current over the trial step [ohm]
        ("reach", "f8"),  # most that a voltage of it can stray inside the trial step [V]
        ("keep", "f8"),  # weights of the temperature over a step, see `pair_weights`
        ("ramp", "f8"),
        ("heater", "f8"),  # power of its heater now [W]
        ("out", "f8"),  # charge delivered [C]
        ("into", "f8"),  # charge taken [C]
        ("peak_out", "f8"),  # largest discharge current [A]
        ("peak_into", "f8"),  # largest charge current [A]
        ("above_out", "f8"),  # time above the label limit of discharge [s]
        ("above_into", "f8"),  # the same of charge [s]
        ("coldest", "f8"),  # [K]
        ("warmest", "f8"),  # [K]
        ("cold_into", "f8"),  # charge taken below freezing [C]
        ("share", "f8"),  # part of the bank current when it first flows; NaN until then [1]
        ("back_out", "f8"),  # `out` when discharge was last released; NaN before [C]
        ("back_into", "f8"),  # `into` when charge was last released [C]
        ("fruitless_out", "i8"),  # fruitless reconnections in a row
        ("fruitless_into", "i8"),
        ("hiccups", "i8"),  # fruitless reconnections in all
        ("held_out", "f8"),  # `out` when charge began to stay blocked [C]
        ("held_into", "f8"),  # `into` when discharge began to stay blocked [C]
    ]
)
ALARM = np.dtype(
    [
        ("phase", "i8"),
        ("since", "f8"),  # when its condition began, while pending or releasing [s]
        ("freed", "f8"),  # when it last let go [s]
        ("flaps", "i8"),  # trips in a row soon after it let go
        ("stuck", "i8"),  # 1 when it does not let go any more
        ("asleep", "i8"),  # 1 while it cannot change, see `bankSim.kernels.rules.asleep`
        ("faint", "i8"),  # 1 when it stays within a trace of its limit in the trial step
        ("near", "i8"),  # 1 when its limit is within reach of the trial step, or it is due
    ]
)
SOURCE = np.dtype(
    [
        ("on", "i8"),  # 1 while its schedule (or the sun) switches it on
        ("stage", "i8"),  # number of the stage in force, -1 for none
        ("since", "f8"),  # when that began [s]
        ("begun", "f8"),  # time of sunrise [s]
        ("out", "f8"),  # charge given [C]
        ("energy", "f8"),  # [J]
        ("peak", "f8"),  # largest current [A]
    ]
)
CLOCK = np.dtype(
    [
        ("time", "f8"),  # [s]
        ("step", "f8"),  # wished length of the next step [s]
        ("last_step", "f8"),  # length of the last one, 0 after a jump [s]
        ("fed_until", "f8"),  # when the loads could first not be fed [s]
        ("left_at", "f8"),  # when discharge of a battery was last blocked, -inf before [s]
        ("segment", "i8"),  # of the loads; -1 before the start
        ("next_row", "i8"),  # number of the next timeline row
        ("arrived", "i8"),  # 1 when what is due at this instant has not happened yet
        ("jumped", "i8"),  # 1 when currents have jumped since the last step
        ("dropped", "i8"),  # 1 while loads that could not be fed are off
        ("drawing", "i8"),  # 1 while some load wants to draw
        ("starved", "i8"),  # 1 from loads that could not be fed until some are fed again
        ("refused", "i8"),  # 1 from charge that nobody took until some is taken again
        ("steps", "i8"),
        ("rejected", "i8"),
        ("forced", "i8"),
        ("bank_peak", "f8"),  # largest current through the take-off, either way [A]
        ("bank_out", "f8"),  # charge through the take-off [C]
        ("bank_into", "f8"),
    ]
)


class Bank(NamedTuple):
    """What never changes during a march."""

    cell: NDArray[np.void]  # (m,) CELL
    pair: Floats  # (m, 4, 2) R_j at 25 degC [ohm], tau_j [s]; then of the wells 1/(c Q k'), 1/k'
    pieces: Floats  # (q, 6) anchor, 4 coefficients, largest |slope| of every curve piece
    battery: NDArray[np.void]  # (n,) BATTERY
    rule: NDArray[np.void]  # (p,) RULE, in order of action
    charger: NDArray[np.void]  # (c,) CHARGER
    stage: Floats  # (t, 3) see the columns below
    setting: Floats  # (12,) see the indices below
    edge: Floats  # (s + 1,) load segments; the last edge is the end of the run [s]
    demand: Floats  # (s, (1 + u) (3 + g) + 1 + c) see `bankSim.sim.demand`
    exponent: Floats  # (g,) e [1]
    row_s: Floats  # (w,) instants of timeline rows, rising; none: rows are spaced evenly [s]


# Bank.setting: one rail between neighbours, 0 for equal leads [ohm]; 1 for take-offs at opposite
# ends; take-off to loads [ohm]; tolerances [1] and [A]; spacing of timeline rows, inf for none
# [s]; 1 to end when the loads can no longer be fed; 1 for rows around every load edge; mean and
# swing of the surroundings [K]; clock at the start less the warmest hour [s]; groups of loads
LINK, FAR, MAIN, RELATIVE, ABSOLUTE, EVERY, STOP_EMPTY, TRACE_EDGES = range(8)
MEAN_K, SWING_K, DAY_SHIFT, GROUPS = 8, 9, 10, 11
# Bank.stage: voltage held [V], current at which it ends, negative for never [A], longest time [s]
HOLD, TAIL, LONGEST = range(3)


class Run(NamedTuple):
    """All that changes, and the room to calculate in."""

    moment: Floats  # (m, 17) the cells now, columns below
    now: Floats  # (n + 1 + c, 8) batteries, bank and chargers now, columns below
    trial: Floats  # the same at the end of a trial step
    trial_now: Floats
    probe: Floats  # the same inside a trial step, or just after a jump
    probe_now: Floats
    weight: Floats  # (m, 4, 2) of the relaxation pairs and wells over a step, see `pair_weights`
    extreme: Floats  # (n, 4) of the cells of a battery so far, columns below
    hint: Ints  # (m, 2) pieces of U and R0 last used
    tally: NDArray[np.void]  # (n,) TALLY
    alarm: NDArray[np.void]  # (p,) ALARM
    source: NDArray[np.void]  # (c,) SOURCE
    gap: Floats  # (p, 9) `phase_gap` of every rule now and at 8 instants of the trial step
    level: Floats  # (3 + g,) the loads in force
    ledger: Floats  # (3, n + 1, 10) power now and just worked out [W], energy so far [J]
    clock: NDArray[np.void]  # (1,) CLOCK
    ladder: Floats  # (n, 5) room to solve the network
    active: Ints  # (n,) connected batteries
    series: Floats  # (n,) resistance of each branch [ohm]
    rows: Floats  # (r, 5 + 5 n + m + c) the trace; (0, ...) for none
    events: Floats  # (d, 6 + 3 n + m)
    used: Ints  # (2,) filled rows and events


# moment, memory: z [1], h [1], v_1..v_3 [V], d of the wells [1], charge lost to standing draw and
# gassing and moved by the balancer so far [C]
SOC, BRANCH, PAIR, WELL, LEAKED, MOVED = 0, 1, 2, 5, 6, 7
# moment, what follows from it: U + M h - sum v [V], R0 [ohm], dU/dz - I dR0/dz [V], the available
# well's head [1], U [V], standing draw and gassing [A], balancing current [A]
CELL_EMF, CELL_OHM, CELL_SLOPE, LEVEL, OPEN, LEAK, BALANCE = 8, 9, 10, 11, 12, 13, 14
# moment of the trial step: the last two as expected at its end [A]
AIM_LEAK, AIM_BALANCE = 15, 16
CELL_COLUMNS = 17
# extreme: of any cell of a battery so far, z [1] and terminal voltage [V]
LOWEST_SOC, HIGHEST_SOC, LOWEST_V, HIGHEST_V = range(4)
# now: sum of cell emf [V], resistance up to the terminals [ohm], current [A] (of a charger: what
# it gives), temperature [K], losses [W], R(T) / R(25 degC) [1], usable part of the charge [1],
# voltage lost in the body diode, >= 0 [V]
EMF, OHM, CURRENT, KELVIN, HEAT, FACTOR, USABLE, DIODE = range(8)
NOW_COLUMNS = 8
# now[n]: voltage at the take-off [V], bank current [A], voltage at the loads [V], its time [s]
BUS, TOTAL, AT_LOADS, TIME = range(4)
# ledger of a battery: from the cells' chemistry, lost in R0 and inside, in pairs and hysteresis,
# to efficiency, to standing draw and gassing, to the balancer, in the diode, in the lead, then out
# of and into the terminals
CHEMICAL, OHMIC, POLAR, COULOMBIC, LOST, BALANCED, IN_DIODE, IN_LEAD, GIVEN, TAKEN = range(10)
# ledger[:, n]: lost in rails and main, taken by the loads, given by loads of negative amount,
# given by the chargers, then from and to the bank where loads and chargers meet
IN_RAILS, TO_LOADS, FROM_LOADS, FROM_CHARGERS, FROM_BANK, TO_BANK = range(6)
LEDGER_COLUMNS = 10

# blocked directions
CHARGE_BLOCKED, DISCHARGE_BLOCKED, BOTH_BLOCKED = 1, 2, 3
NO_BALANCER, BLEED, TRANSFER = range(3)

# what a rule does, watches, and waits for; and its phase
BLOCK, SHED, HEATS, ENDS_STAGE = range(4)
LOWEST_CELL, HIGHEST_CELL, BATTERY_VOLTAGE, DISCHARGE_CURRENT, CHARGE_CURRENT, TEMPERATURE = range(
    6
)
LOAD_VOLTAGE, TAIL_CURRENT = 6, 7
NOTHING, CHARGING, LOAD_REMOVED = range(3)
ARMED, PENDING, TRIPPED, RELEASING = range(4)

# what an event is, and which row of the trace (floats: they are stored among floats)
TRIP, COLLAPSE, REFUSED, RELEASE, STAYS_OUT, FREED = 0.0, 1.0, 2.0, 3.0, 4.0, 5.0
NEXT_STAGE, STUCK = 6.0, 7.0
GRID, BEFORE, AFTER, END = 0.0, 1.0, 2.0, 3.0
FIXED = 5  # columns of a row before the batteries: time, kind, bus voltage, current, load voltage
PER_BATTERY = 5  # current, voltage, state of charge, temperature, blocked directions
EVENT_FIXED = 6  # columns of an event: time, what, subject, cell, value, bus voltage
# After so many fruitless returns in a row a battery stays blocked. [1]
MOST_FRUITLESS = 100
WHOLE_BANK = -1.0  # in place of a rule's number

# what a solve of the network, or a march, answers
OK = 0
NOBODY = 1  # the loads want current and no battery is connected
SHORTFALL = 2  # the loads ask for more power than the bank can give
NO_TAKER = 3  # charge is offered and no battery may take it
EMPTY = 4  # march ended: no battery can discharge any more
DURATION = 5  # march ended: the time is over
PAUSED = 6  # march stopped for the caller: step budget used or log full; call again
FAILED = 7  # the network did not settle: a bug

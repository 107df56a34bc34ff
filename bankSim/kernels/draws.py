"""The one entry into the compiled march: one bank some steps further, or many draws to their end.

One entry, because whatever Python may call is compiled whole: two of them would double the wait.
"""

import math

from bankSim.kernels.arrays import BLOCK, DISCHARGE_BLOCKED, EVENT_FIXED, FAILED, PAUSED, TRIP
from bankSim.kernels.jit import inner, kernel
from bankSim.kernels.march import march

# columns of a battery's first cut-out: time [s], number of the rule, cell (-1 for none), voltage
# of the battery and of the bus [V], place among the first cut-outs, from 0
CUT_TIME, CUT_RULE, CUT_CELL, CUT_BATTERY_V, CUT_BUS_V, CUT_PLACE = range(6)
CUT_COLUMNS = 6


@kernel
def march_draws(bank, run, budget, pool, fresh, spots, values, watched, found, cuts, first, end):
    """March draws `first` to `end` of a study, each from a fresh start to its end.

    Without any (first = end) march the bank as it stands, at most `budget` steps.

    Parameters
    ----------
    bank : Bank
    run : Run
        Without a trace for draws. Both bundles are views into `pool` then.
    budget : int
        Most trial steps of one call of `march`.
    pool : array (s,)
        All numbers of both bundles; out: those at the end of the last draw.
        In the units of `kernels.arrays`.
    fresh : array (f,)
        The numbers that every draw starts from; f <= s, the rest needs none.
        In the units of the pool.
    spots : array of int (j,)
        Places in the pool where draws differ.
    values : array (d, j)
        What each draw has there. In the units of the pool.
    watched : array of int (w,)
        Places in the pool to be read when a draw has ended.
    found : array (d, 1 + w)
        Out: how each draw ended, and what was read. In the units of the pool.
    cuts : array (d, n, 6)
        Out: every battery's first cut-out, columns above; NaN where there is none. [s, V, counts]
    first, end : int
        Rows of `values`, `found` and `cuts`.

    Returns
    -------
    status : int
        Of the single march, else of the last draw.
    """
    status = PAUSED
    if first == end:
        status = march(bank, run, budget)
    for draw in range(first, end):
        for i in range(fresh.size):
            pool[i] = fresh[i]
        for j in range(spots.size):
            pool[spots[j]] = values[draw, j]
        cuts[draw, :, :] = math.nan
        seen = 0.0
        status = PAUSED
        while status == PAUSED:
            status = march(bank, run, budget)
            seen = note_cuts(bank, run, cuts[draw], seen)
            run.used[0], run.used[1] = 0, 0
        found[draw, 0] = status
        for j in range(watched.size):
            found[draw, 1 + j] = pool[watched[j]]
        if status == FAILED:
            return status
    return status


@inner
def note_cuts(bank, run, cuts, seen):
    """Write the first cut-out of every battery that the log holds; return how many there are."""
    n = bank.battery.size
    for i in range(run.used[1]):
        entry = run.events[i]
        if entry[1] != TRIP:
            continue
        rule = int(entry[2])
        one = bank.rule[rule]
        k = one.subject
        blocks = one.act == BLOCK and one.blocks & DISCHARGE_BLOCKED != 0
        if blocks and math.isnan(cuts[k, CUT_TIME]):
            cuts[k, CUT_TIME], cuts[k, CUT_RULE], cuts[k, CUT_CELL] = entry[0], entry[2], entry[3]
            cuts[k, CUT_BATTERY_V] = entry[EVENT_FIXED + 2 * n + k]
            cuts[k, CUT_BUS_V] = entry[5]
            cuts[k, CUT_PLACE] = seen
            seen += 1.0
    return seen

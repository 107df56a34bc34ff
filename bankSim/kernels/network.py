"""The wiring, loads and chargers solved together: which battery carries which current."""

from bankSim.kernels.arrays import (
    AT_LOADS,
    BOTH_BLOCKED,
    BUS,
    CURRENT,
    FAILED,
    FAR,
    LINK,
    MAIN,
    NOBODY,
    OK,
    SHORTFALL,
    TOTAL,
)
from bankSim.kernels.diodes import connect, offered, spread, wake
from bankSim.kernels.jit import inner
from bankSim.kernels.ladder import reduce_row
from bankSim.kernels.loads import asks_anything, feed
from bankSim.kernels.search import search
from bankSim.kernels.supply import supply

# Stands for the batteries when none is connected. [ohm]
ISOLATED_OHM = 1e9
# A voltage at the loads that only charge which nobody takes can drive there. [V]
ABSURD_V = 1e4


@inner
def share(
    batteries,
    setting,
    exponent,
    chargers,
    stages,
    source,
    tally,
    level,
    ladder,
    active,
    series,
    now,
):
    """Split what loads and chargers ask for between the batteries: (diag(R) + Z) I = E - V.

    A battery with one direction blocked carries the other one only, through a body diode with a
    constant drop; which of these carry current is a linear complementarity problem. It is solved
    by exchanging the first one that breaks its condition (least-index rule; Murty, Opsearch 11
    (1974), from memory), starting from the last answer.

    Parameters
    ----------
    batteries, setting, exponent, chargers, stages : arrays
        Of the bank; of batteries only drop.
    source, tally, level : arrays
        Of the run; tally.on is the first guess and the answer.
    ladder, active : arrays
        Room to calculate in.
    series : array (n,)
        Resistance of each branch up to the end of its lead. [ohm]
    now : array (n + 1 + c, 8)
        In: EMF [V], and TIME of the bank [s]; out: CURRENT [A] of batteries and chargers, and of
        the bank BUS [V], TOTAL [A], AT_LOADS [V].

    Returns
    -------
    status : int
        OK; NOBODY; SHORTFALL; NO_TAKER; FAILED. On anything but OK all currents are 0.

    Source
    ------
    docs/theory.md, eq. 11.2.
    """
    size, link, far = tally.size, setting[LINK], setting[FAR]
    for k in range(size):
        if tally[k].mode == 0:
            tally[k].on = 1
        elif tally[k].mode == BOTH_BLOCKED:
            tally[k].on = 0
    status = FAILED
    for _ in range(8 * size + 64):
        count = connect(batteries, tally, series, ladder, active, now)
        emf, inner = 0.0, ISOLATED_OHM
        if count > 0:
            emf, inner = reduce_row(ladder, active, count, size, link, far)
        outer = inner + setting[MAIN]
        if chargers.size > 0:
            status, at_loads, total = supply(
                chargers, stages, source, level, exponent, now, emf, outer, count
            )
        else:
            status, at_loads, total = feed(emf, outer, level, exponent)
        if status == SHORTFALL and not asks_anything(level):
            status, at_loads, total = OK, emf, 0.0  # at rest even a voltage below 0 will do
        if count == 0:
            total = 0.0
            if status == OK and at_loads > ABSURD_V:
                status = offered(batteries, tally, level, exponent, now)
                if status == OK:
                    status = FAILED
                    continue
        if status == SHORTFALL and wake(batteries, tally, now):
            status = FAILED
            continue
        if status != OK:
            if status == SHORTFALL and count == 0:
                status = NOBODY
            break
        if spread(batteries, setting, tally, ladder, active, now, count, total, at_loads):
            return OK
        status = FAILED
    if status == FAILED:
        for k in range(size):
            tally[k].ohm_out, tally[k].ohm_into = series[k], series[k]
        status = search(
            batteries,
            setting,
            exponent,
            chargers,
            stages,
            source,
            tally,
            level,
            ladder,
            active,
            series,
            now,
        )
        if status == OK:
            return OK
    now[:, CURRENT] = 0.0
    now[size, BUS], now[size, TOTAL], now[size, AT_LOADS] = 0.0, 0.0, 0.0
    return status

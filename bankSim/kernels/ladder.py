"""A row of batteries between two rails, reduced to one source and split again.

Solved to round-off in a time that grows with the number of batteries only.
"""

from bankSim.kernels.arrays import BUS, CURRENT, TOTAL
from bankSim.kernels.jit import inner, pasted

# columns of the ladder: free part and load part of the segment current J, elimination factor,
# then resistance and source voltage of the connected batteries in row order
FREE, LOADED, FACTOR, BRANCH_OHM, BRANCH_EMF = range(5)


@inner
def reduce_row(ladder, active, count, positions, link, far):
    """Reduce a row of sources to one source: V = E - R T at the take-off.

    J_a is the current in the plus rail between connected batteries a and a + 1, towards the plus
    take-off at position 0; I_a = J_{a-1} - J_a with J_{-1} = T. Kirchhoff's voltage law around
    neighbours, m positions apart,

    (R_a + R_{a+1} + 2 r m) J_a - R_a J_{a-1} - R_{a+1} J_{a+1} = E_{a+1} - E_a + far r m T,

    is tridiagonal and solved for J = free + loaded T. This form holds for r = 0 as well, which is
    one common pair of bars. far = 1 takes minus off at the other end of the row.

    Parameters
    ----------
    ladder : array (n, 5)
        Columns BRANCH_OHM [ohm] and BRANCH_EMF [V] given for the first `count` rows; FREE [A],
        LOADED [1] and FACTOR [1] are written.
    active : array of int (n,)
        Positions 0 .. positions - 1 of the connected batteries, rising.
    count : int
        How many are connected, >= 1.
    positions : int
        Length of the whole row.
    link : float
        r, one rail between neighbours. [ohm]
    far : float
        1 or 0. [1]

    Returns
    -------
    emf, resistance : float
        E [V] and R [ohm] seen at the take-off.

    Source
    ------
    Kirchhoff's laws; elimination for tridiagonal systems without pivoting, which is stable here
    because the diagonal dominates.
    Equations: docs/theory.md, eq. 10.1, 10.3, 10.4.
    """
    for a in range(count - 1):
        gap = link * (active[a + 1] - active[a])
        back, ahead = ladder[a, BRANCH_OHM], ladder[a + 1, BRANCH_OHM]
        pivot = back + ahead + 2.0 * gap
        free = ladder[a + 1, BRANCH_EMF] - ladder[a, BRANCH_EMF]
        loaded = far * gap
        if a == 0:
            loaded += back
        else:
            pivot -= back * ladder[a - 1, FACTOR]
            free += back * ladder[a - 1, FREE]
            loaded += back * ladder[a - 1, LOADED]
        ladder[a, FACTOR] = ahead / pivot
        ladder[a, FREE] = free / pivot
        ladder[a, LOADED] = loaded / pivot
    ladder[count - 1, FREE] = 0.0
    ladder[count - 1, LOADED] = 0.0
    for a in range(count - 3, -1, -1):
        ladder[a, FREE] += ladder[a, FACTOR] * ladder[a + 1, FREE]
        ladder[a, LOADED] += ladder[a, FACTOR] * ladder[a + 1, LOADED]
    emf = ladder[0, BRANCH_EMF] + ladder[0, BRANCH_OHM] * ladder[0, FREE]
    resistance = ladder[0, BRANCH_OHM] * (1.0 - ladder[0, LOADED])
    if far == 0.0:
        return emf, resistance + 2.0 * link * active[0]
    resistance += link * (active[0] + positions - 1 - active[count - 1])
    for a in range(count - 1):
        gap = link * (active[a + 1] - active[a])
        emf += gap * ladder[a, FREE]
        resistance += gap * (1.0 - ladder[a, LOADED])
    return emf, resistance


@pasted
def split_current(ladder, active, count, total, now):
    """Write each battery's current for the bank current `total`; unconnected ones get 0. [A]

    Source: docs/theory.md, eq. 10.2.
    """
    for k in range(active.size):
        now[k, CURRENT] = 0.0
    above = total
    for a in range(count):
        below = ladder[a, FREE] + ladder[a, LOADED] * total
        now[active[a], CURRENT] = above - below
        above = below


@inner
def rail_voltage(now, count, link, far, position):
    """Voltage between the rails of `count` batteries where the lead of one of them ends. [V]

    Source: docs/theory.md, eq. 10.2.
    """
    voltage, total = now[count, BUS], now[count, TOTAL]
    segment = total
    if far != 0.0:
        for s in range(count - 1):
            segment -= now[s, CURRENT]
            voltage += link * (total - segment)
    segment = total
    for s in range(position):
        segment -= now[s, CURRENT]
        voltage += link * (2.0 * segment - far * total)
    return voltage

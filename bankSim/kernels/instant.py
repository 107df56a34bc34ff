"""What flows at one instant: the network with every battery's resistance for its direction."""

from bankSim.kernels.arrays import AT_LOADS, BUS, CURRENT, EMF, NOBODY, OHM, OK, TOTAL
from bankSim.kernels.cell import look
from bankSim.kernels.jit import inner, pasted
from bankSim.kernels.losses import upkeep
from bankSim.kernels.network import share
from bankSim.kernels.search import TURN_A, search

# So often is a resistance read anew for the direction that the current turned to.
MOST_TURNS = 4


@pasted
def solved(status):
    """Tell whether a solve of the network gave voltages and currents to go on with."""
    return status == OK or status == NOBODY


@pasted
def split(bank, run, now, stiff):
    """Split the loads' current for the source voltages in `now`; returns a status.

    stiff = 1 adds the stiffness over the trial step to every branch, else 0.
    """
    for k in range(bank.battery.size):
        run.series[k] = now[k, OHM] + bank.battery[k].lead + stiff * run.tally[k].stiff
    return share(
        bank.battery,
        bank.setting,
        bank.exponent,
        bank.charger,
        bank.stage,
        run.source,
        run.tally,
        run.level,
        run.ladder,
        run.active,
        run.series,
        now,
    )


@inner
def solve(bank, run, moment, now):
    """Write the voltages and currents that belong to a memory; returns a status."""
    see(bank, run, moment, now, 0.0)
    status = split_both_ways(bank, run, moment, now, 0.0)
    upkeep(bank.battery, bank.cell, run.tally, run.ledger[1], moment, now)
    return status


@inner
def see(bank, run, moment, now, stiff):
    """Write source voltages and resistances, for the directions in which currents flow in `now`.

    stiff = 1: the voltages are those without current of a branch with the stiffness in it.
    """
    for k in range(run.tally.size):
        run.tally[k].into_now = 1 if now[k, CURRENT] < 0.0 else 0
    look(bank.battery, bank.cell, bank.pieces, run.hint, moment, now)
    for k in range(run.tally.size):
        now[k, EMF] += stiff * run.tally[k].stiff * run.tally[k].guess


@inner
def split_both_ways(bank, run, moment, now, stiff):
    """Split after `see`; a resistance that differs by direction is that of the answer.

    Returns the same status as `split`.

    It is first read for the direction of before, then for the one that comes of it. Where that
    runs in circles (beside a charger, a load that draws more the lower the voltage has several
    answers) the voltage at the loads is searched.

    Source: docs/theory.md, eq. 6.7.
    """
    status = split(bank, run, now, stiff)
    for _ in range(MOST_TURNS):
        if not has_turned(run.tally, now, status):
            return status
        see(bank, run, moment, now, stiff)
        status = split(bank, run, now, stiff)
    if has_turned(run.tally, now, status):
        status = search_both_ways(bank, run, moment, now, stiff)
    return status


@inner
def search_both_ways(bank, run, moment, now, stiff):
    """Solve the network for resistances of either direction by search; returns a status."""
    n = run.tally.size
    for into in range(2):
        for k in range(n):
            now[k, CURRENT] = 1.0 - 2.0 * into
        see(bank, run, moment, now, stiff)
        for k in range(n):
            ohm = now[k, OHM] + bank.battery[k].lead + stiff * run.tally[k].stiff
            if into == 0:
                run.series[k], run.tally[k].ohm_out = ohm, ohm
            run.tally[k].ohm_into = ohm
    status = search(
        bank.battery,
        bank.setting,
        bank.exponent,
        bank.charger,
        bank.stage,
        run.source,
        run.tally,
        run.level,
        run.ladder,
        run.active,
        run.series,
        now,
    )
    if status != OK:
        now[:, CURRENT] = 0.0
        now[n, BUS], now[n, TOTAL], now[n, AT_LOADS] = 0.0, 0.0, 0.0
    see(bank, run, moment, now, stiff)
    return status


@inner
def has_turned(tally, now, status):
    """Tell whether a current flows the other way than its resistance was read for.

    Where there is no answer, it must not be for want of all batteries taken as discharging.
    """
    for k in range(tally.size):
        into = now[k, CURRENT] < 0.0
        if abs(now[k, CURRENT]) > TURN_A and into != (tally[k].into_now == 1):
            return True
        if not solved(status) and tally[k].into_now == 1:
            return True
    return False

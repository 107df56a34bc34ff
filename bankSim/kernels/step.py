"""One trial step: predict, correct implicitly, judge the error."""

from bankSim.kernels.arrays import ABSOLUTE, CURRENT, EMF, NOBODY, OHM, OK, RELATIVE
from bankSim.kernels.cell import advance_cell, look, pair_weights, split_charge, stiffness
from bankSim.kernels.jit import inner, pasted
from bankSim.kernels.network import share

# A battery that carries less than this part of the largest current is judged by that. [1]
SMALL_PART = 0.05
PROBE_S = 1e-3


@pasted
def solved(status):
    """Tell whether a solve of the network gave voltages and currents to go on with."""
    return status == OK or status == NOBODY


@inner
def split(bank, run, now, stiff):
    """Split the loads' current for the source voltages in `now`; returns a status.

    stiff = 1 adds the stiffness over the trial step to every branch, else 0.
    """
    for k in range(bank.battery.size):
        run.series[k] = now[k, OHM] + bank.battery[k].lead + stiff * run.tally[k].stiff
    return share(bank, run.tally, run.level, run.ladder, run.active, run.series, now)


@inner
def solve(bank, run, moment, now):
    """Write the voltages and currents that belong to a memory; returns a status."""
    look(bank, run.hint, moment, now)
    return split(bank, run, now, 0.0)


@inner
def move(bank, run, dt, part, out):
    """Advance all cells from now by dt, currents running a part of the way to tally.goal."""
    for k in range(bank.battery.size):
        start = run.now[k, CURRENT]
        end = start + part * (run.tally[k].goal - start)
        leaves, enters = split_charge(start, end, dt)
        for i in range(bank.battery[k].first, bank.battery[k].end):
            advance_cell(
                bank.cell[i],
                bank.pair[i],
                run.weight[i],
                run.moment[i],
                start,
                end,
                leaves,
                enters,
                dt,
                out[i],
            )


@pasted
def find_slope(bank, run):
    """Write how fast the currents change now, by a probe of a millisecond. [A/s]"""
    for k in range(bank.battery.size):
        run.tally[k].goal = run.now[k, CURRENT]
    pair_weights(bank, PROBE_S, run.weight)
    move(bank, run, PROBE_S, 1.0, run.probe)
    status = solve(bank, run, run.probe, run.probe_now)
    for k in range(bank.battery.size):
        change = run.probe_now[k, CURRENT] - run.now[k, CURRENT] if status == OK else 0.0
        run.tally[k].slope = change / PROBE_S


@pasted
def attempt(bank, run, dt):
    """Try one step of length dt from `run.moment` into `run.trial`.

    1. Predict the end currents in a straight line from the last slope.
    2. Advance the cells with them; linearise each battery's voltage around that:
       E(I) = E* - S (I - I*), and solve the network for the end currents.
    3. Advance the cells with the straight current that ends there; solve the network once more.

    Returns
    -------
    status : int
        OK or what `share` answered.
    error : float
        Error of the charge per time over what is allowed; accept up to 1.
    """
    tally, trial, then = run.tally, run.trial, run.trial_now
    for k in range(tally.size):
        tally[k].guess = run.now[k, CURRENT] + tally[k].slope * dt
        tally[k].goal = tally[k].guess
        then[k, CURRENT] = tally[k].guess
    pair_weights(bank, dt, run.weight)
    move(bank, run, dt, 1.0, trial)
    look(bank, run.hint, trial, then)
    stiffness(bank, trial, run.weight, dt, tally)
    for k in range(tally.size):
        then[k, EMF] += tally[k].stiff * tally[k].guess
    status = split(bank, run, then, 1.0)
    if not solved(status):
        return status, 0.0
    for k in range(tally.size):
        tally[k].goal = then[k, CURRENT]
    move(bank, run, dt, 1.0, trial)
    status = solve(bank, run, trial, then)
    if not solved(status):
        return status, 0.0
    return OK, step_error(bank, run, dt)


@pasted
def step_error(bank, run, dt):
    """Return the largest error over tolerance among the batteries.

    The straight line misses the charge I'' dt^3 / 12 of a step, and the prediction misses the end
    current by I'' dt (dt + dt_last) / 2; so their ratio gives the error of the charge from the
    error of the prediction.
    """
    now, then = run.now, run.trial_now
    largest = 0.0
    for k in range(run.tally.size):
        largest = max(largest, abs(now[k, CURRENT]), abs(then[k, CURRENT]))
    ratio = dt / (6.0 * (dt + run.clock[0].last_step))
    worst = 0.0
    for k in range(run.tally.size):
        end = then[k, CURRENT]
        scale = max(abs(now[k, CURRENT]), abs(end), SMALL_PART * largest)
        allowed = bank.setting[RELATIVE] * scale + bank.setting[ABSOLUTE]
        missed = abs(end - run.tally[k].guess) * ratio + 0.5 * abs(end - run.tally[k].goal)
        worst = max(worst, missed / allowed)
    return worst

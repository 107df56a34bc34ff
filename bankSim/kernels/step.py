"""One trial step: predict, correct implicitly, judge the error."""

from bankSim.kernels.arrays import (
    ABSOLUTE,
    AIM_BALANCE,
    AIM_LEAK,
    BALANCE,
    CELL_SLOPE,
    CURRENT,
    EMF,
    FACTOR,
    HEAT,
    LEAK,
    LEVEL,
    NO_BALANCER,
    OK,
    RELATIVE,
    TIME,
)
from bankSim.kernels.balance import RAMP_V, balance
from bankSim.kernels.cell import (
    KEEP,
    advance_cell,
    advance_pairs,
    charge_lag,
    pair_weights,
    split_charge,
    stiffness,
)
from bankSim.kernels.instant import see, solve, solved, split_both_ways
from bankSim.kernels.jit import inner, pasted
from bankSim.kernels.losses import advance_temperature

# A battery that carries less than this part of the largest current is judged by that. [1]
SMALL_PART = 0.05
# Allowed error of a balancer's charge, as a part of what it can move. [1]
BALANCE_PART = 0.02
# Allowed error of what leaks in a step over the relative tolerance, as a part of the charge. [1]
LEAK_PART_PER_RELATIVE = 0.5
# Allowed error of what a charge meets over the relative tolerance: 4 uV at 2e-5. [V]
LAG_V_PER_RELATIVE = 0.2
MOST_LAG_V = 2e-4  # at the tolerance of studies 2 mV would end the tail of a charge too soon
# Allowed error of a temperature inside a step over the relative tolerance: 2 mK at 2e-5. [K]
KELVIN_PER_RELATIVE = 1e2
PROBE_S = 1e-3


@pasted
def move(bank, run, dt, part, out, out_now):
    """Advance everything from now by dt, a part of the way to what is aimed at for the step."""
    advance(
        bank.battery,
        bank.cell,
        bank.pair,
        bank.setting,
        run.tally,
        run.weight,
        run.moment,
        run.now,
        run.trial,
        run.trial_now,
        dt,
        part,
        out,
        out_now,
    )


@inner
def advance(
    batteries,
    cells,
    pairs,
    setting,
    tally,
    weights,
    moment,
    now,
    trial,
    trial_now,
    dt,
    part,
    out,
    out_now,
):
    """Same as `move`, with the arrays that it needs: a call with few arguments is much faster."""
    n = batteries.size
    time = now[n, TIME]
    out_now[n, TIME] = time + dt
    for k in range(n):
        start = now[k, CURRENT]
        end = start + part * (tally[k].goal - start)
        leaves, enters = split_charge(start, end, dt)
        factor = 0.5 * (now[k, FACTOR] + trial_now[k, FACTOR])
        for i in range(batteries[k].first, batteries[k].end):
            cell, pair, weight, before = cells[i], pairs[i], weights[i], moment[i]
            advance_cell(
                cell,
                pair,
                weight,
                before,
                trial[i],
                start,
                end,
                leaves,
                enters,
                dt,
                part,
                out[i],
            )
            advance_pairs(cell, pair, weight, factor, before, start, end, out[i])
    advance_temperature(batteries, setting, tally, now, out_now, dt, time)


@inner
def aim_at_start(moment, trial):
    """Expect the side currents of the start at the end of the step, too."""
    for i in range(moment.shape[0]):
        trial[i, AIM_LEAK] = moment[i, LEAK]
        trial[i, AIM_BALANCE] = moment[i, BALANCE]


@inner
def aim_at_end(cells, batteries, trial, then, dt):
    """Expect the side currents that were just found at the end of the trial step.

    A balancing current changes the voltage that it follows: its equation is linearised, so that a
    strong balancer needs no small steps.
    """
    for k in range(batteries.size):
        one = batteries[k]
        for i in range(one.first, one.end):
            trial[i, AIM_LEAK] = trial[i, LEAK]
        if one.balancing != NO_BALANCER:
            balance(batteries, trial, then, k)
            for i in range(one.first, one.end):
                change = trial[i, BALANCE] - trial[i, AIM_BALANCE]
                fall = dt * max(trial[i, CELL_SLOPE], 0.0) / cells[i].charge
                change /= 1.0 + one.balance_current / RAMP_V * fall
                trial[i, AIM_BALANCE] += change


@pasted
def find_slope(bank, run):
    """Write how fast the currents change now, by a probe of a millisecond. [A/s]"""
    for k in range(bank.battery.size):
        run.tally[k].goal = run.now[k, CURRENT]
        run.probe_now[k, CURRENT] = run.now[k, CURRENT]
        run.trial_now[k, FACTOR] = run.now[k, FACTOR]
    pair_weights(bank, run.tally, PROBE_S, run.weight)
    aim_at_start(run.moment, run.trial)
    move(bank, run, PROBE_S, 1.0, run.probe, run.probe_now)
    status = solve(bank, run, run.probe, run.probe_now)
    for k in range(bank.battery.size):
        change = run.probe_now[k, CURRENT] - run.now[k, CURRENT] if status == OK else 0.0
        run.tally[k].slope = change / PROBE_S


@inner
def solve_ahead(bank, run, moment, now, dt):
    """Solve for currents dt ahead, each voltage straight around the guess; returns a status.

    Source: docs/theory.md, eq. 16.2.
    """
    see(bank, run, moment, now, 0.0)
    stiffness(bank, moment, now, run.weight, dt, run.tally)
    for k in range(run.tally.size):
        now[k, EMF] += run.tally[k].stiff * run.tally[k].guess
    return split_both_ways(bank, run, moment, now, 1.0)


@pasted
def attempt(bank, run, dt):
    """Try one step of length dt from `run.moment` into `run.trial`.

    1. Predict the end currents in a straight line from the last slope.
    2. Advance the cells with them; linearise each battery's voltage around that:
       E(I) = E* - S (I - I*), and solve the network for the end currents.
    3. Advance the cells with the straight current that ends there; solve the network once more.
    Where a charge meets far more than R0, what the straight line of 2 misses would move the current
    far: there 2 is done again around its answer.

    Returns
    -------
    status : int
        OK or what `share` answered.
    error : float
        Error of the charge per time over what is allowed; accept up to 1. [1]

    Source
    ------
    docs/theory.md, eq. 16.1, 16.2.
    """
    tally, trial, then = run.tally, run.trial, run.trial_now
    for k in range(tally.size):
        tally[k].guess = run.now[k, CURRENT] + tally[k].slope * dt
        tally[k].goal = tally[k].guess
        then[k, CURRENT] = tally[k].guess
        then[k, FACTOR] = run.now[k, FACTOR]
    pair_weights(bank, tally, dt, run.weight)
    aim_at_start(run.moment, trial)
    move(bank, run, dt, 1.0, trial, then)
    status = solve_ahead(bank, run, trial, then, dt)
    if not solved(status):
        return status, 0.0
    for k in range(tally.size):
        tally[k].goal = then[k, CURRENT]
    aim_at_end(bank.cell, bank.battery, trial, then, dt)
    move(bank, run, dt, 1.0, trial, then)
    if meets_charge(bank, run):
        for k in range(tally.size):
            tally[k].path, tally[k].guess = tally[k].guess, tally[k].goal
        status = solve_ahead(bank, run, trial, then, dt)
        for k in range(tally.size):
            tally[k].guess, tally[k].goal = tally[k].path, then[k, CURRENT]
        if not solved(status):
            return status, 0.0
        move(bank, run, dt, 1.0, trial, then)
    status = solve(bank, run, trial, then)
    if not solved(status):
        return status, 0.0
    return OK, step_error(bank, run, dt)


@inner
def meets_charge(bank, run):
    """Tell whether a battery is charged whose cells meet more on charge."""
    for k in range(run.tally.size):
        if min(run.now[k, CURRENT], run.trial_now[k, CURRENT]) < 0.0:
            cell = bank.cell[bank.battery[k].first]
            if cell.lag > 0.0 and cell.pairs > 0:
                return True
    return False


@inner
def lag_error(bank, run, battery, i):
    """Return the error over tolerance of taking what a charge meets as straight over a step. [1]

    It is how far its middle is from the mean of both ends, as far as the pair follows.

    Source: docs/theory.md, eq. 16.4.
    """
    cell, start, end = bank.cell[i], run.now[battery, CURRENT], run.trial_now[battery, CURRENT]
    if cell.lag == 0.0 or cell.pairs == 0 or (start >= 0.0 and end >= 0.0):
        return 0.0
    factor = run.trial_now[battery, FACTOR]
    first, last = run.moment[i, LEVEL], run.trial[i, LEVEL]
    middle = charge_lag(cell, factor, 0.5 * (first + last), 0.5 * (start + end))[0]
    ends = charge_lag(cell, factor, first, start)[0] + charge_lag(cell, factor, last, end)[0]
    missed = (1.0 - run.weight[i, 0, KEEP]) * abs(middle - 0.5 * ends)
    return missed / min(LAG_V_PER_RELATIVE * bank.setting[RELATIVE], MOST_LAG_V)


@pasted
def step_error(bank, run, dt):
    """Return the largest error over tolerance among the batteries. [1]

    The straight line misses the charge I'' dt^3 / 12 of a step, and the prediction misses the end
    current by I'' dt (dt + dt_last) / 2; so their ratio gives the error of the charge from the
    error of the prediction.

    Source: docs/theory.md, eq. 16.4.
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
        one = bank.battery[k]
        if one.heat_time > 0.0:
            missed = run.tally[k].ramp * abs(then[k, HEAT] - now[k, HEAT]) / one.heat_loss
            worst = max(worst, missed / (KELVIN_PER_RELATIVE * bank.setting[RELATIVE]))
        for i in range(one.first, one.end):
            worst = max(worst, lag_error(bank, run, k, i))
            missed = 0.5 * dt * abs(run.trial[i, LEAK] - run.trial[i, AIM_LEAK])
            allowed = LEAK_PART_PER_RELATIVE * bank.setting[RELATIVE] * bank.cell[i].charge
            worst = max(worst, missed / allowed)
        if one.balancing != NO_BALANCER:
            for i in range(one.first, one.end):
                missed = 0.5 * abs(run.trial[i, BALANCE] - run.trial[i, AIM_BALANCE])
                worst = max(worst, missed / (BALANCE_PART * one.balance_current))
    return worst

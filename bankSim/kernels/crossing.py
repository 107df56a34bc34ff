"""Where inside a step does a rule cross its limit first."""

from bankSim.kernels.arrays import CURRENT
from bankSim.kernels.cell import pair_weights
from bankSim.kernels.jit import inner, pasted
from bankSim.kernels.rules import TOUCH, asleep, phase_gap, within_reach
from bankSim.kernels.step import move, solve, solved

PARTS = 8
MOST_HALVINGS = 200
FINEST = 1e-13


@inner
def look_inside(bank, run, dt, part):
    """Write the instant at a part of the trial step into `run.probe`; returns a status.

    The current runs straight from the start to the corrected end of the step, as it did for the
    whole step; the network is solved again at that instant. tally.goal is left as it was.
    """
    end = run.trial_now
    for k in range(run.tally.size):
        run.tally[k].guess = run.tally[k].goal
        start = run.now[k, CURRENT]
        run.tally[k].goal = start + part * (run.tally[k].goal - start)
    pair_weights(bank, part * dt, run.weight)
    move(bank, run, part * dt, run.probe)
    for k in range(run.tally.size):
        run.probe_now[k, CURRENT] = end[k, CURRENT]
        run.tally[k].goal = run.tally[k].guess
    return solve(bank, run, run.probe, run.probe_now)


@inner
def gap_inside(bank, run, dt, part, rule):
    """Same as `phase_gap` at a part of the trial step; where the network fails, it is due."""
    if not solved(look_inside(bank, run, dt, part)):
        return -1.0
    return phase_gap(bank, run.alarm, run.probe, run.probe_now, rule)


@pasted
def close_in(bank, run, dt, rule, low, high, gap_low, gap_high):
    """Narrow a bracket around a change of phase; returns its crossed end, as a part of the step.

    Source: regula falsi in the Illinois form (Dowell & Jarratt, BIT 11 (1971) 168, from memory),
    bisection when that is slow.
    """
    side = 0
    for count in range(MOST_HALVINGS):
        if high - low <= FINEST or -TOUCH < gap_high <= 0.0:
            break
        part = (gap_low * high - gap_high * low) / (gap_low - gap_high)
        if count > 40 or not low < part < high:
            part = 0.5 * (low + high)
        found = gap_inside(bank, run, dt, part, rule)
        if found <= 0.0:
            high, gap_high = part, found
            gap_low *= 0.5 if side == 1 else 1.0
            side = 1
        else:
            low, gap_low = part, found
            gap_high *= 0.5 if side == -1 else 1.0
            side = -1
    return high


@pasted
def first_change(bank, run, dt):
    """Return the part of the trial step at which a rule changes phase first; 2 if none does.

    A rule whose limit lies within reach of the step is looked at inside the step as well, so that
    a crossing and its return are not missed.
    """
    first = 2.0
    for rule in range(bank.rule.size):
        if asleep(bank, run, rule):
            continue
        low, gap_low = 0.0, phase_gap(bank, run.alarm, run.moment, run.now, rule)
        high, gap_high = 1.0, phase_gap(bank, run.alarm, run.trial, run.trial_now, rule)
        if within_reach(bank, run, rule, min(abs(gap_low), abs(gap_high))):
            for i in range(1, PARTS):
                part = i / PARTS
                if part >= first:
                    break
                found = gap_inside(bank, run, dt, part, rule)
                if found <= 0.0:
                    high, gap_high = part, found
                    break
                low, gap_low = part, found
        if gap_high <= 0.0 and low < first:
            gap_low = max(gap_low, 0.5 * TOUCH)
            first = min(first, close_in(bank, run, dt, rule, low, high, gap_low, gap_high))
    return first

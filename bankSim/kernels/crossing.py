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
def anything_near(bank, run):
    """Tell whether a rule changes phase at the end of the trial step, or might do so inside it."""
    near = False
    for rule in range(bank.rule.size):
        if not asleep(bank, run, rule):
            start = run.alarm[rule].gap
            end = phase_gap(bank, run.alarm, run.trial, run.trial_now, rule)
            if end <= 0.0 or within_reach(bank, run, rule, min(start, end)):
                near = True
    return near


@inner
def count_crossed(bank, run, moment, now, keep):
    """Count the rules that have changed phase at an instant; keep = 1 notes the others' gaps."""
    crossed = 0
    for rule in range(bank.rule.size):
        if not asleep(bank, run, rule):
            found = phase_gap(bank, run.alarm, moment, now, rule)
            run.alarm[rule].gap_high = found
            if found <= 0.0:
                crossed += 1
            elif keep == 1:
                run.alarm[rule].gap = found
    return crossed


@pasted
def first_change(bank, run, dt):
    """Return the part of the trial step at which a rule changes phase first; 2 if none does.

    When a limit lies within reach of the step, all rules are looked at inside the step as well,
    so that a crossing and its return are not missed; the earliest crossing is then closed in on.
    """
    if not anything_near(bank, run):
        return 2.0
    low, high, crossed = 0.0, 1.0, 0
    for i in range(1, PARTS + 1):
        high = i / PARTS
        if i == PARTS:
            crossed = count_crossed(bank, run, run.trial, run.trial_now, 1)
        elif solved(look_inside(bank, run, dt, high)):
            crossed = count_crossed(bank, run, run.probe, run.probe_now, 1)
        if crossed > 0:
            break
        low = high
    if crossed == 0:
        return 2.0
    for rule in range(bank.rule.size):
        alarm = run.alarm[rule]
        if not asleep(bank, run, rule) and alarm.gap_high <= 0.0:
            gap_low = max(alarm.gap, 0.5 * TOUCH)
            high = close_in(bank, run, dt, rule, low, high, gap_low, alarm.gap_high)
            look_inside(bank, run, dt, high)
            count_crossed(bank, run, run.probe, run.probe_now, 0)
    return high

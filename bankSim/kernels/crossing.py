"""Where inside a step does a rule cross its limit first."""

from bankSim.kernels.arrays import CURRENT, OK
from bankSim.kernels.cell import pair_weights
from bankSim.kernels.instant import solve, solved
from bankSim.kernels.jit import inner, pasted
from bankSim.kernels.rules import TOUCH, distance_of, is_faint, note_reach, phase_gap, within_reach
from bankSim.kernels.step import meets_charge, move, solve_ahead

PARTS = 8
MOST_HALVINGS = 200
FINEST = 1e-13
MOST_CUTS = 40
GOLDEN = 0.3819660112501051


@inner
def look_inside(bank, run, dt, part):
    """Write the instant at a part of the trial step into `run.probe`; returns a status.

    The current runs straight from the start to the corrected end of the step, as it did for the
    whole step; the network is solved again at that instant. Where a charge meets far more than R0,
    a current a little off the straight line moves the voltage more than it can: there the part is
    corrected as a step of its own.

    Source: docs/theory.md, eq. 16.2.
    """
    pair_weights(bank, run.tally, part * dt, run.weight)
    move(bank, run, part * dt, part, run.probe, run.probe_now)
    for k in range(run.tally.size):
        run.probe_now[k, CURRENT] = run.trial_now[k, CURRENT]
        run.tally[k].path = run.tally[k].goal
    if meets_charge(bank, run):
        correct_inside(bank, run, dt, part)
    return solve(bank, run, run.probe, run.probe_now)


@inner
def correct_inside(bank, run, dt, part):
    """Move `run.probe` anew, straight to the currents that its own voltages ask for.

    Source: docs/theory.md, eq. 16.2.
    """
    tally, now, probe_now = run.tally, run.now, run.probe_now
    for k in range(tally.size):
        probe_now[k, CURRENT] = now[k, CURRENT] + part * (tally[k].goal - now[k, CURRENT])
        tally[k].guess = probe_now[k, CURRENT]
    if solve_ahead(bank, run, run.probe, probe_now, part * dt) != OK:
        return
    for k in range(tally.size):
        whole, start = tally[k].goal, now[k, CURRENT]
        tally[k].goal = start + (probe_now[k, CURRENT] - start) / part
        tally[k].path = whole
    move(bank, run, part * dt, part, run.probe, probe_now)
    for k in range(tally.size):
        tally[k].goal, tally[k].path = tally[k].path, tally[k].goal


@pasted
def gap_inside(bank, run, dt, part, rule):
    """Same as `phase_gap` at a part of the trial step; where the network fails, it is due.

    Unit: [V, A or K]
    """
    if not solved(look_inside(bank, run, dt, part)):
        return -1.0
    distance = distance_of(bank, run, run.probe, run.probe_now, rule)
    return phase_gap(distance, run.alarm[rule].phase)


@inner
def close_in(bank, run, dt, rule, low, high, gap_low, gap_high):
    """Narrow a bracket around a change of phase; returns its crossed end, as a part of the step.

    A pure number. [1]

    Source: regula falsi in the Illinois form (Dowell & Jarratt, BIT 11 (1971) 168, from memory),
    bisection when that is slow.

    Source: docs/theory.md, eq. 14.1.
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
def anything_near(bank, run, dt):
    """Mark the rules that change phase by the end of the trial step or might do so inside it."""
    note_reach(bank, run)
    near = False
    for rule in range(bank.rule.size):
        alarm = run.alarm[rule]
        alarm.near = 0
        if alarm.asleep == 0:
            end = distance_of(bank, run, run.trial, run.trial_now, rule)
            end = phase_gap(end, alarm.phase)
            run.gap[rule, PARTS] = end
            alarm.faint = 1 if is_faint(alarm, run.gap[rule, 0], end, dt) else 0
            if alarm.faint == 1:
                continue
            nearest = min(run.gap[rule, 0], end)
            if end <= 0.0 or within_reach(
                bank.rule, run.tally, run.now, run.trial_now, rule, alarm.phase, nearest
            ):
                alarm.near = 1
                near = True
    return near


@pasted
def sample(bank, run, dt):
    """Look at all rules that are near at even parts of the step; returns where to stop looking. [1]

    That is the number of the first sample at which a rule has changed phase, or PARTS.
    """
    for i in range(1, PARTS):
        seen = solved(look_inside(bank, run, dt, i / PARTS))
        crossed = False
        for rule in range(bank.rule.size):
            if run.alarm[rule].near == 1:
                run.gap[rule, i] = -1.0
                if seen:
                    distance = distance_of(bank, run, run.probe, run.probe_now, rule)
                    run.gap[rule, i] = phase_gap(distance, run.alarm[rule].phase)
                crossed = crossed or run.gap[rule, i] <= 0.0
        if crossed:
            return i
    return PARTS


@pasted
def first_change(bank, run, dt):
    """Return the part of the trial step at which a rule changes phase first; 2 if none does. [1]

    When a limit lies within reach of the step, the rules are looked at inside the step as well, so
    that a crossing and its return are not missed; the earliest crossing is then closed in on.

    Source: docs/theory.md, eq. 14.1.
    """
    if not anything_near(bank, run, dt):
        return 2.0
    last = sample(bank, run, dt)
    first = 2.0
    for rule in range(bank.rule.size):
        if run.alarm[rule].near == 0:
            continue
        low, high, gap_high = last - 1, last / PARTS, run.gap[rule, last]
        if gap_high > 0.0:
            low, high, gap_high = find_dip(bank, run, dt, rule, last)
        if gap_high > 0.0 or low / PARTS >= first:
            continue
        if first < high:
            high, gap_high = first, gap_inside(bank, run, dt, first, rule)
        if gap_high <= 0.0:
            gap_low = max(run.gap[rule, low], 0.5 * TOUCH)
            part = close_in(bank, run, dt, rule, low / PARTS, high, gap_low, gap_high)
            first = min(first, part)
    return first


@inner
def find_dip(bank, run, dt, rule, last):
    """Search the lowest gap of a rule between the samples around its lowest one.

    Golden-section search, ended as soon as the gap is 0 or less. A lowest sample at an end is
    searched only where the parabola through the three samples there turns before the end.

    Returns
    -------
    low : int
        Number of the sample before the dip.
    part, gap : float
        Where the gap was found lowest, and the gap there; 1 where nothing was searched.
        The part [1]; the gap [V, A or K].
    """
    gap, best = run.gap[rule], 0
    for i in range(1, last + 1):
        if gap[i] < gap[best]:
            best = i
    low, high = max(best - 1, 0), min(best + 1, last)
    if best == 0 or best == last:
        one, two, three = (0, 1, 2) if best == 0 else (last, last - 1, last - 2)
        if last < 2 or not 3.0 * gap[one] - 4.0 * gap[two] + gap[three] > 0.0:
            return low, 1.0, 1.0
    left, right = low / PARTS, high / PARTS
    inner_part = left + GOLDEN * (right - left)
    inner_gap = gap_inside(bank, run, dt, inner_part, rule)
    for _ in range(MOST_CUTS):
        if inner_gap <= 0.0 or right - left < 1e-6:
            break
        larger_right = right - inner_part > inner_part - left
        span = right - inner_part if larger_right else left - inner_part
        part = inner_part + GOLDEN * span
        found = gap_inside(bank, run, dt, part, rule)
        if found < inner_gap:
            left, right = (inner_part, right) if larger_right else (left, inner_part)
            inner_part, inner_gap = part, found
        elif larger_right:
            right = part
        else:
            left = part
    return low, inner_part, inner_gap

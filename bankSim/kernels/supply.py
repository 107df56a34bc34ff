"""What loads and chargers together ask of the bank."""

import math

from bankSim.kernels.arrays import CURRENT, HOLD, OK, SHORTFALL, TIME
from bankSim.kernels.jit import inner, pasted
from bankSim.kernels.loads import feed, load_current

LEAST_OHM = 1e-9


@inner
def supply(bank, run, now, emf, resistance, count):
    """Find the voltage at the loads with the bank reduced to one source, and the chargers.

    A charger gives its limit below the voltage it holds, nothing above, and at that voltage
    whatever is wanted. So the current at the loads' node falls in steps with the voltage, and the
    highest answer is found from the top: without chargers the voltage is V; if that is below the
    highest hold, that charger either brings it up to its hold or gives all it can, and so on.

    Parameters
    ----------
    bank : Bank
        Uses charger, stage and exponent.
    run : Run
        Uses level and source.
    now : array (n + 1 + c, 8)
        In: TIME of the bank [s]; out: CURRENT of the chargers. [A]
    emf, resistance : float
        Of the source. [V, ohm]
    count : int
        How many batteries it stands for; with 0 no current comes from it.

    Returns
    -------
    status : int
        OK or SHORTFALL.
    voltage, current : float
        At the loads [V]; from the bank, negative when it is charged [A].
    """
    n = bank.battery.size
    for j in range(bank.charger.size):
        now[n + 1 + j, CURRENT] = 0.0
    power, amperes = run.level[0], run.level[1]
    used_up = math.inf  # chargers that hold this or more give all they can
    while True:
        status, voltage, current = feed(emf, resistance, run.level, bank.exponent)
        hold = next_hold(bank, run, used_up)
        if hold == 0.0 or (status == OK and voltage >= hold):
            break
        wanted = load_current(hold, run.level, bank.exponent)[0]
        wanted -= (emf - hold) / max(resistance, LEAST_OHM)
        room = room_at(bank, run, now, hold, hold)
        if wanted <= room:
            status, voltage = OK, hold
            current = (emf - hold) / max(resistance, LEAST_OHM)
            part = max(wanted, 0.0) / room if room > 0.0 else 0.0
            give(bank, run, now, hold, used_up, hold, part)
            break
        used_up = hold
        take_limits(bank, run, now, hold)
    give(bank, run, now, used_up, math.inf, voltage, 1.0)
    run.level[0], run.level[1] = power, amperes
    if count > 0:
        return status, voltage, current
    if status == SHORTFALL and not asks_anything(bank, run):
        return OK, 0.0, 0.0
    return status, voltage, 0.0


@inner
def charger_on(run, charger):
    """Tell whether a charger works now: switched on, and not past its last stage."""
    return run.source[charger].on == 1 and run.source[charger].stage >= 0


@inner
def charger_hold(bank, run, charger):
    """Voltage that a working charger holds now. [V]"""
    return bank.stage[run.source[charger].stage, HOLD]


@inner
def charger_watts(bank, run, now, charger):
    """Limit of a charger that is limited by power at the time of `now`. [W]"""
    one = bank.charger[charger]
    if one.day == 0.0:
        return one.watts
    part = (now[bank.battery.size, TIME] - run.source[charger].begun) / one.day
    return one.watts * math.sin(math.pi * part) if 0.0 < part < 1.0 else 0.0


@inner
def next_hold(bank, run, below):
    """Return the highest voltage below `below` that a working charger holds, or 0. [V]"""
    best = 0.0
    for j in range(bank.charger.size):
        if charger_on(run, j):
            hold = charger_hold(bank, run, j)
            if best < hold < below:
                best = hold
    return best


@inner
def room_at(bank, run, now, hold, voltage):
    """Return the most that the chargers which hold `hold` can give at a voltage. [A]"""
    room = 0.0
    for j in range(bank.charger.size):
        if charger_on(run, j) and charger_hold(bank, run, j) == hold:
            room += bank.charger[j].amperes + charger_watts(bank, run, now, j) / voltage
    return room


@pasted
def take_limits(bank, run, now, hold):
    """Take the limits of the chargers that hold `hold` off the loads."""
    for j in range(bank.charger.size):
        if charger_on(run, j) and charger_hold(bank, run, j) == hold:
            run.level[0] -= charger_watts(bank, run, now, j)
            run.level[1] -= bank.charger[j].amperes


@inner
def give(bank, run, now, low, high, voltage, part):
    """Write what the chargers give that hold `low` or more and less than `high`. [A]"""
    for j in range(bank.charger.size):
        if charger_on(run, j) and voltage > 0.0:
            if low <= charger_hold(bank, run, j) < high:
                limit = bank.charger[j].amperes + charger_watts(bank, run, now, j) / voltage
                now[bank.battery.size + 1 + j, CURRENT] = part * limit


@pasted
def asks_anything(bank, run):
    """Tell whether the loads ask for anything at all."""
    for i in range(run.level.size):
        if run.level[i] != 0.0:
            return True
    return False

"""What loads and chargers together ask of the bank."""

import math

from bankSim.kernels.arrays import CURRENT, HOLD, OK, SHORTFALL, TIME
from bankSim.kernels.jit import inner, pasted
from bankSim.kernels.loads import feed, load_current

LEAST_OHM = 1e-9
# Chargers alone feed loads down to this part of the highest voltage that one of them holds. [1]
LEAST_FED = 0.2


@inner
def supply(chargers, stages, source, level, exponent, now, emf, resistance, count):
    """Find the voltage at the loads with the bank reduced to one source, and the chargers.

    A charger gives its limit below the voltage it holds, nothing above, and at that voltage
    whatever is wanted. So the current at the loads' node falls in steps with the voltage, and the
    highest answer is found from the top: without chargers the voltage is V; if that is below the
    highest hold, that charger either brings it up to its hold or gives all it can, and so on.
    Where neither a battery nor a load is there, it is the highest hold.

    Parameters
    ----------
    chargers, stages, source : arrays
        Of the bank and the run.
    level : array (3 + g,)
        The loads; left as it was. In the units of the loads, see `kernels.arrays`.
    exponent : array (g,)
    now : array (n + 1 + c, 8)
        In: TIME of the bank [s]; out: CURRENT of the chargers. [A]
    emf, resistance : float
        Of the source. [V, ohm]
    count : int
        How many batteries it stands for; from none no current comes.

    Returns
    -------
    status : int
        OK or SHORTFALL.
    voltage, current : float
        At the loads [V]; from the bank, negative when it is charged [A].

    Source
    ------
    docs/theory.md, eq. 13.1, 13.3, 13.4.
    """
    rows = now.shape[0] - chargers.size
    for j in range(chargers.size):
        now[rows + j, CURRENT] = 0.0
    power, amperes = level[0], level[1]
    used_up = math.inf  # chargers that hold this or more give all they can
    while True:
        status, voltage, current = feed(emf, resistance, level, exponent)
        if voltage > used_up:  # these loads need more the lower the voltage, and find no hold
            status, voltage, current = SHORTFALL, 0.0, 0.0
        hold = next_hold(stages, source, used_up)
        if hold == 0.0:
            break
        wanted = load_current(hold, level, exponent)[0]
        if count > 0:
            wanted -= (emf - hold) / max(resistance, LEAST_OHM)
        room = room_at(chargers, stages, source, now, hold, hold)
        idle = wanted == 0.0 and count == 0 and room > 0.0  # nothing but this charger is there
        if status == OK and wanted <= 0.0 and not idle:
            break
        if wanted <= room:
            status, voltage = OK, hold
            current = (emf - hold) / max(resistance, LEAST_OHM)
            part = wanted / room if room > 0.0 else 0.0
            give(chargers, stages, source, now, hold, used_up, hold, part)
            break
        used_up = hold
        take_limits(chargers, stages, source, level, now, hold)
    give(chargers, stages, source, now, used_up, math.inf, voltage, 1.0)
    level[0], level[1] = power, amperes
    if count == 0 and voltage < LEAST_FED * next_hold(stages, source, math.inf):
        return SHORTFALL, 0.0, 0.0
    return status, voltage, current


@inner
def charger_on(source, charger):
    """Tell whether a charger works now: switched on, and not past its last stage."""
    return source[charger].on == 1 and source[charger].stage >= 0


@inner
def charger_hold(stages, source, charger):
    """Voltage that a working charger holds now. [V]"""
    return stages[source[charger].stage, HOLD]


@inner
def charger_watts(chargers, source, now, charger):
    """Limit of a charger that is limited by power at the time of `now`. [W]

    Source: docs/theory.md, eq. 13.2.
    """
    one = chargers[charger]
    if one.day == 0.0:
        return one.watts
    bank_row = now.shape[0] - chargers.size - 1
    part = (now[bank_row, TIME] - source[charger].begun) / one.day
    return one.watts * math.sin(math.pi * part) if 0.0 < part < 1.0 else 0.0


@inner
def charger_limit(chargers, source, now, charger, voltage):
    """Limit of a charger at a voltage above 0 at the loads. [A]

    Source: docs/theory.md, eq. 13.2.
    """
    return chargers[charger].amperes + charger_watts(chargers, source, now, charger) / voltage


@inner
def next_hold(stages, source, below):
    """Return the highest voltage below `below` that a working charger holds, or 0. [V]"""
    best = 0.0
    for j in range(source.size):
        if charger_on(source, j):
            hold = charger_hold(stages, source, j)
            if best < hold < below:
                best = hold
    return best


@inner
def room_at(chargers, stages, source, now, hold, voltage):
    """Return the most that the chargers which hold `hold` can give at a voltage. [A]"""
    room = 0.0
    for j in range(chargers.size):
        if charger_on(source, j) and charger_hold(stages, source, j) == hold:
            room += charger_limit(chargers, source, now, j, voltage)
    return room


@pasted
def take_limits(chargers, stages, source, level, now, hold):
    """Take the limits of the chargers that hold `hold` off the loads."""
    for j in range(chargers.size):
        if charger_on(source, j) and charger_hold(stages, source, j) == hold:
            level[0] -= charger_watts(chargers, source, now, j)
            level[1] -= chargers[j].amperes


@inner
def give(chargers, stages, source, now, low, high, voltage, part):
    """Write what the chargers give that hold `low` or more and less than `high`. [A]"""
    for j in range(chargers.size):
        if charger_on(source, j) and voltage > 0.0:
            if low <= charger_hold(stages, source, j) < high:
                limit = charger_limit(chargers, source, now, j, voltage)
                now[now.shape[0] - chargers.size + j, CURRENT] = part * limit

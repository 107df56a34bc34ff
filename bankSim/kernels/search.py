"""Chargers beside a voltage at the loads that is found by search."""

from bankSim.kernels.arrays import (
    CURRENT,
    TOTAL,
)
from bankSim.kernels.jit import inner
from bankSim.kernels.loads import load_current
from bankSim.kernels.supply import charger_hold, charger_on, charger_watts, give, next_hold

SAME_V = 1e-9


@inner
def excess(chargers, stages, source, level, exponent, now, voltage, total):
    """More current given than asked at a voltage at the loads. [A]"""
    given = total - load_current(voltage, level, exponent)[0]
    for j in range(chargers.size):
        if charger_on(source, j) and charger_hold(stages, source, j) > voltage:
            given += chargers[j].amperes + charger_watts(chargers, source, now, j) / voltage
    return given


@inner
def hold_between(chargers, stages, source, level, exponent, now, size, voltage, above):
    """Let the chargers give what they give at the voltage found, between it and just above.

    Those that hold a higher voltage give their limit; those that hold this one share the rest.
    """
    for j in range(chargers.size):
        now[size + 1 + j, CURRENT] = 0.0
    give(chargers, stages, source, now, above, 1e300, voltage, 1.0)
    hold = next_hold(stages, source, above)
    if hold < voltage - SAME_V or hold == 0.0:
        return
    missing = load_current(voltage, level, exponent)[0] - now[size, TOTAL]
    room = 0.0
    for j in range(chargers.size):
        missing -= now[size + 1 + j, CURRENT]
        if charger_on(source, j) and charger_hold(stages, source, j) == hold:
            room += chargers[j].amperes + charger_watts(chargers, source, now, j) / voltage
    if room > 0.0:
        give(chargers, stages, source, now, hold, above, voltage, missing / room)

"""What the loads draw from a source behind a resistance."""

import math

from bankSim.kernels.arrays import OK, SHORTFALL
from bankSim.kernels.jit import inner

MOST_ITERATIONS = 100
LEAST_PART = 0.25  # of the voltage before: a longer step overshoots
LEAST_V = 1e-9


@inner
def load_current(voltage, level, exponent):
    """I(V) = P / V + I0 + G V + sum a V^(e - 1).

    Parameters
    ----------
    voltage : float
        V > 0. [V]
    level : array (3 + g,)
        P [W], I0 [A], G [1/ohm], then a [A V^(1-e)].
    exponent : array (g,)
        e. [1]

    Returns
    -------
    current, slope : float
        I [A] and dI/dV [1/ohm].

    Source
    ------
    docs/theory.md, eq. 12.2.
    """
    current = level[0] / voltage + level[1] + level[2] * voltage
    slope = -level[0] / voltage**2 + level[2]
    for i in range(exponent.size):
        part = level[3 + i] * voltage ** (exponent[i] - 1.0)
        current += part
        slope += part * (exponent[i] - 1.0) / voltage
    return current, slope


@inner
def feed(emf, resistance, level, exponent):
    """Find the voltage at the loads behind a source: V + R I(V) = E, the upper solution.

    With power, current and conductance alone this is a quadratic,
    (1 + R G) V^2 - (E - R I0) V + R P = 0; other exponents follow by Newton's method from there.

    Returns
    -------
    status : int
        OK, or SHORTFALL where no solution with V > 0 exists (for a power load alone:
        P > E^2 / (4 R)).
    voltage, current : float
        V [V] and I [A]; 0 on SHORTFALL.

    Source
    ------
    docs/theory.md, eq. 12.3, 12.4, 12.5.
    """
    a = 1.0 + resistance * level[2]
    b = emf - resistance * level[1]
    under_root = b * b - 4.0 * a * resistance * level[0]
    if under_root < 0.0:
        return SHORTFALL, 0.0, 0.0
    voltage = (b + math.sqrt(under_root)) / (2.0 * a)
    for _ in range(MOST_ITERATIONS if exponent.size > 0 else 0):
        if not voltage > 0.0:
            break
        current, slope = load_current(voltage, level, exponent)
        if not 1.0 + resistance * slope > 0.0:
            return SHORTFALL, 0.0, 0.0
        change = (emf - voltage - resistance * current) / (1.0 + resistance * slope)
        voltage = max(voltage + change, LEAST_PART * voltage)
        if abs(change) <= 4e-16 * voltage:
            break
    if not voltage > LEAST_V:
        return SHORTFALL, 0.0, 0.0
    return OK, voltage, load_current(voltage, level, exponent)[0]


@inner
def asks_anything(level):
    """Tell whether loads ask for anything at all."""
    for i in range(level.size):
        if level[i] != 0.0:
            return True
    return False

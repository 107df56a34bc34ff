"""Published open-circuit voltages of single electrodes against lithium, at 25 degC.

Graphite and lithium iron phosphate: Safari and Delacourt, J. Electrochem. Soc. 158 (2011) A562,
doi 10.1149/1.3567007. Graphite with silicon and NMC 811: Chen et al., J. Electrochem. Soc. 167
(2020) 080534.
"""

import numpy as np

from bankSim.model.curve import Floats


def graphite_voltage(x: Floats) -> Floats:
    """Return the voltage of graphite.

    Parameters
    ----------
    x : array
        Lithium in graphite, 0 < x < 1; the fit rises steeply as x nears 0. [1]

    Returns
    -------
    voltage : array, shape of `x`
        Against Li/Li+. [V]

    Source
    ------
    Safari and Delacourt (2011), Table I.
    Equations: docs/theory.md, eq. 3.2.
    """
    return np.asarray(
        0.6379
        + 0.5416 * np.exp(-305.5309 * x)
        + 0.044 * np.tanh(-(x - 0.1958) / 0.1088)
        - 0.1978 * np.tanh((x - 1.0571) / 0.0854)
        - 0.6875 * np.tanh((x + 0.0117) / 0.0529)
        - 0.0175 * np.tanh((x - 0.5692) / 0.0875)
    )


def iron_phosphate_voltage(y: Floats) -> Floats:
    """Return the voltage of lithium iron phosphate, mean of charge and discharge at C/100.

    Parameters
    ----------
    y : array
        Lithium in the phosphate, 0 < y <= 1. [1]

    Returns
    -------
    voltage : array, shape of `y`
        Against Li/Li+. [V]

    Source
    ------
    Safari and Delacourt (2011), Table I.
    Equations: docs/theory.md, eq. 3.3.
    """
    room = np.maximum(1.0 - y, 0.0)
    return np.asarray(
        3.4323
        - 0.8428 * np.exp(-80.2493 * room**1.3198)
        - 3.2474e-6 * np.exp(20.2645 * room**3.8003)
        + 3.2482e-6 * np.exp(20.2646 * room**3.7995)
    )


def silicon_graphite_voltage(x: Floats) -> Floats:
    """Return the voltage of graphite with some silicon oxide.

    Parameters
    ----------
    x : array
        Lithium in the electrode, 0 < x < 1. [1]

    Returns
    -------
    voltage : array, shape of `x`
        Against Li/Li+. [V]

    Source
    ------
    Chen et al. (2020).
    Equations: docs/theory.md, eq. 3.4.
    """
    return np.asarray(
        1.9793 * np.exp(-39.3631 * x)
        + 0.2482
        - 0.0909 * np.tanh(29.8538 * (x - 0.1234))
        - 0.04478 * np.tanh(14.9159 * (x - 0.2769))
        - 0.0205 * np.tanh(30.4444 * (x - 0.6103))
    )


def nmc811_voltage(y: Floats) -> Floats:
    """Return the voltage of lithium nickel manganese cobalt oxide, 8 : 1 : 1.

    Parameters
    ----------
    y : array
        Lithium in the oxide, about 0.2 to 1. [1]

    Returns
    -------
    voltage : array, shape of `y`
        Against Li/Li+. [V]

    Source
    ------
    Chen et al. (2020).
    Equations: docs/theory.md, eq. 3.5.
    """
    return np.asarray(
        -0.8090 * y
        + 4.4875
        - 0.0428 * np.tanh(18.5138 * (y - 0.5542))
        - 17.7326 * np.tanh(15.7890 * (y - 0.3117))
        + 17.5842 * np.tanh(15.9308 * (y - 0.3120))
    )

"""Published half-cell functions that the package does not use; y and x are lithium contents."""

import numpy as np


def iron_phosphate_afshar(y):
    """Lithium iron phosphate, Afshar, Morris and Khajepour, arXiv:1709.03970 (2017)."""
    return 3.4077 - 0.020269 * y + 0.5 * np.exp(-150 * y) - 0.9 * np.exp(-30 * (1 - y))


def graphite_chen(x):
    """Graphite-SiOx, Chen et al., J. Electrochem. Soc. 167 (2020) 080534."""
    return (
        1.9793 * np.exp(-39.3631 * x)
        + 0.2482
        - 0.0909 * np.tanh(29.8538 * (x - 0.1234))
        - 0.04478 * np.tanh(14.9159 * (x - 0.2769))
        - 0.0205 * np.tanh(30.4444 * (x - 0.6103))
    )


def nmc811_chen(y):
    """NMC811, Chen et al., J. Electrochem. Soc. 167 (2020) 080534."""
    return (
        -0.8090 * y
        + 4.4875
        - 0.0428 * np.tanh(18.5138 * (y - 0.5542))
        - 17.7326 * np.tanh(15.7890 * (y - 0.3117))
        + 17.5842 * np.tanh(15.9308 * (y - 0.3120))
    )

"""A published half-cell function that the package does not use; y is the lithium content."""

import numpy as np


def iron_phosphate_afshar(y):
    """Lithium iron phosphate, Afshar, Morris and Khajepour, arXiv:1709.03970 (2017)."""
    return 3.4077 - 0.020269 * y + 0.5 * np.exp(-150 * y) - 0.9 * np.exp(-30 * (1 - y))

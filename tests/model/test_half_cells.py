"""Spot values of the published half-cell fits, evaluated once in double precision to 1e-5 V."""

import numpy as np
import pytest
from other_half_cells import iron_phosphate_afshar

from bankSim.model import nmc
from bankSim.model.half_cells import (
    graphite_voltage,
    iron_phosphate_voltage,
    nmc811_voltage,
    silicon_graphite_voltage,
)
from bankSim.model.lfp import GRAPHITE_WINDOW, PHOSPHATE_WINDOW, published_rest_voltage

HALF_DIGIT = 0.6e-5  # the reference values are rounded to 5 decimals

SPOTS = {
    # Safari and Delacourt, J. Electrochem. Soc. 158 (2011) A562, Table I
    graphite_voltage: {
        0.01: 0.65272,
        0.10: 0.21665,
        0.25: 0.14548,
        0.50: 0.11606,
        0.70: 0.08829,
        0.80: 0.08592,
        0.90: 0.07698,
    },
    iron_phosphate_voltage: {
        0.02: 3.72724,
        0.05: 3.48976,
        0.10: 3.43604,
        0.50: 3.43230,
        0.80: 3.43224,
        0.90: 3.41423,
        0.95: 3.25151,
        0.99: 2.73115,
    },
    # Afshar, Morris and Khajepour, arXiv:1709.03970
    iron_phosphate_afshar: {
        0.005: 3.64378,
        0.02: 3.43219,
        0.10: 3.40567,
        0.50: 3.39757,
        0.80: 3.38925,
        0.90: 3.34465,
        0.95: 3.18763,
    },
    # Chen et al., J. Electrochem. Soc. 167 (2020) 080534
    silicon_graphite_voltage: {
        0.03: 1.01129,
        0.10: 0.40652,
        0.30: 0.16297,
        0.50: 0.13309,
        0.70: 0.09219,
        0.90: 0.09202,
    },
    nmc811_voltage: {0.27: 4.27296, 0.40: 4.10475, 0.50: 3.97196, 0.70: 3.73040, 0.90: 3.56820},
}

PERCENT = [0, 1, 2, 5, 10, 15, 20, 25, 30, 40, 50, 60, 70, 80, 90, 95, 98, 99, 100]
# Full cells over published windows. LFP: Schimpe et al., J. Electrochem. Soc. 165 (2018) A181;
# NMC811: Chen et al. (2020), x 0.0279 to 0.9014, y 0.9084 to 0.2661. Rounded to 0.1 mV.
COLUMN_A = [
    2.7081, 2.8409, 2.9253, 3.0893, 3.1987, 3.2332, 3.2518, 3.2684, 3.2835, 3.3022,
    3.3090, 3.3134, 3.3239, 3.3381, 3.3448, 3.3520, 3.3744, 3.3925, 3.4219,
]  # fmt: skip
COLUMN_B = [
    2.6324, 2.7681, 2.8563, 3.0316, 3.1523, 3.1912, 3.2118, 3.2296, 3.2456, 3.2661,
    3.2747, 3.2809, 3.2931, 3.3090, 3.3168, 3.3188, 3.3198, 3.3202, 3.3210,
]  # fmt: skip
COLUMN_NMC811 = [
    2.4977, 2.6953, 2.8374, 3.0728, 3.2577, 3.3961, 3.4493, 3.4942, 3.5483, 3.6343,
    3.7078, 3.8089, 3.9236, 4.0215, 4.0941, 4.1158, 4.1555, 4.1734, 4.1929,
]  # fmt: skip


@pytest.mark.parametrize("function", SPOTS, ids=lambda function: function.__name__)
def test_spot_values(function):
    content = np.array(list(SPOTS[function]))
    assert function(content) == pytest.approx(list(SPOTS[function].values()), abs=HALF_DIGIT)


def test_full_cell_a_is_what_the_package_uses():
    z = np.array(PERCENT) / 100.0
    assert published_rest_voltage(z) == pytest.approx(COLUMN_A, abs=0.6e-4)


def test_full_cell_b():
    z = np.array(PERCENT) / 100.0
    y = PHOSPHATE_WINDOW[0] + z * (PHOSPHATE_WINDOW[1] - PHOSPHATE_WINDOW[0])
    x = GRAPHITE_WINDOW[0] + z * (GRAPHITE_WINDOW[1] - GRAPHITE_WINDOW[0])
    assert iron_phosphate_afshar(y) - graphite_voltage(x) == pytest.approx(COLUMN_B, abs=0.6e-4)


def test_full_cell_nmc811_is_what_the_package_uses():
    z = np.array(PERCENT) / 100.0
    assert nmc.rest_voltage(z) == pytest.approx(COLUMN_NMC811, abs=0.6e-4)
    assert nmc.ocv_curve()(z) == pytest.approx(COLUMN_NMC811, abs=1.5e-4)

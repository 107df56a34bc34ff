"""Small formulas of the parts of a bank."""

import pytest

from bankSim.model.cell import arrhenius_factor
from bankSim.model.rule import Watch


@pytest.mark.parametrize(
    ("temperature_C", "ratio"),
    # 20 kJ/mol, R = 8.314462618 J/mol/K: worked out by hand to 3 digits
    [(-20.0, 4.20), (0.0, 2.09), (10.0, 1.53), (25.0, 1.0), (40.0, 0.679)],
)
def test_arrhenius(temperature_C, ratio):
    assert arrhenius_factor(20e3, temperature_C + 273.15) == pytest.approx(ratio, rel=3e-3)
    assert arrhenius_factor(0.0, temperature_C + 273.15) == 1.0


def test_units_of_watched_quantities():
    assert [watch.unit for watch in Watch] == ["V", "V", "V", "A", "A", "degC"]

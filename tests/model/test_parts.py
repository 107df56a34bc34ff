"""What the parts of a bank refuse when they are made, and their small formulas."""

import math

import pytest

from bankSim.errors import ParameterError
from bankSim.model.bank import Bank, Wiring
from bankSim.model.battery import Battery
from bankSim.model.cell import Cell, RelaxationPair, arrhenius_factor
from bankSim.model.curve import Curve
from bankSim.model.rule import Rule, Watch

FLAT = Curve.constant(3.3)
CELL = {"ocv_V": FLAT, "ohmic_ohm": Curve.constant(1e-3), "charge_C": 3600.0}
BATTERY = {"name": "x", "internal_ohm": 0.0, "lead_ohm": 0.0, "rules": (), "rated_C": 1.0}
BANK = {"batteries": (Battery(cells=(Cell(**CELL),), **BATTERY),), "wiring": Wiring(), "loads": ()}
PAIR = {"resistance_ohm": 1e-3, "time_constant_s": 1.0}
RULE = {"watches": Watch.TEMPERATURE, "below": True, "threshold": 1.0}


@pytest.mark.parametrize("value", [-1.0, math.nan, math.inf])
@pytest.mark.parametrize(
    ("kind", "sound", "field"),
    [
        (Cell, CELL, "charge_C"),
        (Cell, CELL, "state_of_charge"),
        (Cell, CELL, "hysteresis_V"),
        (Cell, CELL, "hysteresis_rate"),
        (Cell, CELL, "coulombic_efficiency"),
        (Cell, CELL, "standing_A"),
        (RelaxationPair, PAIR, "resistance_ohm"),
        (RelaxationPair, PAIR, "time_constant_s"),
        (Rule, RULE, "delay_s"),
        (Wiring, {}, "link_ohm"),
        (Wiring, {}, "main_ohm"),
        (Battery, {**BATTERY, "cells": (Cell(**CELL),)}, "internal_ohm"),
        (Battery, {**BATTERY, "cells": (Cell(**CELL),)}, "lead_ohm"),
        (Battery, {**BATTERY, "cells": (Cell(**CELL),)}, "rated_C"),
        (Bank, BANK, "temperature_K"),
        (Bank, BANK, "duration_s"),
        (Bank, BANK, "output_every_s"),
    ],
    ids=lambda item: item if isinstance(item, str) else None,
)
def test_values_out_of_range(kind, sound, field, value):
    kind(**sound)
    with pytest.raises(ParameterError, match=field):
        kind(**{**sound, field: value})


def test_counts_out_of_range():
    with pytest.raises(ParameterError, match="relaxation = 4"):
        Cell(**CELL, relaxation=(RelaxationPair(**PAIR),) * 4)
    with pytest.raises(ParameterError, match="cells = 0"):
        Battery(cells=(), **BATTERY)
    with pytest.raises(ParameterError, match="batteries = 0"):
        Bank(**{**BANK, "batteries": ()})
    with pytest.raises(ParameterError, match="threshold"):
        Rule(**{**RULE, "threshold": math.nan})


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

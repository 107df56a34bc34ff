"""Every column of the timeline is what the trace holds of it."""

import numpy as np
from made_results import Course, made
from simple_banks import affine, affine_cell, bank_of, battery

from bankSim.kernels.arrays import AFTER, BEFORE, END, GRID
from bankSim.model.charger import Charger, Stage
from bankSim.sim.timeline import timeline_columns, timeline_frame

TIMES_S, KINDS = [0.0, 60.0, 60.0, 90.0], [GRID, BEFORE, AFTER, END]


def result():
    chargers = [Charger(name, (Stage(14.4),), limit_A=10.0) for name in ("sun", "mains")]
    bank = bank_of(affine("one"), battery("two", *[affine_cell()] * 3), chargers=tuple(chargers))
    one = Course(A=[1, 2, 3, 4], V=[11, 12, 13, 14], z=0.25, K=273.15, mode=1)
    cells = [[3.1] * 4, [3.2] * 4, [3.3, 3.4, 3.5, 3.6]]
    two = Course(A=[-5, -6, -7, -8], V=39.0, z=0.75, K=298.15, mode=[0, 0, 2, 3], cells=cells)
    return made(
        bank, TIMES_S, one, two, kinds=KINDS, bus_V=[20, 21, 22, 23], loads_V=99.0,
        bank_A=[90, 91, 92, 93], charger_A=[5.0, [6, 7, 8, 9]],
    )  # fmt: skip


ALL = {
    "time_s": [0, 60, 60, 90],
    "bank.voltage_V": [20, 21, 22, 23],
    "bank.current_A": [90, 91, 92, 93],
    "one.current_A": [1, 2, 3, 4],
    "one.voltage_V": [11, 12, 13, 14],
    "one.state_of_charge": [0.25] * 4,
    "one.temperature_C": [0.0] * 4,
    "one.cell1_voltage_V": [11, 12, 13, 14],
    "two.current_A": [-5, -6, -7, -8],
    "two.voltage_V": [39.0] * 4,
    "two.state_of_charge": [0.75] * 4,
    "two.temperature_C": [25.0] * 4,
    "two.cell1_voltage_V": [3.1] * 4,
    "two.cell2_voltage_V": [3.2] * 4,
    "two.cell3_voltage_V": [3.3, 3.4, 3.5, 3.6],
    "one.blocked": [1] * 4,
    "two.blocked": [0, 0, 2, 3],
    "sun.current_A": [5.0] * 4,
    "mains.current_A": [6, 7, 8, 9],
}


def test_all_columns_with_the_rows_around_a_switching():
    columns = timeline_columns(result(), jumps=True)
    assert {name: list(map(float, one)) for name, one in columns.items()} == ALL
    assert list(columns) == list(ALL)


def test_the_even_rows_and_the_end():
    told = timeline_frame(result(), jumps=False)
    assert list(told.columns) == list(ALL)
    for name, all_rows in ALL.items():
        assert np.array_equal(told[name], [all_rows[0], all_rows[-1]])

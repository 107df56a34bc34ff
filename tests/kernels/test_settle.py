"""What is kept of every instant: extremes, peaks, the first sharing of a current."""

import numpy as np
import pytest
from bridge import bridge
from pytest import approx
from simple_banks import affine_cell, bank_of, battery, steady

from bankSim.kernels import arrays as k
from bankSim.kernels import log
from bankSim.model.charger import Charger, Stage
from bankSim.sim.pack import pack_bank, start_run

note_extremes = bridge(log.note_extremes)


def packed():
    """A battery of one cell, one of two, and two chargers."""
    batteries = battery("a", affine_cell()), battery("b", affine_cell(), affine_cell())
    chargers = tuple(Charger(name, (Stage(14.0),), limit_A=9.0) for name in "cd")
    bank = bank_of(*batteries, load=steady(5.0), chargers=chargers)
    kernel_bank = pack_bank(bank, relative=1e-4, absolute_A=1e-6, every_s=60.0, most_edges=0)
    return kernel_bank, start_run(bank, kernel_bank, rows=0)


def put(run, batteries_A, chargers_A, kelvin, levels, volts):
    """Write one instant; cells of 4 mohm whose voltage without current is `volts`."""
    run.now[:2, k.CURRENT], run.now[3:, k.CURRENT] = batteries_A, chargers_A
    run.now[2, k.TOTAL] = sum(batteries_A)
    run.now[:2, k.KELVIN] = kelvin
    run.moment[:, k.LEVEL], run.moment[:, k.CELL_EMF] = levels, volts
    run.moment[:, k.CELL_OHM] = 4e-3


@pytest.mark.parametrize("seed", range(8))
def test_the_extremes_of_a_course_are_those_that_numpy_finds(seed):
    rng = np.random.default_rng(seed)
    batteries_A = rng.uniform(-50.0, 50.0, (6, 2)) + np.array([25.0, -25.0])
    chargers_A, kelvin = rng.uniform(0.0, 9.0, (6, 2)), rng.uniform(270.0, 310.0, (6, 2))
    levels, volts = rng.uniform(0.0, 1.0, (6, 3)), rng.uniform(3.0, 3.6, (6, 3))
    bank, run = packed()
    for course in zip(batteries_A, chargers_A, kelvin, levels, volts, strict=True):
        put(run, *course)
        note_extremes(bank, run)
    tally, total_A = run.tally, batteries_A.sum(axis=1)
    assert run.clock[0]["bank_peak"] == approx(np.abs(total_A).max())
    assert run.source["peak"] == approx(chargers_A.max(axis=0))
    assert tally["peak_out"] == approx(np.maximum(batteries_A.max(axis=0), 0.0))
    assert tally["peak_into"] == approx(np.maximum(-batteries_A.min(axis=0), 0.0))
    assert tally["coldest"] == approx(kelvin.min(axis=0))
    assert tally["warmest"] == approx(kelvin.max(axis=0))
    assert tally["share"] == approx(batteries_A[0] / total_A[0])
    cells_V = volts - 4e-3 * batteries_A[:, [0, 1, 1]]
    for place, cells in ((0, [0]), (1, [1, 2])):
        z, seen_V = levels[:, cells], cells_V[:, cells]
        assert run.extreme[place] == approx([z.min(), z.max(), seen_V.min(), seen_V.max()])


def test_the_sharing_is_that_of_the_first_current_that_counts():
    # 1 A round between the batteries is no current of the bank; nor are the last digits of a sum
    bank, run = packed()
    course = [(1.0, -1.0), (1.0, 1e-12 - 1.0), (-3.0, -9.0), (5.0, 5.0)]
    for batteries_A in course:
        put(run, batteries_A, (0.0, 0.0), (298.15, 298.15), 0.5, 3.3)
        note_extremes(bank, run)
        if batteries_A[0] == 1.0:
            assert np.isnan(run.tally["share"]).all()
    assert run.tally["share"] == approx([0.25, 0.75])

"""Numbers poked into a packed bank are those of the drawn bank packed anew, for every field."""

import numpy as np
import pytest
from packed_banks import TOLERANCE, assert_same_bank, is_same_bank, packed, poked
from pytest import approx
from random_columns import random_columns
from random_hybrids import random_hybrid
from simple_banks import affine

from bankSim.model.bank import Bank, Wiring
from bankSim.model.load import Load, Schedule
from bankSim.sim.engine import Engine
from bankSim.study.drawn_bank import drawn_bank
from bankSim.study.fields import Field

DRAWS = 3
SEEDS = range(100, 125)
# these banks have links, chargers with tail currents, wells, heat between them
MIXED = (131, 132, 133, 134)


@pytest.mark.parametrize("seed", SEEDS)
def test_all_fields_together(seed):
    bank = random_hybrid(seed)
    columns = random_columns(bank, seed, DRAWS)
    for draw in range(DRAWS):
        assert_same_bank(poked(bank, columns, draw), packed(drawn_bank(bank, columns, draw)))


@pytest.mark.parametrize("field", list(Field), ids=lambda field: field.name)
def test_every_field_alone(field):
    moved = 0
    for seed in MIXED:
        bank = random_hybrid(seed)
        columns = random_columns(bank, seed, DRAWS, (field,))
        pool = poked(bank, columns, 1)
        assert_same_bank(pool, packed(drawn_bank(bank, columns, 1)))
        moved += not is_same_bank(pool, packed(bank))
    assert moved > 0, "no bank of this test has such numbers"


@pytest.mark.parametrize("seed", SEEDS)
def test_both_march_alike(seed):
    # rounding differs where a resistance is a curve times a scale, or a curve scaled before
    bank = random_hybrid(seed)
    columns = random_columns(bank, seed, 1)
    pool = poked(bank, columns)
    one = Engine(bank, TOLERANCE, keep_trace=False, prepared=(pool.bank, pool.run)).finish()
    other = Engine(drawn_bank(bank, columns, 0), TOLERANCE, keep_trace=False).finish()
    assert one.status == other.status
    assert one.run.tally["out"] == approx(other.run.tally["out"], rel=1e-6)
    assert one.run.tally["into"] == approx(other.run.tally["into"], rel=1e-6)
    assert len(one.events) == len(other.events)


# Two loads that take over from each other at the same power still need an edge between them.
def test_loads_that_take_turns():
    first = Load("first", 0.0, np.zeros(1), np.full(1, 60.0), Schedule(active_s=((0, 3600),)))
    second = Load("second", 0.0, np.zeros(1), np.full(1, 60.0), Schedule(active_s=((3600, 7200),)))
    bank = Bank((affine(),), Wiring(), (first, second), duration_s=7200.0)
    columns = {Field.LOAD: np.array([[1.1, 0.9]])}
    drawn = Engine(drawn_bank(bank, columns, 0), TOLERANCE, keep_trace=False).finish()
    pool = poked(bank, columns)
    found = Engine(bank, TOLERANCE, keep_trace=False, prepared=(pool.bank, pool.run)).finish()
    assert found.run.tally["out"] == approx(drawn.run.tally["out"], rel=1e-6)

"""What a bank has of every number that draws can move: by hand, in SI."""

from dataclasses import replace

import numpy as np
from simple_banks import affine_cell, bank_of, battery, steady

from bankSim.model.bank import Layout, Wiring
from bankSim.model.cell import RelaxationPair
from bankSim.model.charge_lag import ChargeLag
from bankSim.model.charger import Charger, Stage
from bankSim.model.rule import Release, Rule, Watch
from bankSim.model.upkeep import Thermal
from bankSim.study.fields import (
    Field,
    base_column,
    base_columns,
    cell_places,
    rule_places,
    stage_places,
)

FIRST = affine_cell(
    0.005, 100.0, 0.9, relaxation=(RelaxationPair(1e-3, 10.0), RelaxationPair(2e-3, 900.0)),
    charge_lag=ChargeLag(3e-3), hysteresis_V=0.01, standing_A=0.002,
)  # fmt: skip
SECOND = affine_cell(0.006, 80.0, 1.0, relaxation=(RelaxationPair(4e-3, 60.0),))
THIRD = affine_cell(0.007, 50.0, 0.5)
LOW = Rule(Watch.LOWEST_CELL, below=True, threshold=2.5, delay_s=2.0, release=Release(3.0, 30.0))
BARE = Rule(Watch.DISCHARGE_CURRENT, below=False, threshold=90.0, delay_s=1.0)
STAGES = (Stage(14.4, tail_A=4.0), Stage(13.6))
BANK = bank_of(
    battery("a", FIRST, SECOND, internal=1e-3, lead=2e-3, rules=[LOW, BARE], diode_drop_V=0.6),
    replace(battery("b", THIRD, rules=[BARE], lead=5e-3), thermal=Thermal(9000.0, 1.5)),
    load=steady(5.0), chargers=(Charger("sun", (Stage(14.2),), limit_A=5.0),
                                Charger("mains", STAGES, limit_A=20.0)),
    wiring=Wiring(Layout.SAME_END, 1e-4, 2e-4), temperature_K=290.0,
)  # fmt: skip
EXPECTED = {
    Field.CHARGE: [360e3, 288e3, 180e3],
    Field.SOC: [0.9, 1.0, 0.5],
    Field.OHMIC: [1.0, 1.0, 1.0],  # a factor
    Field.PAIR_OHM: [1e-3, 2e-3, 0, 4e-3, 0, 0, 0, 0, 0],  # room for three in each cell
    Field.PAIR_TIME: [10.0, 900.0, 0, 60.0, 0, 0, 0, 0, 0],
    Field.LAG: [3e-3, 0.0, 0.0],
    Field.HYSTERESIS: [0.01, 0.0, 0.0],
    Field.STANDING: [0.002, 0.0, 0.0],
    Field.INTERNAL: [1e-3, 0.0],
    Field.LEAD: [2e-3, 5e-3],
    Field.HEAT_CAPACITY: [0.0, 9000.0],
    Field.HEAT_LOSS: [0.0, 1.5],
    Field.THRESHOLD: [2.5, 90.0, 90.0],
    Field.DELAY: [2.0, 1.0, 1.0],
    Field.LET_GO: [3.0, 90.0, 90.0],  # without a way back its own limit
    Field.LET_GO_DELAY: [30.0, 0.0, 0.0],
    Field.LINK: [1e-4],
    Field.MAIN: [2e-4],
    Field.TEMPERATURE: [290.0],
    Field.LOAD: [1.0],
    Field.CHARGER: [1.0, 1.0],
    Field.HOLD: [14.2, 14.4, 13.6],
    Field.TAIL: [0.0, 4.0, 0.0],  # none
}


def test_what_a_bank_has_of_every_field():
    found = base_columns(BANK)
    assert set(found) == set(Field)
    for field, values in EXPECTED.items():
        assert found[field].tolist() == [values], field
        assert base_column(BANK, field).shape == (1, len(values))
    first = BANK.batteries[0]
    assert found[Field.DROP][0, 0] == 0.6
    assert found[Field.ACTIVATION][0, 0] == first.cells[0].activation_J_mol
    assert found[Field.AVAILABLE].tolist() == [[1.0, 1.0, 1.0]]
    assert np.isfinite(found[Field.WELL_RATE]).all()


def test_where_cells_rules_and_stages_stand_among_all():
    assert [list(cell_places(BANK, n)) for n in range(2)] == [[0, 1], [2]]
    assert [list(rule_places(BANK, n)) for n in range(2)] == [[0, 1], [2]]
    assert [list(stage_places(BANK, n)) for n in range(2)] == [[0], [1, 2]]

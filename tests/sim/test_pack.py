"""A bank as arrays: every number of the model stands in the field of its name, in SI."""

import math
from dataclasses import replace

import numpy as np
import pytest
from pytest import approx
from simple_banks import affine, affine_cell, bank_of, battery

from bankSim.kernels import arrays as k
from bankSim.model.bank import Layout, Wiring
from bankSim.model.cell import RelaxationPair
from bankSim.model.charge_lag import ChargeLag
from bankSim.model.charger import Charger, Stage, Sun
from bankSim.model.curve import Curve
from bankSim.model.load import CutOff, Load
from bankSim.model.rule import Blocks, Needs, Release, Rule, Watch
from bankSim.model.upkeep import Balancer, Balancing, Heater, Thermal
from bankSim.sim.pack import curve_grain, curve_pieces, pack_bank, start_run, stride_C

PART = Curve.linear([250.0, 300.0], [0.5, 1.0], hold_ends=True)
CELL = affine_cell(
    5e-3, 50.0, 0.9, relaxation=(RelaxationPair(2e-3, 30.0), RelaxationPair(4e-3, 500.0)),
    hysteresis_V=0.01, hysteresis_rate=90.0, coulombic_efficiency=0.97, standing_A=0.003,
    activation_J_mol=8.314462618 * 2000.0, available_fraction=0.4, well_rate_per_s=2e-4,
    gassing_A=7.0, usable_part=PART, charge_ohm_from=0.08,
    charge_lag=ChargeLag(6e-3, 0.05, 0.8, 0.1),
)  # fmt: skip
LATE = Rule(
    Watch.TEMPERATURE, False, 330.0, 4.0, Blocks.CHARGE, Release(320.0, 6.0, Needs.CHARGING)
)
BY_HAND = Rule(Watch.LOWEST_CELL, True, 2.5, 5.0, release=Release(3.0, 7.0, Needs.HAND))
FULL = battery(
    "full", CELL, rules=(LATE, BY_HAND), internal=1e-3, lead=2e-3, diode_drop_V=0.6,
    continuous_discharge_A=100.0, continuous_charge_A=40.0, thermal=Thermal(9000.0, 3.0),
    balancer=Balancer(Balancing.TRANSFER, 1.5, 3.3, 0.02), heater=Heater(30.0, 275.0, 283.0),
)  # fmt: skip
CHARGERS = (
    Charger("amps", (Stage(14.4, 2.0, 3600.0), Stage(13.6)), limit_A=30.0),
    Charger("sun", (Stage(14.2),), sun=Sun(400.0, 6 * 3600.0, 20 * 3600.0)),
    Charger("watts", (Stage(14.0, None, 60.0),), limit_W=250.0),
)
OWN = Load("own", 1.0, np.array([0.0]), np.array([3.0]), cut_off=CutOff(11.0, 2.0, 12.5))
GOOD = Load("good", 1.0, np.array([0.0]), np.array([3.0]), cut_off=CutOff(10.0))


def packed(**more):
    bank = replace(
        bank_of(affine("plain"), FULL, chargers=CHARGERS, duration_s=7200.0, **more),
        loads=(OWN, GOOD),
    )
    return bank, pack_bank(bank, relative=1e-5, absolute_A=1e-3, every_s=60.0, most_edges=100)


def named(record):
    return dict(zip(record.dtype.names, record.item(), strict=True))


def test_a_cell():
    row = named(packed()[1].cell[1])
    assert row["charge"] == 50.0 * 3600.0
    assert [row[name] for name in ("efficiency", "standing", "gassing")] == [0.97, 0.003, 7.0]
    assert (row["hysteresis"], row["rate"], row["bound"], row["pairs"]) == (0.01, 90.0, 0.6, 2)
    assert (row["charge_from"], row["ohm_scale"]) == (0.08, 1.0)
    # w / (w + 1 - y_s) = 0.05 / 0.25
    assert [row[name] for name in ("lag", "lag_near", "lag_away", "lag_bend")] == approx(
        [6e-3, 20.0, 0.2, 10.0]
    )
    plain = named(packed()[1].cell[0])
    assert [plain[name] for name in ("bound", "lag", "lag_near", "lag_away", "lag_bend")] == [0] * 5


def test_curves_are_where_the_cells_say():
    bank = packed()[1]
    for cell, ohm in zip(bank.cell, (5e-3, 5e-3), strict=True):
        own = bank.pieces[cell["ohm_first"] : cell["ohm_end"]]
        assert own.tolist() == [[0.0, ohm, 0.0, 0.0, 0.0, 0.0]]
        # 12.8 V + 0.6 V z: a straight end, the line, a straight end
        own = bank.pieces[cell["ocv_first"] : cell["ocv_end"]]
        assert own == approx(
            np.array([[0, 12.8, 0.6, 0, 0, 0.6]] * 2 + [[1, 13.4, 0.6, 0, 0, 0.6]])
        )
    # curves that hold the same numbers are stored once
    assert bank.cell["ocv_first"].tolist() == [0, 0]
    assert bank.pieces.shape == (3 + 1 + 3, 6)


def test_pairs_and_wells():
    pairs = packed()[1].pair
    assert pairs[0].tolist() == [[0.0, 0.0]] * 4
    assert pairs[1][:3].tolist() == [[2e-3, 30.0], [4e-3, 500.0], [0.0, 0.0]]
    # 1 / (c Q k') and 1 / k'
    assert pairs[1][k.WELL_SLOT] == approx([1.0 / (0.4 * 180_000.0 * 2e-4), 5000.0])
    shut = replace(FULL, cells=(replace(CELL, well_rate_per_s=0.0),))
    own = pack_bank(bank_of(shut), relative=1, absolute_A=1, every_s=1, most_edges=1).pair[0]
    assert own[k.WELL_SLOT, 1] >= 1e9


def test_a_battery():
    bank = packed()[1]
    row = named(bank.battery[1])
    assert (row["first"], row["end"]) == (1, 2)
    assert [row[n] for n in ("internal", "lead", "drop")] == [1e-3, 2e-3, 0.6]
    assert (row["rated"], row["limit_out"], row["limit_into"]) == (180_000.0, 100.0, 40.0)
    assert row["activation"] == approx(2000.0)
    assert (row["heat_time"], row["heat_loss"]) == (3000.0, 3.0)
    assert [row[n] for n in ("balance_current", "balance_above", "balance_within")] == [
        1.5, 3.3, 0.02,
    ]  # fmt: skip
    assert row["balancing"] == k.TRANSFER
    usable = bank.pieces[row["usable_first"] : row["usable_end"]]
    assert usable[:, :2] == approx(np.array([[250.0, 0.5], [250.0, 0.5], [300.0, 1.0]]))
    row = named(bank.battery[0])
    assert (row["first"], row["end"], row["balancing"]) == (0, 1, k.NO_BALANCER)
    assert (row["limit_out"], row["limit_into"]) == (math.inf, math.inf)
    assert row["usable_first"] == row["usable_end"]
    assert row["heat_time"] == 0.0
    bleeds = replace(FULL, balancer=Balancer(Balancing.BLEED, 0.1, 3.4, 0.01))
    own = pack_bank(bank_of(bleeds), relative=1, absolute_A=1, every_s=1, most_edges=1)
    assert own.battery[0]["balancing"] == k.BLEED


def test_rules_in_their_order():
    """Protection, loads' cut-offs, heaters, tails of stages: as they act."""
    rules = [named(one) for one in packed()[1].rule]
    names = [name for name in k.RULE.names if name not in ("power", "asks_charger")]
    assert [[one[name] for name in names] for one in rules] == [
        [k.BLOCK, 1, k.TEMPERATURE, -1, 330, 4, 1, 1, 320, 6, k.CHARGING],
        [k.BLOCK, 1, k.LOWEST_CELL, 1, 2.5, 5, 2, 0, 0, 0, k.NOTHING],  # by hand: not in a run
        [k.SHED, 0, k.LOAD_VOLTAGE, 1, 11, 2, 0, 1, 12.5, 0, k.NOTHING],
        [k.SHED, 1, k.LOAD_VOLTAGE, 1, 10, 0, 0, 0, 0, 0, k.NOTHING],
        [k.HEATS, 1, k.TEMPERATURE, 1, 275, 0, 0, 1, 283, 0, k.NOTHING],
        [k.ENDS_STAGE, 0, k.TAIL_CURRENT, -1, 0, 0, 0, 0, 0, 0, k.NOTHING],
    ]
    assert [(one["power"], one["asks_charger"]) for one in rules if one["act"] == k.HEATS] == [
        (30.0, 1)
    ]


def test_chargers_and_stages():
    bank = packed()[1]
    assert [one.item() for one in bank.charger] == [
        (30.0, 0.0, 0.0, 0, 2), (0.0, 400.0, 14 * 3600.0, 2, 3), (0.0, 250.0, 0.0, 3, 4),
    ]  # fmt: skip
    assert bank.stage.tolist() == [
        [14.4, 2.0, 3600.0], [13.6, -1.0, math.inf], [14.2, -1.0, math.inf], [14.0, -1.0, 60.0],
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("layout", "link", "far"),
    [
        (Layout.EQUAL_LEADS, 0.0, 0.0), (Layout.SAME_END, 1e-4, 0.0),
        (Layout.OPPOSITE_ENDS, 1e-4, 1.0),
    ],
)  # fmt: skip
def test_settings(layout, link, far):
    _, bank = packed(
        wiring=Wiring(layout, link_ohm=1e-4, main_ohm=3e-3), temperature_K=280.0, swing_K=6.0,
        warmest_s=15 * 3600.0, starts_at_s=8 * 3600.0, stop_when_empty=False,
    )  # fmt: skip
    one = bank.setting
    assert (one[k.LINK], one[k.FAR], one[k.MAIN]) == (link, far, 3e-3)
    assert (one[k.RELATIVE], one[k.ABSOLUTE], one[k.EVERY]) == (1e-5, 1e-3, 60.0)
    assert (one[k.STOP_EMPTY], one[k.TRACE_EDGES], one[k.GROUPS]) == (0.0, 1.0, 2.0)
    assert (one[k.MEAN_K], one[k.SWING_K], one[k.DAY_SHIFT]) == (280.0, 6.0, -7 * 3600.0)


def test_the_start():
    bank, arrays = packed(temperature_K=280.0, swing_K=6.0, starts_at_s=15 * 3600.0)
    run = start_run(bank, arrays, rows=0)
    assert run.now[:2, k.KELVIN].tolist() == [286.0, 286.0]  # the warmest hour
    assert run.moment[:, k.SOC].tolist() == [0.9, 0.9]
    assert np.count_nonzero(run.moment[:, k.BRANCH : k.LEAKED + 1]) == 0
    assert run.source["stage"].tolist() == [-1] * 3
    assert np.isnan(run.tally["share"]).all()
    assert (run.tally["coldest"] == math.inf).all()
    assert (run.tally["warmest"] == -math.inf).all()
    assert (run.clock[0]["segment"], run.clock[0]["fed_until"]) == (-1, math.inf)
    assert run.rows.size == 0


def test_the_steepest_slope_of_a_piece():
    # y = 3 s^2 - 2 s^3 on [0, 1]: slope 6 s - 6 s^2, 0 at both ends, 1.5 midway
    bump = Curve(np.array([0.0, 1.0]), np.array([[0.0, 0.0, 3.0, -2.0]]), 1.0, -0.25, 0.5)
    assert curve_pieces(bump)[:, 5] == approx([0.25, 1.5, 0.5])
    # s^3 - s from 0 to 2: slope 3 s^2 - 1, steepest at the end
    cube = Curve(np.array([0.0, 2.0]), np.array([[0.0, -1.0, 0.0, 1.0]]), 6.0, -1.0, 11.0)
    assert curve_pieces(cube)[1, 5] == approx(11.0)


@pytest.mark.parametrize(
    ("volts", "grain"),
    [
        ([3.0, 3.1, 3.2, 3.3], 0.02), ([3.0, 3.1, 3.05, 3.3], 0.005), ([3.0, 3.1, 3.1, 3.3], 0.02),
        ([3.0, 2.9, 3.2, 3.3], 0.005),
    ],
)  # fmt: skip
def test_a_step_does_not_jump_a_turn_of_a_curve(volts, grain):
    dip = Curve.linear([0.0, 0.5, 0.505, 1.0], volts)
    assert curve_grain(dip) == approx(grain)
    # of what is available of the smaller cell
    small, large = (replace(affine_cell(Ah=Ah), ocv_V=dip) for Ah in (50.0, 80.0))
    assert stride_C(battery("b", large, small)) == approx(grain * 180_000.0)
    wells = replace(small, available_fraction=0.4)
    assert stride_C(battery("b", large, wells)) == approx(0.4 * grain * 180_000.0)

"""Chances to values, values to numbers of a bank: by hand, on a few draws."""

from dataclasses import replace

import numpy as np
import pytest
from pytest import approx
from scipy.stats import norm
from simple_banks import affine, bank_of, battery, steady
from simple_banks import affine_cell as cell

from bankSim.model.bank import Wiring
from bankSim.model.spread import Shape, Spread
from bankSim.study.draws import columns_of, drawn_values
from bankSim.study.fields import Field
from bankSim.study.unknown import Effect, Kind, Op, Unknown

STANDARD = Spread(Shape.NORMAL, 0.0, 1.0)
TO_TEN = Spread(Shape.UNIFORM, 5.0, 0.0, 0.0, 10.0)  # its value is 10 x the chance
WIRING = Wiring(link_ohm=0.001, main_ohm=0.002)


def unknown(label, spread=STANDARD, *effects, subject="a", kind=Kind.CELL_CAPACITY, **more):
    return Unknown(label, kind, subject, "", "", spread, effects, "", **more)


def test_a_follower_is_a_mixture_of_its_leader_and_itself():
    # two normal numbers of correlation r: y = r x + sqrt(1 - r^2) e, here 1 x -0.6 + 0.8 x 0.5;
    # the leader is looked up by its label and may stand behind
    own = unknown("b", follows="a", correlation=-0.6), unknown("other"), unknown("a")
    chances = norm.cdf([[0.5, 0.3, 1.0], [-2.0, 0.3, -1.0]])
    expected = [[-0.2, 0.3, 1.0], [-1.0, 0.3, -1.0]]
    assert drawn_values(own, chances) == approx(np.array(expected), rel=1e-12)


@pytest.mark.parametrize(("sign", "end"), [(-1.0, 2.0**-53), (1.0, 1.0 - 2.0**-53)])
def test_a_follower_at_the_end_of_its_spread_stays_finite(sign, end):
    # 0.8 x 8.2 + 0.6 x 8.2 = 11.5 standard deviations: a chance of 0 or 1 to a float
    own = unknown("a"), unknown("b", follows="a", correlation=0.8)
    (found,) = drawn_values(own, np.array([[end, end]]))
    assert found[1] == approx(sign * 8.2095, rel=1e-3)  # ndtri(2^-53)


def test_the_weakest_of_the_cells_that_belong_together_keeps_what_the_battery_has():
    # cells of "a": 2 and 4 become 1 and 2; of "b": 9 and 3 become 3 and 1; resistances apart
    resistance = {"kind": Kind.CELL_RESISTANCE, "pinned": True}
    own = (
        unknown("a1", TO_TEN, pinned=True),
        unknown("b1", TO_TEN, subject="b", pinned=True),
        unknown("a2", TO_TEN, pinned=True),
        unknown("b2", TO_TEN, subject="b", pinned=True),
        unknown("a1 ohm", TO_TEN, **resistance),
        unknown("a2 ohm", TO_TEN, **resistance),
        unknown("free", TO_TEN),
    )
    chances = np.array([[0.2, 0.9, 0.4, 0.3, 0.5, 0.6, 0.1], [0.8, 0.5, 0.4, 0.5, 0.6, 0.3, 0.7]])
    expected = [[1.0, 3.0, 2.0, 1.0, 1.0, 1.2, 1.0], [2.0, 1.0, 1.0, 1.0, 2.0, 1.0, 7.0]]
    assert drawn_values(own, chances) == approx(np.array(expected))


def test_no_unknowns_no_values():
    assert drawn_values((), np.empty((3, 0))).shape == (3, 0)


def column(bank, effect, values, middle=5.0):
    """The numbers of one field after one unknown with one effect took these values."""
    one = unknown("x", replace(TO_TEN, value=middle), effect)
    return columns_of(bank, (one,), np.array(values)[:, None])[effect.field]


def test_a_factor_multiplies_its_own_places():
    bank = bank_of(battery("a", cell(Ah=100.0), cell(Ah=50.0)))
    found = column(bank, Effect(Field.CHARGE, (1,)), [1.1, 0.9])
    assert found == approx(np.array([[360e3, 198e3], [360e3, 162e3]]))


def test_a_value_is_set_in_its_unit_from_its_zero():
    # 40 degC are 313.15 K; 2 mohm 0.002 ohm
    bank = bank_of(affine("a", lead=0.004), affine("b", lead=0.005))
    warm = column(bank, Effect(Field.TEMPERATURE, (0,), Op.SET, 1.0, 273.15), [40.0, -10.0])
    assert warm == approx(np.array([[313.15], [263.15]]))
    lead = column(bank, Effect(Field.LEAD, (1,), Op.SET, 1e-3), [2.0])
    assert lead == approx(np.array([[0.004, 0.002]]))


def test_a_value_against_its_middle_scales_divides_or_shifts():
    # 3 of 2: half as much again; a resistance of 3 ohm for 2 ohm draws 2/3; 0.1 mohm for each unit
    bank = bank_of(affine("a", lead=0.004), load=steady(5.0), wiring=WIRING)
    lead = column(bank, Effect(Field.LEAD, (0,), Op.SCALE), [3.0, 2.0], middle=2.0)
    assert lead == approx(np.array([[0.006], [0.004]]))
    load = column(bank, Effect(Field.LOAD, (0,), Op.DIVIDE), [3.0, 2.0], middle=2.0)
    assert load == approx(np.array([[2.0 / 3.0], [1.0]]))
    main = column(bank, Effect(Field.MAIN, (0,), Op.SHIFT, 1e-4), [3.0, -1.0], middle=2.0)
    assert main == approx(np.array([[0.0021], [0.0017]]))


def test_several_unknowns_of_one_number_act_one_after_the_other():
    # 100 Ah x 1.1 of the battery x 0.9 of the cell; the other cell has the battery's factor alone
    bank = bank_of(battery("a", cell(), cell()))
    both = unknown("battery", TO_TEN, Effect(Field.CHARGE, (0, 1)))
    one = unknown("cell", TO_TEN, Effect(Field.CHARGE, (1,)))
    found = columns_of(bank, (both, one), np.array([[1.1, 0.9]]))
    assert set(found) == {Field.CHARGE}
    assert found[Field.CHARGE] == approx(np.array([[396e3, 356.4e3]]))


def test_states_of_charge_stay_between_empty_and_full():
    bank = bank_of(battery("a", cell(z=0.9), cell(z=0.4)))
    shift = Effect(Field.SOC, (0, 1), Op.SHIFT)
    found = column(bank, shift, [5.05, 5.2, 4.5])
    assert found == approx(np.array([[0.95, 0.45], [1.0, 0.6], [0.4, 0.0]]))


def test_the_part_at_hand_stays_above_nothing_and_is_the_whole_at_most():
    # model/cell.py: more than 0, 1 at most
    bank = bank_of(affine(available_fraction=0.5, well_rate_per_s=1e-4))
    found = column(bank, Effect(Field.AVAILABLE, (0,)), [-1.0, 0.8, 3.0])
    assert found[1:] == approx(np.array([[0.4], [1.0]]))
    assert 0.0 < found[0, 0] < 0.02

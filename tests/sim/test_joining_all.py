"""What limits a current between batteries, and how limits stand in sentences."""

from dataclasses import replace

import pytest
from pytest import approx
from simple_banks import affine, bank_of

from bankSim.sim.joining_all import rounded_down_V, safe_spreads, smallest_limit


def labelled(name="a", charge_A=None, discharge_A=None, fuse_A=None, assumed=()):
    return replace(
        affine(name), continuous_charge_A=charge_A, continuous_discharge_A=discharge_A,
        fuse_A=fuse_A, limits_assumed=assumed,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("given", "limit_A", "name"),
    [
        ({}, 50.0, 'the charge limit of "a" (no label: half its Ah per hour)'),
        ({"charge_A": 60.0}, 60.0, 'the charge limit of "a"'),
        (
            {"charge_A": 60.0, "assumed": ("continuous_charge_A",)}, 60.0,
            'the charge limit of "a" (assumed)',
        ),
        ({"discharge_A": 40.0}, 40.0, 'the discharge limit of "a"'),
        (
            {"discharge_A": 40.0, "assumed": ("continuous_discharge_A",)}, 40.0,
            'the discharge limit of "a" (assumed)',
        ),
        (
            {"charge_A": 60.0, "discharge_A": 40.0, "assumed": ("continuous_charge_A",)}, 40.0,
            'the discharge limit of "a"',
        ),
        ({"charge_A": 60.0, "discharge_A": 40.0, "fuse_A": 30.0}, 30.0, 'the fuse of "a"'),
        ({"discharge_A": 40.0, "fuse_A": 80.0}, 40.0, 'the discharge limit of "a"'),
    ],
)  # fmt: skip
def test_the_smallest_of_labels_and_fuse(given, limit_A, name):
    assert smallest_limit([labelled(**given)]) == (limit_A, name)


def test_the_smallest_of_several_batteries():
    two = [labelled("big", 100.0, 200.0, 150.0), labelled("small", 70.0, 65.0)]
    assert smallest_limit(two) == (65.0, 'the discharge limit of "small"')


def test_the_discharge_limit_bounds_the_spread_of_the_one_that_gives():
    # 20 A through 5 + 5 mohm
    spreads = safe_spreads(bank_of(labelled("a", 50.0, 20.0), labelled("b", 30.0, 90.0)))
    assert [one.limit_A for one in spreads] == [20.0, 30.0]
    assert [one.spread_V for one in spreads] == approx([0.2, 0.3])


def test_batteries_without_any_resistance_have_no_spread_but_a_sum():
    bare = [affine(name, 0.0) for name in "abc"]
    assert [one.spread_V for one in safe_spreads(bank_of(*bare))] == approx([0.0] * 3, abs=1e-9)


@pytest.mark.parametrize(
    ("value_V", "text"),
    [(0.1, "0.10"), (0.0999, "0.099"), (0.15, "0.15"), (0.159, "0.15"), (0.0009, "0.000"),
     (0.29, "0.29"), (2.0, "2.00")],
)  # fmt: skip
def test_a_limit_is_never_told_above_itself(value_V, text):
    assert rounded_down_V(value_V) == text
    assert float(text) <= value_V

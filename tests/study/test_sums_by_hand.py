"""The banks of which `study sums` takes the sum, and what it reads from them: by hand."""

from types import SimpleNamespace

import numpy as np
import pytest
from pytest import approx
from simple_banks import affine, bank_of, battery, steady
from simple_banks import affine_cell as cell

from bankSim.kernels import arrays as k
from bankSim.model.bank import Wiring
from bankSim.study import sums
from bankSim.study.sums import (
    _left,
    _mean_held,
    _out,
    _result,
    alone,
    with_thin_wiring,
    without_chargers,
)

WIRING = Wiring(link_ohm=0.001, main_ohm=0.002)


def two(**more):
    """Labels of 100 and 300 Ah on leads of 4 and 5 mohm, under 20 A."""
    small = battery("small", cell(Ah=100.0, z=1.0), cell(Ah=120.0, z=0.5), lead=0.004)
    return bank_of(small, affine("large", Ah=300.0, lead=0.005), load=steady(20.0), **more)


@pytest.mark.parametrize(("number", "amperes"), [(0, 5.0), (1, 15.0)])
def test_alone_a_battery_feeds_its_part_by_its_label(number, amperes):
    # 100 and 300 of 400 Ah: a quarter and three quarters of 20 A, behind a hundredth of its lead
    whole = two(wiring=WIRING)
    found = alone(whole, number)
    (own,) = found.batteries
    assert own.name == whole.batteries[number].name
    assert own.lead_ohm == approx((4e-5, 5e-5)[number])
    assert found.loads[0].profile_amount.tolist() == [amperes]
    assert (found.wiring.link_ohm, found.wiring.main_ohm) == (0.0, 0.0)
    assert own.cells == whole.batteries[number].cells
    assert whole.loads[0].profile_amount.tolist() == [20.0]  # the bank itself stays


def test_alone_with_equal_cells_each_holds_the_mean():
    # 100 Ah full and 120 Ah half full: 110 Ah, of which 80 Ah are there
    (own,) = alone(two(), 0, equal_cells=True).batteries
    assert [one.charge_C for one in own.cells] == approx([396e3, 396e3])
    assert [one.state_of_charge for one in own.cells] == approx([8.0 / 11.0] * 2)
    assert _mean_held(own) == approx(288e3)
    assert _mean_held(two().batteries[0]) == approx(288e3)  # (100 + 60) / 2 Ah


def test_a_hundredth_of_all_wiring_is_next_to_none():
    found = with_thin_wiring(two(wiring=WIRING))
    assert (found.wiring.link_ohm, found.wiring.main_ohm) == approx((1e-5, 2e-5))
    assert [one.lead_ohm for one in found.batteries] == approx([4e-5, 5e-5])


@pytest.mark.parametrize(("hours", "let_h"), [(10.0, 200.0), (437.0, 8740.0), (439.0, 8760.0)])
def test_a_run_has_twenty_times_its_time_to_get_empty_but_a_year_at_most(hours, let_h):
    found = without_chargers(two(duration_s=3600.0 * hours))
    assert found.duration_s == approx(3600.0 * let_h)
    assert found.stop_when_empty
    assert found.chargers == ()


def test_what_came_out_is_less_what_went_in():
    tally = {"out": np.array([500.0, 80.0]), "into": np.array([20.0, 100.0])}
    assert _out(SimpleNamespace(run=SimpleNamespace(tally=tally))).tolist() == [480.0, -20.0]


def test_what_is_left_in_the_weakest_cell_and_above_it():
    # three cells with 10, 40, 40 C left: 30 - 10 above the weakest; one cell has nothing above it
    moment = np.zeros((4, k.SOC + 1))
    moment[:, k.SOC] = [0.1, 0.4, 0.2, 0.5]
    packed = SimpleNamespace(
        cell={"charge": np.array([100.0, 100.0, 200.0, 60.0])},
        battery={"first": np.array([0, 3]), "end": np.array([3, 4])},
    )
    least, above = _left(SimpleNamespace(run=SimpleNamespace(moment=moment), packed=packed))
    assert least == approx([10.0, 30.0])
    assert above == approx([20.0, 0.0])


def summed_up(names, rows, monkeypatch):
    monkeypatch.setattr(sums, "_dangers", lambda _: ())
    batteries = tuple(SimpleNamespace(name=name) for name in names)
    plan = SimpleNamespace(scenario=SimpleNamespace(bank=SimpleNamespace(batteries=batteries)))
    return _result(plan, len(rows) - 1, np.array(rows, float))


def test_rows_are_taken_apart_step_by_step_and_battery_by_battery(monkeypatch):
    # six sums, then alone, in the bank, left, locked: "a" before "b" in each; the first is central
    central = [200, 190, 180, 170, 165, 160, 80, 90, 75, 85, 1, 2, 10, 20]
    draw = [200, 191, 182, 173, 164, 158, 81, 92, 74, 84, 3, 4, 30, 40]
    found = summed_up("ab", [central, draw], monkeypatch)
    assert [one.Ah.central for one in found.parts] == central[:6]
    assert [one.Ah.percentiles[2].value for one in found.parts] == draw[:6]
    assert [one.change.central for one in found.parts[1:]] == [-10, -10, -10, -5, -5]
    assert [one.change.percentiles[0].value for one in found.parts[1:]] == [-9, -9, -9, -9, -6]
    for place, one in enumerate(found.batteries):
        own = (one.alone, one.in_bank, one.left, one.locked)
        assert [band.central for band in own] == central[6 + place :: 2]
        assert [band.percentiles[0].value for band in own] == draw[6 + place :: 2]
    assert [one.name for one in found.batteries] == ["a", "b"]


def test_of_one_battery_the_bank_follows_on_it_alone(monkeypatch):
    row = [100, 95, 90, 80, 79, 70, 80, 70, 5, 6]
    found = summed_up("a", [row, row], monkeypatch)
    assert [one.Ah.central for one in found.parts] == [100, 95, 90, 80, 70]
    assert found.parts[-1].change.central == -10  # not against the 79 Ah without leads

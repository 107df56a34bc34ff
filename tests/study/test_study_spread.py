"""The spread of a bank: the same for any number of threads, and what the table of draws says."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from pytest import approx
from study_texts import BARE, LOAD, read

import bankSim
from bankSim.scenario.read import read_scenario
from bankSim.study.blocks import threads
from bankSim.study.plan import make_plan
from bankSim.study.spread import LEAST_DRAWS, Precision, central_outcome, study_spread
from bankSim.study.statistics import chance, percentile
from bankSim.study.store import Folder

SHIPPED = Path(bankSim.__file__).parents[1] / "scenarios"
ROUGH = Precision(0.005, 0.04)


def small_plan(block=40):
    return replace(make_plan(read_scenario(SHIPPED / "weak-cell.toml")), block=block)


def spread(count=2, *, precision=ROUGH, most=3000, store=None):
    with threads(count) as workers:
        return study_spread(
            small_plan(), workers, store=store, most=most, precision=precision, traced=4
        )


@pytest.fixture(scope="module")
def found():
    return spread()


@pytest.mark.parametrize("count", [1, 2, 4])
def test_any_number_of_threads_stops_at_the_same_draw(count, found):
    other = spread(count)
    assert LEAST_DRAWS < other.draws.count < 3000
    assert other.draws.count == found.draws.count
    assert repr(other.bank) == repr(found.bank)
    assert repr(other.batteries) == repr(found.batteries)
    assert other.orders == found.orders
    assert other.traced.cautions == found.traced.cautions
    assert other.traced.fan.voltage_V.tobytes() == found.traced.fan.voltage_V.tobytes()


def test_a_kept_study_stops_at_the_same_draw(found, tmp_path):
    store = Folder(tmp_path / "study", small_plan().description)
    first = spread(store=store)
    again = spread(store=Folder(tmp_path / "study", small_plan().description))
    assert first.draws.count == again.draws.count == found.draws.count
    assert repr(again.bank) == repr(found.bank)


def test_precision_is_reached(found):
    assert found.reached
    Ah = found.draws.column("bank.delivered_Ah")
    points = [percentile(Ah, percent) for percent in (5.0, 50.0, 95.0)]
    assert max(point.half_width for point in points) <= ROUGH.Ah * points[1].value
    for one in found.batteries:
        assert one.first.half_width <= 0.04


def test_the_most_draws_are_told_when_they_do_not_do():
    few = spread(precision=Precision(1e-4, 1e-3), most=450)
    assert not few.reached
    assert few.draws.count == 450  # of 480 in whole blocks of 40


def test_bands_and_chances_are_those_of_the_table(found):
    first = found.draws.column("first_cut_out")
    Ah = found.draws.column("weak.delivered_Ah")
    weak = found.batteries[1]
    assert weak.delivered.percentiles == tuple(percentile(Ah, p) for p in (5, 25, 50, 75, 95))
    assert weak.first == chance(int((first == 2).sum()), first.size)
    assert found.nobody == chance(int((first == 0).sum()), first.size)
    cell = found.draws.column("weak.cut_out_cell")
    assert [one.value for one in weak.cells] == approx([np.mean(cell == n) for n in (1, 2, 3, 4)])
    # the weak cell is the third: it has 41 of 50 Ah
    assert weak.cells[2].value > 0.99
    assert sum(one.value for one in weak.cells) == approx(weak.at_all.value)


def test_the_central_run_is_in_the_middle(found):
    central = central_outcome(small_plan())["bank.delivered_Ah"]
    assert found.bank.central == central
    assert found.bank.percentiles[0].low < central < found.bank.percentiles[-1].high


def test_orders_are_counted(found):
    assert found.orders[0].names == (("weak",), ("good",))
    assert sum(one.chance.value for one in found.orders) <= 1.0 + 1e-12
    assert sum(one.value for _, one in found.ends) == approx(1.0)


def test_a_scenario_without_unknowns(tmp_path):
    # no key with a spread, no chemistry, a written temperature
    text = BARE + LOAD.replace("power_W = 250.0", "current_A = 25.0")
    scenario = read(text + "[surroundings]\ntemperature_C = 20\n", tmp_path)
    plan = replace(make_plan(scenario), block=10)
    assert plan.unknowns == ()
    with threads(1) as workers:
        found = study_spread(plan, workers, most=20, traced=2)
    assert found.bank.percentiles[0].value == found.bank.central

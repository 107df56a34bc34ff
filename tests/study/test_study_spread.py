"""The spread of a bank: the same for any number of threads, and what the table of draws says."""

from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
from pytest import approx
from study_texts import BARE, LOAD, read

import bankSim
from bankSim.errors import ParameterError
from bankSim.scenario.read import read_scenario
from bankSim.study import spread as spread_of_bank
from bankSim.study.blocks import threads
from bankSim.study.plan import make_plan
from bankSim.study.spread import (
    LEAST_DRAWS,
    Precision,
    SpreadResult,
    _battery,
    _Judge,
    _orders,
    are_fed,
    band,
    central_outcome,
    fed_to_the_end,
    is_precise,
    study_spread,
)
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


class MadeUp:
    """Draws whose columns are written by hand, of batteries "a", "b", ... in a run of 10 h."""

    def __init__(self, columns, batteries="ab", loads=("lamp",), cells=2):
        self.columns = {name: np.asarray(values) for name, values in columns.items()}
        self.count = len(next(iter(self.columns.values())))
        own = [SimpleNamespace(name=name, cells=(None,) * cells) for name in batteries]
        bank = SimpleNamespace(loads=loads, batteries=own, duration_s=36_000.0)
        self.plan = SimpleNamespace(scenario=SimpleNamespace(bank=bank))

    def column(self, name):
        return self.columns[name]


AH, TAKEN, FIRST = "bank.delivered_Ah", "bank.charged_Ah", "first_cut_out"


@pytest.mark.parametrize("share", [0.05, 0.5, 0.95])
@pytest.mark.parametrize(("column", "loads"), [(AH, ("lamp",)), (TAKEN, ())])
def test_each_of_three_points_must_be_sharp(share, column, loads):
    # 400 draws of 100 or 101 Ah that change at the point: its interval reaches from one to the
    # other, so half of it is 0.5 Ah in the middle and 0.95 Ah at both ends (definition 7)
    values = 100.0 + (np.arange(400) >= share * 400)
    same = np.full(400, 7.0)
    draws = MadeUp({AH: same, TAKEN: same, FIRST: np.ones(400), column: values}, loads=loads)
    assert not is_precise(draws, Precision(0.0049, 1.0))
    assert is_precise(draws, Precision(0.0097, 1.0))


def test_precision_is_a_part_of_the_median():
    # 40 of 400 at 1 Ah, 340 at 100 Ah, 20 at 101 Ah: the 95 % point is the only unsure one, by 0.95
    values = np.repeat([1.0, 100.0, 101.0], [40, 340, 20])
    draws = MadeUp({AH: values, FIRST: np.ones(400)})
    assert is_precise(draws, Precision(0.0097, 1.0))
    assert not is_precise(draws, Precision(0.0094, 1.0))


def test_who_is_first_must_be_sure_too():
    # Wilson: 200 of 400, 1.96 sqrt(1 / 1600 + 3.84 / 640,000) / (1 + 3.84 / 400) = 0.0488
    draws = MadeUp({AH: np.full(400, 100.0), FIRST: np.arange(400) % 2})
    assert not is_precise(draws, Precision(0.005, 0.0487))
    assert is_precise(draws, Precision(0.005, 0.0489))


def test_precision_is_looked_at_from_400_draws_on_and_after_a_fifth_more(monkeypatch):
    asked = []
    monkeypatch.setattr(spread_of_bank, "is_precise", lambda draws, _: asked.append(draws.count))
    judge = _Judge(Precision())
    for count in (1, 399, 400, 479, 480, 575, 576, 1000, 1199, 1200):
        assert not judge(SimpleNamespace(count=count))
    assert asked == [400, 480, 576, 1000, 1200]


def test_a_band_knows_only_numbers_that_are_there():
    values = np.array([np.nan, 3.0, 1.0, np.nan, 2.0])
    found = band("hours", "h", values, np.nan)
    assert (found.count, found.central) == (3, None)
    assert [point.value for point in found.percentiles] == approx([1.1, 1.5, 2.0, 2.5, 2.9])
    nothing = band("hours", "h", np.full(3, np.nan), 4.0)
    assert (nothing.count, nothing.percentiles, nothing.central) == (0, (), 4.0)


def test_loads_are_fed_to_the_end_but_for_rounding():
    # 10 h; a part in a thousand million is rounding, ten of them are not
    draws = MadeUp({"bank.runtime_h": [10.0, 10.0 - 5e-9, 10.0 - 1e-7, 2.0]})
    assert are_fed(draws).tolist() == [True, True, False, False]
    assert fed_to_the_end(draws).value == 0.5


def test_orders_of_cutting_out_by_their_number():
    # seven orders of three batteries, the rarest left out; of two as frequent the smaller row first
    rows = [
        *[(1, 2, 0)] * 5,  # a, then b
        *[(2, 1, 3)] * 4,
        *[(1, 1, 3)] * 3,  # a and b at once, then c
        *[(0, 0, 0)] * 3,
        *[(0, 0, 1)] * 2,
        *[(3, 2, 1)] * 2,
        (1, 0, 0),
    ]
    table = np.array(rows)[np.random.default_rng(1).permutation(20)]
    columns = {f"{name}.cut_out_place": table[:, n] for n, name in enumerate("abc")}
    found = _orders(MadeUp(columns, "abc"))
    assert [(one.names, one.chance) for one in found] == [
        ((("a",), ("b",)), chance(5, 20)),
        ((("b",), ("a",), ("c",)), chance(4, 20)),
        ((), chance(3, 20)),
        ((("a", "b"), ("c",)), chance(3, 20)),
        ((("c",),), chance(2, 20)),
        ((("c",), ("b",), ("a",)), chance(2, 20)),
    ]


def of_battery(number, place, cell):
    """Chances of one of two batteries from four draws, of which it is the first in three."""
    name = "ab"[number]
    other = ("delivered_Ah", "charged_Ah", "cut_out_h", "cut_out_voltage_V", "stranded_Ah")
    own = {**dict.fromkeys(other, [1.0] * 4), "cut_out_cell": cell, "cut_out_place": place}
    draws = MadeUp({f"{name}.{what}": values for what, values in own.items()})
    central = {f"{name}.{what}": 1.0 for what in own}
    return _battery(draws, number, central, np.array([number + 1, number + 1, number + 1, 0]))


@pytest.mark.parametrize("number", [0, 1])
def test_chances_of_a_battery(number):
    found = of_battery(number, place=[1, 1, 0, 2], cell=[1, 2, 0, 2])
    assert (found.first, found.at_all) == (chance(3, 4), chance(3, 4))
    assert found.cells == (chance(1, 4), chance(2, 4))
    assert found.cut_out_h.unit == "h"
    assert found.voltage.unit == "V"


def test_a_battery_that_never_cuts_out_has_no_time_for_it():
    found = of_battery(0, place=[0, 0, 0, 0], cell=[0, 0, 0, 0])
    assert (found.cut_out_h, found.voltage, found.at_all) == (None, None, chance(0, 4))


def test_at_least_one_draw_is_run_in_full():
    with threads(1) as workers, pytest.raises(ParameterError, match=r"^traced = 0; expected 1 or"):
        study_spread(small_plan(), workers, traced=0)


def test_the_usual_precision():
    # docs/theory.md, below eq. 22.3: 0.5 % of the median, 3 of 100
    assert Precision() == Precision(0.005, 0.03)


@pytest.mark.parametrize(("loads", "main"), [(("lamp",), "out"), ((), "in")])
def test_a_bank_without_a_load_is_there_for_what_it_takes_in(loads, main):
    asked = SimpleNamespace(draws=MadeUp({AH: [1.0]}, loads=loads), bank="out", charged="in")
    assert SpreadResult.main.fget(asked) == main

"""Sweeps: every point is a study of its own, with the draws of all others."""

from dataclasses import replace

import numpy as np
import pytest
from pytest import approx
from straight_banks import AROUND, Stores, battery, counting, load, part_given, rows_of, scenario

from bankSim.errors import SimulationError
from bankSim.study import sweep
from bankSim.study.blocks import Workers, run_draws, threads
from bankSim.study.plan import make_plan
from bankSim.study.sweep import study_sweep
from bankSim.study.swept_keys import read_swept
from bankSim.study.uniforms import Sampling

DRAWS = 20
SPREAD = "{ value = 100.0, sd = 3.0 }"
ROW = '[wiring]\nlayout = "same end"\nlink = { length_m = 2.0, area_mm2 = 16, joints = 2 }\n'


@pytest.fixture(scope="module")
def two(tmp_path_factory):
    """Two batteries that hold about 100 Ah each, and a lamp."""
    return scenario(
        tmp_path_factory.mktemp("two"), battery("a", SPREAD), battery("b c", SPREAD), load()
    )


def swept(bank, *words, workers=None, **more):
    """Read the words and march."""
    more = {"draws": DRAWS, "in_full": 2, **more}
    keys = read_swept(words, bank)
    if workers is not None:
        return study_sweep(bank, keys, workers, **more)
    with threads(2) as own:
        return study_sweep(bank, keys, own, **more)


def own_study(folder, *parts, seed, around=AROUND, draws=DRAWS):
    """The rows of a study of its own, marched in blocks of another size."""
    plan = replace(make_plan(scenario(folder, *parts, around=around), seed=seed), block=DRAWS // 2)
    with threads(1) as workers:
        return rows_of(run_draws(plan, draws, workers).store, draws)


def test_each_point_is_the_study_of_the_edited_file_bit_by_bit(two, tmp_path):
    stores = Stores()
    swept(two, "battery[a].lead_mohm=1:9:3", store_of=stores, seed=7)
    assert list(stores.kept) == ["point-0001", "point-0002", "point-0003"]
    for name, lead in zip(stores.kept, (1.0, 5.0, 9.0), strict=True):
        edited = battery("a", SPREAD, more=f"lead_mohm = {lead}\n")
        alone = own_study(tmp_path, edited, battery("b c", SPREAD), load(), seed=7)
        assert rows_of(stores.kept[name], DRAWS) == alone


def test_a_point_whose_bank_is_built_anew_for_every_draw(tmp_path):
    # a duty cycle with a spread is built anew; the curve's own table is read once
    duty = "duty = { on_min = { value = 30.0, sd = 3.0 }, off_min = 10.0 }\n"
    parts = battery("a", SPREAD), load("40.0") + duty
    stores, hours, few = Stores(), AROUND.replace("200.0", "8.0"), 5
    bank = scenario(tmp_path, *parts, around=hours)
    swept(bank, "battery[1].cell.ohmic_mohm=1,2", store_of=stores, draws=few)
    for name, ohmic in zip(stores.kept, (1, 2), strict=True):
        edited = battery("a", SPREAD, ohmic=ohmic)
        alone = own_study(tmp_path, edited, parts[1], seed=1, around=hours, draws=few)
        assert rows_of(stores.kept[name], few) == alone


def test_a_point_of_a_word(tmp_path):
    spread = "{ value = 5.0, sd = 1.0 }"
    row = f'[wiring]\nlayout = "LAYOUT"\nlink_mohm = {spread}\n'
    parts = battery("a", SPREAD), battery("b", SPREAD), battery("c", SPREAD), load("60.0")
    there = scenario(tmp_path, row.replace("LAYOUT", "same end"), *parts)
    stores = Stores()
    swept(there, "wiring.layout=same end,opposite ends", store_of=stores)
    points = []
    for name, layout in zip(stores.kept, ("same end", "opposite ends"), strict=True):
        alone = own_study(tmp_path, row.replace("LAYOUT", layout), *parts, seed=1)
        points.append(rows_of(stores.kept[name], DRAWS))
        assert points[-1] == alone
    assert points[0]["bank.peak_A"] == points[1]["bank.peak_A"]
    assert points[0]["a.peak_discharge_A"] != points[1]["a.peak_discharge_A"]


def test_the_same_draws_at_all_points(two):
    # closed form: what each draw gives of its two capacities does not hang on the leads, while the
    # current decides how much stays behind the resistance
    stores = Stores()
    swept(two, "load[lamp].current_A=2,20", store_of=stores)
    few, many = (one.column("bank.delivered_Ah", 1) for one in stores.kept.values())
    assert few.std() > 1.0
    assert few / part_given(1.0) == approx(many / part_given(10.0), rel=2e-4)


def test_a_spread_of_the_file_is_replaced_by_the_value(two):
    stores = Stores()
    found = swept(two, "battery[a].cell.capacity_Ah=90,110", store_of=stores)
    given = [one.column("a.delivered_Ah", 1) for one in stores.kept.values()]
    for values, capacity in zip(given, (90.0, 110.0), strict=True):
        assert values == approx(capacity, rel=1e-3)
    assert found.given == ({"value": 100.0, "sd": 3.0},)


def test_two_keys_cross_and_the_last_one_changes_fastest(two):
    found = swept(two, "load[lamp].current_A=2,4", "battery[a].cell.capacity_Ah=50,100,150")
    assert [one.values for one in found.points] == [
        (2, 50), (2, 100), (2, 150), (4, 50), (4, 100), (4, 150),
    ]  # fmt: skip
    # closed form: capacities add up; hours are Ah over A
    Ah = found.grid(lambda point: point.bank.central)
    assert Ah == approx(np.array([[150.0, 200.0, 250.0]] * 2), rel=1e-3)
    hours = found.grid(lambda point: point.runtime.central)
    assert hours == approx(Ah / np.array([[2.0], [4.0]]))
    first = found.grid(lambda point: point.first[0].value + point.first[1].value)
    assert first == approx(1.0)


def test_one_cell_out_of_balance_that_the_file_does_not_name(tmp_path):
    # by hand: the cell that starts at 0.9 of 100 Ah ends the battery after 90 Ah
    bank = scenario(tmp_path, battery("new", cells=4), load())
    found = swept(bank, "battery[new].cells[2].state_of_charge=1.0:0.8:3")
    assert [one.bank.central for one in found.points] == approx([100.0, 90.0, 80.0], rel=1e-3)
    assert found.given == (None,)


def test_what_the_file_has_is_told(two):
    found = swept(two, "battery[a].lead_mohm=1,2", "simulation.stop=end,bank empty")
    assert found.given == (1.0, None)


@pytest.mark.parametrize("sampling", Sampling)
def test_points_share_what_they_have_in_common(tmp_path, monkeypatch, sampling):
    # links count in a row only; what both layouts have must still be drawn alike
    plans = []
    real = sweep.run_draws
    monkeypatch.setattr(sweep, "run_draws", lambda p, *more: plans.append(p) or real(p, *more))
    bank = scenario(tmp_path, ROW, battery("a", SPREAD), battery("b", SPREAD), load())
    swept(bank, "wiring.layout=same end,equal leads", sampling=sampling)
    one, other = (dict(zip([u.label for u in p.unknowns], p.values(0, DRAWS).T, strict=True))
                  for p in plans)  # fmt: skip
    assert set(other) < set(one)
    for label, values in other.items():
        assert values.tobytes() == one[label].tobytes(), label


def test_every_point_goes_on_from_its_own_store(two, tmp_path, monkeypatch):
    monkeypatch.setattr(sweep, "POINT_BLOCK", 5)  # of 20 draws
    marched = []
    words = ("battery[a].lead_mohm=1:9:3",)
    with threads(1) as pool:
        workers = Workers(pool.executor, 1, counting(marched))
        first = swept(two, *words, workers=workers, store_of=Stores(tmp_path))
        assert len(marched) == 3 * 4  # four blocks a point
        (tmp_path / "point-0002" / "block-000003.parquet").unlink()
        again = swept(two, *words, workers=workers, store_of=Stores(tmp_path))
    assert marched[12:] == [3]
    assert repr(first.points) == repr(again.points)


def test_points_of_another_sweep_are_refused(two, tmp_path):
    swept(two, "battery[a].lead_mohm=1:9:3", store_of=Stores(tmp_path))
    with pytest.raises(SimulationError, match="they are not mixed") as told:
        swept(two, "battery[a].lead_mohm=1:5:3", store_of=Stores(tmp_path))
    assert "point-0002" in str(told.value)  # the first one is the same in both


@pytest.mark.parametrize("draws", [4, 5, 20])
def test_as_many_draws_as_were_asked_for(two, draws):
    assert swept(two, "battery[a].lead_mohm=1,2", draws=draws).draws == draws


def test_progress_counts_points(two):
    seen = []
    swept(two, "battery[a].lead_mohm=1:9:3", progress=lambda *told: seen.append(told))
    assert seen == [("points", 1, 3), ("points", 2, 3), ("points", 3, 3)]


def test_more_draws_go_on_with_those_there(two, tmp_path, monkeypatch):
    monkeypatch.setattr(sweep, "POINT_BLOCK", 5)
    marched = []
    with threads(1) as pool:
        workers = Workers(pool.executor, 1, counting(marched))
        for draws in (8, 20):
            more = {"workers": workers, "store_of": Stores(tmp_path), "draws": draws}
            swept(two, "battery[a].lead_mohm=1,2", **more)
    assert marched == [0, 1, 0, 1, 2, 3, 2, 3]


def test_fewer_draws_run_in_full_change_only_what_those_tell(two):
    words = ("battery[a].lead_mohm=1:9:2",)
    many, few = swept(two, *words, in_full=DRAWS), swept(two, *words, in_full=1)
    assert (many.traced, few.traced) == (DRAWS, 1)
    for one, other in zip(many.points, few.points, strict=True):
        assert (one.bank, one.first, one.fed) == (other.bank, other.first, other.fed)

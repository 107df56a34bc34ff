"""How many draws of a sweep are run in full, and what a point says: on draws by hand."""

from types import SimpleNamespace

import numpy as np
import pytest

from bankSim.study import sweep
from bankSim.study.answers import BANK, CHARGED
from bankSim.study.happenings import Happenings
from bankSim.study.statistics import chance
from bankSim.study.sweep import SweepResult, _point, study_sweep
from bankSim.study.swept_keys import SweptKey


def keys(*counts):
    return tuple(
        SweptKey(str(n), ("surroundings", str(n)), tuple(map(float, range(count))), "")
        for n, count in enumerate(counts)
    )


@pytest.mark.parametrize(
    ("counts", "draws", "in_full", "run"),
    [
        ((30,), 200, 20, 20),  # 600 in all
        ((31,), 200, 20, 19),
        ((40, 30), 200, 20, 1),  # one at least
        ((2,), 8, 20, 8),  # no more than there are
        ((2,), 200, 5, 5),
        ((2,), 200, 400, 200),
        ((2,), 200, 0, 1),
    ],
)
def test_draws_run_in_full_are_shared_among_all_points(counts, draws, in_full, run, monkeypatch):
    seen, stores, told = [], [], []
    plan = SimpleNamespace(description={})
    bank = SimpleNamespace(loads=("lamp",))
    variants = SimpleNamespace(value_at=lambda path: path[-1])
    monkeypatch.setattr(sweep, "Variants", lambda _: variants)
    monkeypatch.setattr(
        sweep, "_plans", lambda _v, _k, combinations, *_: [plan] * len(combinations)
    )
    monkeypatch.setattr(sweep, "run_draws", lambda *_: None)
    monkeypatch.setattr(sweep, "trace_draws", lambda _plan, count, _workers: seen.append(count))
    monkeypatch.setattr(sweep, "_point", lambda values, *_: SimpleNamespace(values=values))
    found = study_sweep(
        SimpleNamespace(bank=bank), keys(*counts), None, draws=draws, in_full=in_full,
        store_of=lambda name, _: stores.append(name), progress=lambda *words: told.append(words),
    )  # fmt: skip
    points = int(np.prod(counts))
    assert seen == [run] * points
    assert (found.traced, found.draws, found.answer) == (run, draws, BANK)
    assert (stores[0], stores[-1]) == ("point-0001", f"point-{points:04d}")
    assert (told[0], told[-1]) == (("points", 1, points), ("points", points, points))
    assert found.given == tuple(str(n) for n in range(len(counts)))


def test_the_last_key_changes_fastest():
    points = [SimpleNamespace(values=(a, b)) for a in range(2) for b in range(3)]
    found = SimpleNamespace(keys=keys(2, 3), points=points)
    grid = SweepResult.grid(found, lambda point: 10.0 * point.values[0] + point.values[1])
    assert grid.tolist() == [[0.0, 1.0, 2.0], [10.0, 11.0, 12.0]]


@pytest.mark.parametrize(
    ("answer", "what", "own"), [(BANK, "delivered", 3), (CHARGED, "charged", 5)]
)
def test_a_point_says_who_is_first_and_what_each_battery_gives_or_takes(
    answer, what, own, monkeypatch
):
    # of eight draws "a" is first in three, "b" in two, both at once in one, nobody in two
    columns = {
        "first_cut_out": np.array([1, 1, 1, 2, 2, -1, 0, 0]),
        "bank.runtime_h": np.full(8, 9.0),
        f"bank.{what}_Ah": np.full(8, 50.0),
        **{f"{name}.{kind}_Ah": np.full(8, ah + (name == "b"))
           for name in "ab" for kind, ah in (("delivered", 3), ("charged", 5))},
    }  # fmt: skip
    batteries = [SimpleNamespace(name=name) for name in "ab"]
    bank = SimpleNamespace(batteries=batteries, duration_s=36_000.0)
    plan = SimpleNamespace(scenario=SimpleNamespace(bank=bank))
    draws = SimpleNamespace(plan=plan, count=8, column=columns.get)
    middle = SimpleNamespace(shares_at_start=(0.25, 0.75))
    traced = SimpleNamespace(middle=middle, hardest_A=np.array([7.0, 7.0]), cautions=(),
                             happenings=Happenings())  # fmt: skip
    monkeypatch.setattr(sweep, "central_outcome", lambda _: dict.fromkeys(columns, 1.0))
    found = _point((1.0,), draws, answer, traced)
    assert found.first == (chance(3, 8), chance(2, 8))
    assert (found.together, found.nobody) == (chance(1, 8), chance(2, 8))
    assert [band.percentiles[2].value for band in found.by_battery] == [own, own + 1]
    assert (found.bank.percentiles[2].value, found.bank.central) == (50.0, 1.0)
    assert (found.hardest.percentiles[2].value, found.hardest.central) == (7.0, None)
    assert (found.runtime.percentiles[2].value, found.runtime.unit) == (9.0, "h")
    assert (found.fed, found.shares) == (chance(0, 8), (0.25, 0.75))

"""What settles the draws of a study: its key, its blocks, its way to another process."""

import pickle
from collections import OrderedDict
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from hybrid_draws import assert_same_rows
from study_texts import BARE, LFP, LOAD, read

from bankSim.scenario.variant import Variants
from bankSim.study import plan as plan_module
from bankSim.study.plan import _round_down, make_plan, march_block, ready
from bankSim.study.uniforms import Sampling

TEXT = LFP + BARE + LOAD + "[simulation]\nduration_h = 12\n"


@pytest.fixture
def scenario(tmp_path):
    return read(TEXT, tmp_path)


def test_the_key_changes_with_all_that_changes_a_draw(scenario, tmp_path):
    plan = make_plan(scenario)
    half = Variants(scenario).with_values({("battery", 0, "state_of_charge"): 0.5})
    others = [
        make_plan(scenario, seed=2),
        make_plan(scenario, sampling=Sampling.EVEN),
        make_plan(scenario, tolerance=1e-3),
        make_plan(scenario, beside=("another",)),
        make_plan(half),
        make_plan(read(TEXT + "# a word more\n", tmp_path)),
        replace(plan, block=plan.block + 1),
        replace(plan, unknowns=plan.unknowns[1:]),
    ]
    keys = {one.key for one in [plan, *others]}
    assert len(keys) == 1 + len(others)
    assert make_plan(read(TEXT, tmp_path)).key == plan.key


def test_the_key_changes_with_a_table(scenario, tmp_path):
    before = make_plan(scenario).key
    curve = tmp_path / "curve.csv"
    curve.write_text(curve.read_text().replace("3.29", "3.28"))
    assert make_plan(scenario).key != before


def test_the_seed_does_not_change_the_bank(scenario):
    one, other = make_plan(scenario), make_plan(scenario, seed=2)
    assert one.bank_key == other.bank_key
    assert one.bank_key != make_plan(scenario, tolerance=1e-3).bank_key
    assert (one.values(0, 5) != other.values(0, 5)).all()


def test_blocks_are_round_numbers(scenario):
    assert make_plan(scenario).block in (10, 20, 50, 100, 200, 500, 1000)


@pytest.mark.parametrize(
    ("count", "block"),
    [(1, 1), (4, 2), (5, 5), (9, 5), (10, 10), (19, 10), (49, 20), (50, 50), (999, 500),
     (1000, 1000)],
)  # fmt: skip
def test_a_block_is_1_2_or_5_times_a_power_of_ten_and_no_larger(count, block):
    assert _round_down(count) == block


@pytest.mark.parametrize(
    ("steps", "block"), [(1, 1000), (200, 1000), (201, 500), (7000, 20), (20_001, 10), (10**7, 10)]
)
def test_a_block_is_some_200_000_steps_of_10_to_1000_draws(scenario, steps, block, monkeypatch):
    # 200,000 / 201 = 995, / 7000 = 28
    packed = SimpleNamespace(steps=steps, digest="x")
    monkeypatch.setattr(plan_module, "Ensemble", lambda *_: packed)
    monkeypatch.setattr(plan_module, "_READY", OrderedDict())
    assert make_plan(scenario).block == block


def test_portions_of_a_plan(scenario):
    plan = make_plan(scenario)
    parts = [plan.values(first, first + 3) for first in (0, 3, 6)]
    assert np.concatenate(parts).tobytes() == plan.values(0, 9).tobytes()


def test_a_plan_in_another_process(scenario):
    # what a worker gets over the wire marches the same draws
    plan = replace(make_plan(scenario), block=4)
    twin = pickle.loads(pickle.dumps(plan))
    assert (twin.key, twin.bank_key) == (plan.key, plan.bank_key)
    assert_same_rows(march_block(twin, 2), march_block(plan, 2))


def test_a_plan_where_its_tables_are_not(scenario, tmp_path):
    twin = pickle.loads(pickle.dumps(replace(make_plan(scenario), block=4)))
    (tmp_path / "curve.csv").unlink()
    assert len(march_block(twin, 0)["draw"]) == 4


# Banks that are built anew need the tables, which come along with the plan.
def test_a_rewritten_plan_where_its_tables_are_not(tmp_path):
    text = TEXT.replace('name = "lithium"', 'name = "lithium"\nmass_kg = { value = 9, sd = 1 }')
    twin = pickle.loads(pickle.dumps(replace(make_plan(read(text, tmp_path)), block=4)))
    (tmp_path / "curve.csv").unlink()
    assert len(march_block(twin, 0)["draw"]) == 4


def test_a_plan_of_a_variant_in_another_process(scenario):
    half = Variants(scenario).with_values({("battery", 0, "state_of_charge"): 0.5})
    plan = replace(make_plan(half), block=4)
    twin = pickle.loads(pickle.dumps(plan))
    assert twin.key == plan.key
    assert twin.scenario.changes == half.changes
    assert_same_rows(march_block(twin, 0), march_block(plan, 0))


# The ensemble that gave the size of blocks is the one that marches them, and no other process is
# sent any of it.
@pytest.mark.parametrize("more", ["", "mass_kg = { value = 9, sd = 1 }\n"], ids=["poked", "anew"])
def test_a_plan_is_packed_once_and_travels_light(more, tmp_path, monkeypatch):
    packed, real = [], plan_module.Ensemble
    monkeypatch.setattr(plan_module, "Ensemble", lambda *a: packed.append(real(*a)) or packed[-1])
    text = TEXT.replace('name = "lithium"\n', f'name = "lithium"\n{more}')
    plan = make_plan(read(text, tmp_path))
    before = len(pickle.dumps(plan))
    assert [ready(plan), ready(replace(plan, block=3))] == packed * 2
    assert len(packed) == 1
    assert len(pickle.dumps(plan)) == before
    assert before < 200_000


def test_few_ensembles_are_kept(scenario):
    plans = [make_plan(scenario, tolerance=1e-2 + 1e-6 * number) for number in range(7)]
    assert len(plan_module._READY) == plan_module.KEPT_READY
    assert ready(plans[0]) is ready(plans[0])


def test_threads_share_one_ensemble(scenario):
    plan = make_plan(scenario, tolerance=5e-3)
    plan_module._READY.clear()
    with ThreadPoolExecutor(4) as threads:
        found = list(threads.map(lambda _: ready(plan), range(8)))
    assert all(one is found[0] for one in found)

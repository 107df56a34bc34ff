"""Draws kept in a folder take no more room in memory than is set aside for blocks at hand."""

import tracemalloc

import numpy as np
import pyarrow as pa
import pytest
from made_up_blocks import made_up_plan, made_up_workers

import bankSim.study.store as store_module
from bankSim.study.blocks import run_draws
from bankSim.study.store import Folder, Memory

BLOCK, COLUMNS = 500, 50
MB = 1e6


@pytest.fixture(autouse=True)
def room_for_ten_blocks(monkeypatch):
    """Set aside room for ten blocks, not for a thousand."""
    monkeypatch.setattr(store_module, "MOST_BYTES", 2_000_000)


def wide_block(plan, number):
    """A table of 0.2 MB."""
    rng = np.random.default_rng(number)
    return {f"column {n}": rng.random(plan.block) for n in range(COLUMNS)}


def peak_MB(blocks, store):
    """The most memory that `run_draws` has at a time beyond what was there. [MB]"""
    plan = made_up_plan(block=BLOCK)
    with made_up_workers(2, wide_block) as workers:
        tracemalloc.start()
        draws = run_draws(plan, blocks * BLOCK, workers, store)
        peak = tracemalloc.get_traced_memory()[1]
        tracemalloc.stop()
    assert draws.count == blocks * BLOCK
    return peak / MB


def folder(place):
    return Folder(place, made_up_plan(block=BLOCK).description)


def test_ten_times_more_draws_in_a_folder(tmp_path):
    few = peak_MB(20, folder(tmp_path / "few"))
    arrow = pa.total_allocated_bytes()
    many = peak_MB(200, folder(tmp_path / "many"))  # 40 MB in all
    assert many - few < 3.0
    assert pa.total_allocated_bytes() - arrow < 3.0 * MB


def test_room_that_is_set_aside_is_used_and_no_more(tmp_path, monkeypatch):
    monkeypatch.setattr(store_module, "MOST_BYTES", 10_000_000)
    assert 8.0 < peak_MB(100, folder(tmp_path / "study")) < 14.0


def test_in_memory_it_would_be_seen():
    assert peak_MB(100, Memory()) - peak_MB(10, Memory()) > 15.0


def test_one_column_of_all_draws(tmp_path):
    store = folder(tmp_path / "study")
    plan = made_up_plan(block=BLOCK)
    with made_up_workers(2, wide_block) as workers:
        draws = run_draws(plan, 100 * BLOCK, workers, store)
    tracemalloc.start()
    column = draws.column("column 7")
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert column.size == 100 * BLOCK
    assert peak < 4.0 * column.nbytes  # of 20 MB on disk

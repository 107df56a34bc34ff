"""Blocks of draws: whole, in order, each once, however many work on them."""

import threading
import time

import numpy as np
import pytest
from hybrid_draws import assert_same_rows
from made_up_blocks import BLOCK, made_up_block, made_up_plan, made_up_workers, whole_table

from bankSim.errors import ParameterError, SimulationError
from bankSim.study.blocks import AHEAD, run_draws, threads
from bankSim.study.store import Memory

COUNTS = (1, 2, 4)


def table_of(draws):
    return {name: draws.column(name) for name in made_up_block(draws.plan, 0)}


@pytest.mark.parametrize(("most", "blocks"), [(1, 1), (9, 1), (10, 1), (11, 2), (100, 10)])
def test_whole_blocks_are_kept_and_so_many_draws_count(most, blocks):
    plan = made_up_plan()
    with made_up_workers() as workers:
        draws = run_draws(plan, most, workers)
    assert (draws.blocks, draws.count) == (blocks, most)
    rows = {name: column[:most] for name, column in whole_table(plan, blocks).items()}
    assert_same_rows(table_of(draws), rows)


@pytest.mark.parametrize("most", [0, -5])
def test_no_draws_are_refused(most):
    with made_up_workers() as workers, pytest.raises(ParameterError, match="most = "):
        run_draws(made_up_plan(), most, workers)


@pytest.mark.parametrize("count", COUNTS)
@pytest.mark.parametrize("delays", [1, 2, 3])
def test_blocks_that_finish_out_of_order(count, delays):
    plan, told = made_up_plan(), []
    with made_up_workers(count, delays=delays) as workers:
        draws = run_draws(plan, 200, workers, progress=told.append)
    assert_same_rows(table_of(draws), whole_table(plan, 20))
    assert told == [BLOCK * number for number in range(1, 21)]


@pytest.mark.parametrize("count", COUNTS)
@pytest.mark.parametrize("delays", [4, 5])
def test_enough_is_asked_after_every_block_in_order(count, delays):
    asked = []

    def enough(draws):
        asked.append(draws.count)
        assert len(draws.column("draw")) == draws.count
        return draws.count >= 70

    with made_up_workers(count, delays=delays) as workers:
        draws = run_draws(made_up_plan(), 1000, workers, enough=enough)
    assert asked == [10, 20, 30, 40, 50, 60, 70]
    assert draws.count == 70
    assert draws.column("draw").tolist() == list(range(70))


@pytest.mark.parametrize("count", COUNTS)
def test_stopping_by_what_the_draws_say(count):
    # until the mean is known to 0.4 %: depends on the numbers, so on every single block
    def is_known(Ah):
        return Ah.std() / np.sqrt(Ah.size) < 4e-3 * Ah.mean()

    plan = made_up_plan()
    Ah = whole_table(plan, 40)["bank.delivered_Ah"]
    wanted = next(n for n in range(BLOCK, 401, BLOCK) if is_known(Ah[:n]))
    with made_up_workers(count, delays=count) as workers:
        draws = run_draws(
            plan, 400, workers, enough=lambda draws: is_known(draws.column("bank.delivered_Ah"))
        )
    assert draws.count == wanted
    assert 100 < wanted < 250  # 5 % of spread: some (0.05 / 0.004)^2 = 156 draws


def test_finished_blocks_are_not_marched_again():
    plan, store, marched = made_up_plan(), Memory(), []
    for number in (0, 1, 4):
        store.write(number, made_up_block(plan, number))

    def march(plan, number):
        marched.append(number)
        return made_up_block(plan, number)

    with made_up_workers(1, march) as workers:
        draws = run_draws(plan, 60, workers, store)
        again = run_draws(plan, 60, workers, store)
    assert marched == [2, 3, 5]
    assert_same_rows(table_of(draws), whole_table(plan, 6))
    assert_same_rows(table_of(again), whole_table(plan, 6))


def test_more_blocks_in_the_store_than_wanted():
    plan, store = made_up_plan(), Memory()
    for number in range(5):
        store.write(number, made_up_block(plan, number))
    with made_up_workers() as workers:
        draws = run_draws(plan, 25, workers, store)
    assert (draws.blocks, draws.count) == (3, 25)
    rows = {name: column[:25] for name, column in whole_table(plan, 3).items()}
    assert_same_rows(table_of(draws), rows)


@pytest.mark.parametrize("count", COUNTS)
def test_only_a_few_blocks_are_under_way(count):
    under_way, most, lock = set(), [], threading.Lock()

    class Counting(Memory):
        def write(self, number, table):
            with lock:
                under_way.discard(number)
            super().write(number, table)

    def march(plan, number):
        with lock:
            under_way.add(number)
            most.append(len(under_way))
        return made_up_block(plan, number)

    with made_up_workers(count, march) as workers:
        run_draws(made_up_plan(), 500, workers, Counting())
    assert max(most) <= count + AHEAD


def test_a_failing_block_ends_the_study():
    def march(plan, number):
        if number == 3:
            raise SimulationError("draw 31: no")
        return made_up_block(plan, number)

    store = Memory()
    with made_up_workers(2, march) as workers, pytest.raises(SimulationError, match="draw 31: no"):
        run_draws(made_up_plan(), 1000, workers, store)
    assert 3 not in store.finished()
    assert len(store.finished()) < 100


def test_an_error_stops_blocks_that_are_being_marched():
    stopped = threading.Event()

    def march(plan, number, stop):
        if stop.wait(10.0):
            stopped.set()
        return made_up_block(plan, number)

    def study():
        with threads(2) as workers:
            stop = workers.march.keywords["stop"]
            workers.executor.submit(march, made_up_plan(), 0, stop)
            raise KeyError("anything")

    start = time.monotonic()
    with pytest.raises(KeyError, match="anything"):
        study()
    assert stopped.is_set()
    assert time.monotonic() - start < 5.0

"""Jobs in order, with few of them handed out at a time."""

import threading
import time
from concurrent.futures import Future

import pytest

from bankSim.study.blocks import AHEAD, Workers, threads
from bankSim.study.plan import march_block
from bankSim.study.window import in_order


class Slow:
    """An executor that starts nothing by itself; keeps what it was handed."""

    def __init__(self):
        self.handed = []

    def submit(self, work, item):
        future = Future()
        future.result = lambda timeout=None: work(item)
        self.handed.append(future)
        return future


def workers_of(executor, count=3):
    return Workers(executor, count, march_block)


def test_order_is_that_of_the_items_whoever_is_faster():
    def work(n):
        time.sleep(0.02 if n % 3 == 0 else 0.0)
        return n * n

    with threads(4) as workers:
        assert list(in_order(workers, work, range(20))) == [n * n for n in range(20)]


def test_no_more_than_a_window_is_handed_out():
    executor, taken = Slow(), []
    items = (taken.append(n) or n for n in range(1000))
    found = in_order(workers_of(executor), lambda n: n, items)
    assert taken == []
    for done in range(1, 6):
        next(found)
        assert len(executor.handed) == len(taken) == 3 + AHEAD + done - 1


def test_no_items_no_jobs():
    executor = Slow()
    assert list(in_order(workers_of(executor), str, [])) == []
    assert executor.handed == []


def test_progress_counts_what_is_done():
    told = []
    assert list(in_order(workers_of(Slow()), lambda n: -n, range(4), told.append)) == [
        0,
        -1,
        -2,
        -3,
    ]
    assert told == [1, 2, 3, 4]


def test_what_waits_is_cancelled_when_one_fails():
    def work(n):
        if n == 2:
            raise ValueError("the third one")
        return n

    executor = Slow()
    found = in_order(workers_of(executor, 4), work, range(100))
    assert [next(found), next(found)] == [0, 1]
    with pytest.raises(ValueError, match="the third one"):
        next(found)
    assert [future.cancelled() for future in executor.handed[3:]] == [True] * 5
    assert len(executor.handed) == 8


def test_who_stops_listening_cancels_the_rest():
    begun, go = [], threading.Event()

    def work(n):
        begun.append(n)
        go.wait(5.0)
        return n

    with threads(1) as workers:
        found = in_order(workers, work, range(50))
        go.set()
        assert next(found) == 0
        found.close()
    assert len(begun) <= 1 + 1 + AHEAD

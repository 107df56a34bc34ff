"""Runs many small jobs in order without handing them all out at once."""

from collections import deque
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import Future
from itertools import islice
from typing import TypeVar

from bankSim.study.blocks import AHEAD, Workers

Item = TypeVar("Item")
Found = TypeVar("Found")


def in_order(
    workers: Workers,
    function: Callable[[Item], Found],
    items: Iterable[Item],
    progress: Callable[[int], None] | None = None,
) -> Iterator[Found]:
    """Yield what a function returns for each item, in the order of the items.

    Parameters
    ----------
    workers : Workers
        At most `count` + 2 jobs are under way or finished and not yet yielded.
    function : callable
        Takes one item; on a cluster it and its results travel.
    items : iterable
        Taken one by one, as there is room.
    progress : callable, optional
        Told how many are done.

    Raises
    ------
    Exception
        Whatever the function raises, at its place in the order; what waits is cancelled then.
    """
    waiting = iter(items)
    under_way: deque[Future[Found]] = deque()
    done = 0
    try:
        while True:
            room = workers.count + AHEAD - len(under_way)
            under_way.extend(
                workers.executor.submit(function, one) for one in islice(waiting, room)
            )
            if not under_way:
                return
            found = under_way.popleft().result()
            done += 1
            if progress is not None:
                progress(done)
            yield found
    finally:
        for future in under_way:
            future.cancel()

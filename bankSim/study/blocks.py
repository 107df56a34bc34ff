"""Runs blocks of draws on whatever executes them, in order, until there are enough."""

import os
import threading
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Executor, Future, ThreadPoolExecutor, wait
from contextlib import contextmanager
from dataclasses import dataclass
from functools import partial
from itertools import islice

import numpy as np
from numpy.typing import NDArray

from bankSim.errors import ParameterError
from bankSim.study.outcomes import Table
from bankSim.study.plan import Plan, march_block
from bankSim.study.store import Memory, Store

AHEAD = 2  # blocks under way beside those that are being marched


@dataclass(frozen=True, eq=False)
class Draws:
    """Finished draws of a plan.

    Parameters
    ----------
    plan : Plan
    store : Store
    blocks : int
        So many blocks from the first one.
    most : int or None
        Draws beyond it, at the end of the last block, do not count.
    """

    plan: Plan
    store: Store
    blocks: int
    most: int | None = None

    @property
    def count(self) -> int:
        """How many draws."""
        made = self.blocks * self.plan.block
        return made if self.most is None else min(made, self.most)

    def column(self, name: str) -> NDArray[np.generic]:
        """Return one outcome of all draws."""
        return self.store.column(name, self.blocks)[: self.count]


@dataclass(frozen=True)
class Workers:
    """What executes blocks.

    Parameters
    ----------
    executor : Executor
    count : int
        How many blocks it marches at a time.
    march : callable
        Like `march_block`.
    """

    executor: Executor
    count: int
    march: Callable[[Plan, int], Table]


@contextmanager
def threads(count: int | None = None) -> Iterator[Workers]:
    """Provide threads of this process; when the block ends by an error, they stop at once."""
    most = count or usable_cores()
    stop = threading.Event()
    executor = ThreadPoolExecutor(most)
    try:
        yield Workers(executor, most, partial(march_block, stop=stop))
    except BaseException:
        stop.set()
        raise
    finally:
        executor.shutdown(wait=True, cancel_futures=True)


def usable_cores() -> int:
    """Return how many cores this process may use."""
    own = getattr(os, "sched_getaffinity", None)
    return len(own(0)) if own is not None else os.cpu_count() or 1


def run_draws(
    plan: Plan,
    most: int,
    workers: Workers,
    store: Store | None = None,
    *,
    enough: Callable[[Draws], bool] | None = None,
    progress: Callable[[int], None] | None = None,
) -> Draws:
    """March draws from the first on, until there are enough of them.

    Parameters
    ----------
    plan : Plan
    most : int
        Draws wanted at most; whole blocks are made and kept, of which so many count.
    workers : Workers
    store : Store, optional
        What it already holds is not marched again.
    enough : callable, optional
        Asked after every block with all before it, in order, so that the answer does not depend
        on who was faster.
    progress : callable, optional
        Told how many draws are finished.

    Raises
    ------
    ParameterError
        When no draws are wanted.
    """
    if most < 1:
        raise ParameterError("most", most, "1 draw or more")
    place = store if store is not None else Memory()
    done = place.finished()
    total = -(-most // plan.block)
    wanted = iter([number for number in range(total) if number not in done])
    under_way: dict[Future[Table], int] = {}
    whole = 0
    while True:
        while whole in done:
            whole += 1
            draws = Draws(plan, place, whole, most)
            if progress is not None:
                progress(draws.count)
            if whole >= total or (enough is not None and enough(draws)):
                _give_up(under_way)
                return draws
        room = workers.count + AHEAD - len(under_way)
        for number in islice(wanted, max(room, 0)):
            under_way[workers.executor.submit(workers.march, plan, number)] = number
        for future in wait(under_way, return_when=FIRST_COMPLETED).done:
            number = under_way.pop(future)
            place.write(number, future.result())
            done.add(number)


def _give_up(under_way: Sequence[Future[Table]] | dict[Future[Table], int]) -> None:
    for future in under_way:
        future.cancel()

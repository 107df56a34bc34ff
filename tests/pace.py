"""Limits of time that mean the same on a slow machine: one hour of work there is a longer one."""

import time
from collections.abc import Iterator
from contextlib import contextmanager

ORDINARY_S = 0.02  # of processor time for `fixed_work`, on the machine that limits are meant for


@contextmanager
def within(seconds: float) -> Iterator[None]:
    """Fail where what is done here takes more processor time than an ordinary machine may."""
    begun = time.process_time()
    yield
    spent = time.process_time() - begun
    assert spent < seconds or spent < seconds * slowness()


def slowness() -> float:
    """Return how many times longer this machine takes just now than an ordinary one; 1 or more."""
    begun = time.process_time()
    fixed_work()
    return max(1.0, (time.process_time() - begun) / ORDINARY_S)


def fixed_work() -> int:
    """Do a piece of work that is the same everywhere."""
    return sum(len(str(number)) for number in range(400_000))

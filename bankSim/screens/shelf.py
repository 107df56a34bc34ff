"""Keeps the last answers by what was asked; bounded in number and in size."""

import threading
from collections import OrderedDict
from collections.abc import Callable
from typing import Generic, TypeVar

T = TypeVar("T")


class Shelf(Generic[T]):
    """Answers that all visitors share where they ask the very same; nobody may change them.

    Parameters
    ----------
    most : int
        Answers kept.
    most_bytes : int
        So large they may be together; the newest stays in any case.
    size : callable
        Returns about how many bytes an answer takes.
    """

    def __init__(
        self, most: int, most_bytes: int = 0, size: Callable[[T], int] = lambda answer: 0
    ) -> None:
        self._most, self._most_bytes, self._size = most, most_bytes, size
        self._kept: OrderedDict[str, T] = OrderedDict()
        self._lock = threading.Lock()

    def get(self, digest: str) -> T | None:
        """Return the answer to what was asked, if it is still there."""
        with self._lock:
            if digest in self._kept:
                self._kept.move_to_end(digest)
            return self._kept.get(digest)

    def put(self, digest: str, answer: T) -> T:
        """Keep an answer, and let go what was not asked for the longest."""
        with self._lock:
            self._kept[digest] = answer
            self._kept.move_to_end(digest)
            while len(self._kept) > 1 and self._is_too_much():
                self._kept.popitem(last=False)
        return answer

    def __len__(self) -> int:
        return len(self._kept)

    def _is_too_much(self) -> bool:
        total = sum(map(self._size, self._kept.values()))
        return len(self._kept) > self._most or total > self._most_bytes > 0

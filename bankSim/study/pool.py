"""All numbers of a packed bank in one array, so that a draw is a few numbers at known places."""

from dataclasses import dataclass
from typing import Any

import numpy as np

from bankSim.kernels import arrays as k
from bankSim.kernels.arrays import Floats, Ints

LOGS = ("rows", "events")  # what a fresh start may leave as it is


@dataclass(frozen=True, eq=False)
class Pool:
    """A packed bank and its run as views into one array.

    Parameters
    ----------
    numbers : array (s,)
        Everything; whole numbers as their bits. In the units of `kernels.arrays`.
    bank : kernels Bank
    run : kernels Run
    starts : dict
        Where each array begins.
    fresh : int
        So many numbers a fresh start must restore; the rest are logs.
    """

    numbers: Floats
    bank: k.Bank
    run: k.Run
    starts: dict[str, int]
    fresh: int

    def places(self, name: str, field: str | None = None) -> Ints:
        """Return where the numbers of an array stand, in its shape.

        Parameters
        ----------
        name : str
            Of an array of `Bank` or `Run`.
        field : str, optional
            Of its records.
        """
        array = getattr(self.bank, name) if hasattr(self.bank, name) else getattr(self.run, name)
        start, width = self.starts[name], 1
        if field is not None:
            width = array.dtype.itemsize // 8
            start += array.dtype.fields[field][1] // 8
        return start + width * np.arange(array.size, dtype=np.int64).reshape(array.shape)


def pool_of(bank: k.Bank, run: k.Run) -> Pool:
    """Copy a packed bank and its run into one array. The logs, which hold nothing yet, are left."""
    named = {**bank._asdict(), **{n: a for n, a in run._asdict().items() if n not in LOGS}}
    logs = {name: getattr(run, name) for name in LOGS}
    numbers = np.zeros(sum(array.nbytes // 8 for array in [*named.values(), *logs.values()]))
    starts, views, place, fresh = {}, {}, 0, 0
    for name, array in {**named, **logs}.items():
        starts[name] = place
        views[name] = _view(numbers, place, array)
        if name not in LOGS:
            views[name][...] = array
        place += array.nbytes // 8
        fresh = fresh if name in LOGS else place
    return Pool(
        numbers,
        k.Bank(**{name: views[name] for name in bank._fields}),
        k.Run(**{name: views[name] for name in run._fields}),
        starts,
        fresh,
    )


def _view(numbers: Floats, place: int, array: Any) -> Any:
    """Return the view of an array's place, in its shape."""
    part = numbers[place : place + array.nbytes // 8]
    view = part.view(array.dtype).reshape(array.shape)
    return view.view(np.recarray) if array.dtype.names else view

"""Finished blocks of draws: in memory, or as files that a broken-off study can go on from."""

import json
import re
from collections.abc import Mapping
from pathlib import Path
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from bankSim.errors import SimulationError
from bankSim.scenario.syntax import plain_reason
from bankSim.study.outcomes import Table
from bankSim.whole import sweep, write_whole

MANIFEST = "_study.json"  # readers of a folder of Parquet files pass over names with _
PATTERN = "block-{:06d}.parquet"
_NAME = re.compile(r"block-([0-9]+)\.parquet")
FORMAT = 1
SHORT = ("question", "seed")  # of a description: told in words when they differ
MOST_BYTES = 200_000_000  # of blocks at hand in memory


class StudyError(SimulationError):
    """A study cannot be begun or gone on with; the text says why and what to do."""


class Store(Protocol):
    """Where finished blocks are kept."""

    def finished(self) -> set[int]:
        """Return the numbers of the blocks that are there."""

    def write(self, number: int, table: Table) -> None:
        """Keep a block."""

    def names(self) -> list[str]:
        """Return the names of the columns, from the first block."""

    def column(self, name: str, blocks: int) -> NDArray[np.generic]:
        """Return a column of the first so many blocks."""


class Memory:
    """Blocks kept in memory."""

    def __init__(self) -> None:
        self._tables: dict[int, Table] = {}

    def finished(self) -> set[int]:
        """Return the numbers of the blocks that are there."""
        return set(self._tables)

    def write(self, number: int, table: Table) -> None:
        """Keep a block."""
        self._tables[number] = table

    def names(self) -> list[str]:
        """Return the names of the columns, from the first block."""
        return list(self._tables[0])

    def column(self, name: str, blocks: int) -> NDArray[np.generic]:
        """Return a column of the first so many blocks."""
        return np.concatenate([self._tables[number][name] for number in range(blocks)])


class Folder:
    """Blocks kept as Parquet files, each written beside its place and then renamed.

    Parameters
    ----------
    folder : Path
        Made where missing.
    description : mapping
        What the draws depend on; a folder with another one is refused.
    fresh : bool
        Throw the blocks of an earlier study in it away first; nothing else in it is touched.

    Raises
    ------
    StudyError
        When the folder holds draws of something else, or cannot be used.
    """

    def __init__(
        self, folder: Path, description: Mapping[str, object], *, fresh: bool = False
    ) -> None:
        self.folder = folder
        self._at_hand: dict[int, Table] = {}
        self._room = MOST_BYTES
        wanted = {**description, "format": FORMAT}
        try:
            folder.mkdir(parents=True, exist_ok=True)
            if fresh:
                self._throw_away()
            self._check(wanted)
            sweep(folder)
        except OSError as error:
            raise StudyError(f"{folder}: cannot be used ({error.strerror or error})") from error

    def finished(self) -> set[int]:
        """Return the numbers of the blocks that are there."""
        names = (file.name for file in self.folder.glob("block-*.parquet"))
        found = (_NAME.fullmatch(name) for name in names)
        return {int(one[1]) for one in found if one and one[0] == PATTERN.format(int(one[1]))}

    def write(self, number: int, table: Table) -> None:
        """Keep a block."""
        import pyarrow as pa
        import pyarrow.parquet as pq

        place = self.folder / PATTERN.format(number)
        page = pa.BufferOutputStream()
        try:
            pq.write_table(pa.table({n: pa.array(c) for n, c in table.items()}), page)
            write_whole(place, page.getvalue().to_pybytes())
        except OSError as error:
            raise StudyError(f"{place}: cannot be written ({error.strerror or error})") from error
        self._keep(number, table)

    def names(self) -> list[str]:
        """Return the names of the columns, from the first block."""
        import pyarrow as pa
        import pyarrow.parquet as pq

        place = self.folder / PATTERN.format(0)
        try:
            with place.open("rb") as page:  # pyarrow itself cannot take every name of a file
                return list(pq.read_schema(page).names)
        except (OSError, pa.ArrowException) as error:
            raise _unreadable(place, error) from error

    def column(self, name: str, blocks: int) -> NDArray[np.generic]:
        """Return a column of the first so many blocks."""
        return np.concatenate([self._block(number, name) for number in range(blocks)])

    def _block(self, number: int, name: str) -> NDArray[np.generic]:
        """Return a column of one block; blocks are kept at hand while they need little room."""
        if number not in self._at_hand:
            import pyarrow as pa
            import pyarrow.parquet as pq

            place = self.folder / PATTERN.format(number)
            kept = self._room > 0
            try:
                # `read_table` would let go of the page in a thread of its own, at some later time
                with place.open("rb") as page, pq.ParquetFile(page) as block:
                    table = block.read(columns=None if kept else [name], use_threads=False)
                columns = {one: np.asarray(table[one]) for one in {name, *table.column_names}}
            except (OSError, pa.ArrowException, KeyError) as error:
                raise _unreadable(place, error) from error
            if not kept:
                return columns[name]
            self._keep(number, columns)
            return columns[name]
        return np.asarray(self._at_hand[number][name])

    def _keep(self, number: int, table: Table) -> None:
        size = sum(column.nbytes for column in table.values())
        if self._room >= size:
            self._at_hand[number] = table
        self._room -= size

    def _check(self, wanted: Mapping[str, object]) -> None:
        place = self.folder / MANIFEST
        if not place.exists():
            if self.finished():
                raise StudyError(
                    f"{self.folder}: holds blocks of draws but no {MANIFEST} that says of what; "
                    "expected another --out"
                )
            write_whole(place, (json.dumps(wanted, indent=2) + "\n").encode())
            return
        try:
            found = json.loads(place.read_text(encoding="utf-8"))
        except ValueError as error:
            raise StudyError(f"{place}: is no JSON; expected another --out") from error
        known = found if isinstance(found, dict) else {}
        other = [name for name in wanted if known.get(name) != wanted[name]]
        if other:
            name = other[0]
            both = (
                f" ({known[name]}, not {wanted[name]})" if name in SHORT and name in known else ""
            )
            raise StudyError(
                f"{self.folder}: holds draws of another {name}{both}; they are not mixed: expected "
                "another --out, or --fresh to throw them away"
            )

    def _throw_away(self) -> None:
        """Remove finished blocks, and last the manifest, of a folder that has one."""
        if not (self.folder / MANIFEST).exists():
            return
        for number in self.finished():
            (self.folder / PATTERN.format(number)).unlink(missing_ok=True)
        (self.folder / MANIFEST).unlink()


def _unreadable(place: Path, error: Exception) -> StudyError:
    return StudyError(f"{place}: cannot be read ({plain_reason(error)}); remove it and run again")

"""What is said on standard error while somebody waits; next to nothing when that is no terminal."""

import os
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from rich.progress import TaskID

A_MINUTE = 60.0


def tell_compiling() -> None:
    """Say so when the solver must be compiled first, which happens once per installation."""
    import bankSim.kernels  # noqa: F401 - chooses the folder of compiled code

    kept = os.environ.get("NUMBA_CACHE_DIR")
    compiled = next(Path(kept).rglob("*.nbi"), None) if kept else None
    if sys.stderr.isatty() and compiled is None:
        print("compiling the solver, once per installation ...", file=sys.stderr, flush=True)


@contextmanager
def progress_bar() -> Iterator[Callable[[float], None] | None]:
    """Show a bar on standard error while the block runs."""
    if not sys.stderr.isatty():
        yield None
        return
    from rich.console import Console
    from rich.progress import Progress

    with Progress(console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("solving", total=1.0)
        yield lambda done: bar.update(task, completed=done)


@contextmanager
def stages_bar() -> Iterator[Callable[[str, int, int], None]]:
    """Show on standard error what is under way, how far it is and when it will be done at most.

    What is yielded is told the name of a stage, how much of it is finished, and how much at most.
    Where standard error is no terminal, a line now and then says so.
    """
    if not sys.stderr.isatty():
        yield _Lines()
        return
    from rich.console import Console
    from rich.progress import (
        BarColumn,
        MofNCompleteColumn,
        Progress,
        TextColumn,
        TimeRemainingColumn,
    )

    columns = (
        TextColumn("{task.description}"),
        BarColumn(),
        MofNCompleteColumn(),
        TextColumn("at most, left:"),
        TimeRemainingColumn(),
    )
    with Progress(*columns, console=Console(stderr=True), transient=True) as shown:
        tasks: dict[str, TaskID] = {}

        def tell(stage: str, done: int, total: int) -> None:
            if stage not in tasks:
                tasks[stage] = shown.add_task(stage, total=total)
            shown.update(tasks[stage], completed=min(done, total), total=total)

        yield tell


class _Lines:
    """Writes how far a stage is, at most once a minute."""

    def __init__(self) -> None:
        self.next = time.monotonic() + A_MINUTE

    def __call__(self, stage: str, done: int, total: int) -> None:
        if time.monotonic() < self.next:
            return
        self.next = time.monotonic() + A_MINUTE
        told = f"{stage}: {min(done, total):,} of {total:,} at most"
        print(told, file=sys.stderr, flush=True)


@contextmanager
def busy(what: str) -> Iterator[None]:
    """Show on standard error what is being done, and since when, while the block runs."""
    if not sys.stderr.isatty():
        yield
        return
    from rich.console import Console
    from rich.progress import Progress, SpinnerColumn, TextColumn, TimeElapsedColumn

    columns = (SpinnerColumn(), TextColumn("{task.description}"), TimeElapsedColumn())
    with Progress(*columns, console=Console(stderr=True), transient=True) as shown:
        shown.add_task(what)
        yield

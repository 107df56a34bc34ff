"""Throw damaged files at the program: python -m tests.hostile --cases 1000 --seed 1 --kind all."""

import argparse
import signal
import sys
import time
from pathlib import Path

from tests.hostile.cases import KINDS
from tests.hostile.oversee import DRIFT_BYTES, Overseer, Tally, table_of

EVERY_S = 5.0  # between two lines of progress


class Progress:
    """A line now and then on standard error."""

    def __init__(self, cases: int) -> None:
        self.cases, self.begun, self.last = cases, time.monotonic(), 0.0

    def __call__(self, tally: Tally) -> None:
        """Tell how far it is, if the last line is old enough."""
        now = time.monotonic()
        if now - self.last < EVERY_S:
            return
        self.last = now
        rate = tally.done / max(now - self.begun, 1e-9)
        left = (self.cases - tally.done) / rate / 60.0
        told = f"{tally.done} of {self.cases}, {rate:.0f} a second, some {left:.0f} min left"
        print(f"{told}; findings: {tally.findings}", file=sys.stderr, flush=True)


def main(arguments: list[str] | None = None) -> int:
    """Run; 0 without findings, 1 with some, 130 when stopped by hand."""
    parser = argparse.ArgumentParser(prog="python -m tests.hostile", description=__doc__)
    parser.add_argument("--cases", type=int, default=1000)
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--kind", choices=(*KINDS, "all"), default="all")
    parser.add_argument("--keep", type=Path, default=Path("results/hostile"),
                        help="folder for findings and slow cases (%(default)s)")  # fmt: skip
    asked = parser.parse_args(arguments)
    one = Overseer(asked.kind, asked.cases, asked.seed, asked.keep, Progress(asked.cases))
    code = 0
    for stop in (signal.SIGTERM, signal.SIGINT):  # also where a shell has it ignored
        signal.signal(stop, signal.default_int_handler)
    try:
        one.run()
    except KeyboardInterrupt:
        print("Stopped.", file=sys.stderr)
        code = 130
    print(table_of(one.tally))
    if one.tally.findings:
        print(f"kept in {asked.keep}")
    grew = one.tally.drift_bytes > DRIFT_BYTES
    return code or int(bool(one.tally.findings) or grew)


if __name__ == "__main__":
    sys.exit(main())

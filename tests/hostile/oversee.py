"""Starts workers, watches their clocks, kills those that hang, counts, keeps what was found."""

import multiprocessing
import os
import tempfile
import time
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from multiprocessing.connection import Connection
from pathlib import Path

from tests.hostile import shipped
from tests.hostile.cases import KINDS, MAIN, Case, make_case, numbers_of
from tests.hostile.judge import FINDING, RAN, REFUSED, SLOW, Verdict, judge
from tests.hostile.work import work

LIMIT_S = 5.0  # of processor time for one case; the clock on the wall gets WALL times as long
FITS = 12.0  # times as long for commands: a fit to logs that contradict each other takes its time
WALL = 6.0
WORKER_CASES = 4000  # then a fresh one, so that memory is measured again from the start
DRIFT_BYTES = 250_000_000  # from the 200th case of a worker to its last one
KEPT_ALIKE = 50  # files of findings of the same sort; all are counted


@dataclass
class Tally:
    """What came of the cases, by kind."""

    counts: Counter[tuple[str, str]] = field(default_factory=Counter)
    sorts: Counter[tuple[str, str, str]] = field(default_factory=Counter)
    slowest: dict[str, tuple[float, str]] = field(default_factory=dict)
    drift_bytes: int = 0
    spent_s: float = 0.0

    def add(self, kind: str, name: str, verdict: Verdict, spent_s: float) -> None:
        """Count one case."""
        self.counts[kind, verdict.outcome] += 1
        if verdict.words:
            self.sorts[kind, verdict.outcome, verdict.words] += 1
        self.slowest[kind] = max(self.slowest.get(kind, (0.0, "")), (spent_s, name))

    def of(self, kind: str, *outcomes: str) -> int:
        """Return how many cases of a kind came out so."""
        return sum(self.counts[kind, outcome] for outcome in outcomes)

    @property
    def done(self) -> int:
        return sum(self.counts.values())

    @property
    def findings(self) -> int:
        return sum(self.of(kind, FINDING) for kind in KINDS)


@dataclass
class Overseer:
    """One run of so many cases."""

    kind: str
    cases: int
    seed: int
    keep: Path | None = None
    told: Callable[[Tally], None] = lambda tally: None
    tally: Tally = field(default_factory=Tally)

    def run(self) -> Tally:
        """Judge all cases; a stop by hand leaves the tally of those that were judged."""
        wanted = numbers_of(self.kind, self.cases)
        _warm_up()
        begun = time.monotonic()
        try:
            while wanted:
                used = self._one_worker(wanted[:WORKER_CASES])
                wanted = wanted[used:]
        finally:
            self.tally.spent_s = time.monotonic() - begun
        return self.tally

    def _one_worker(self, wanted: list[tuple[str, int]]) -> int:
        """Let one worker judge what it can; return how many cases are done with."""
        context = multiprocessing.get_context("fork")
        ours, theirs = context.Pipe(duplex=False)
        worker = context.Process(target=work, args=(theirs, self.seed, wanted), daemon=True)
        worker.start()
        theirs.close()
        try:
            return self._watch(ours, worker.pid or 0, wanted)
        finally:
            worker.kill()
            worker.join()
            ours.close()

    def _watch(self, talk: Connection, pid: int, wanted: list[tuple[str, int]]) -> int:
        at, early = 0, 0
        wall = time.monotonic()
        spent = _processor_s(pid)
        while True:
            if not talk.poll(0.25):
                limit_s = LIMIT_S * (FITS if wanted[at][0] == "commands" else 1.0)
                if _processor_s(pid) - spent > limit_s or time.monotonic() - wall > WALL * limit_s:
                    return self._over(wanted, at, "hang", f"no answer after {limit_s:g} s")
                continue
            try:
                word, place, verdict, spent_s, bytes_now = talk.recv()
            except EOFError:
                return self._over(wanted, at, "the process died", "killed, or out of memory")
            if word == "done":
                return len(wanted)
            at, wall, spent = place, time.monotonic(), _processor_s(pid)
            if word == "end":
                self._note(wanted[place], verdict, spent_s)
                early = bytes_now if place == 200 else early
                if early and bytes_now - early > self.tally.drift_bytes:
                    self.tally.drift_bytes = bytes_now - early

    def _over(self, wanted: list[tuple[str, int]], at: int, words: str, more: str) -> int:
        self._note(wanted[at], Verdict(FINDING, words, more), LIMIT_S)
        return at + 1

    def _note(self, which: tuple[str, int], verdict: Verdict, spent_s: float) -> None:
        kind, number = which
        name = f"{kind}-{self.seed}-{number}"
        self.tally.add(kind, name, verdict, spent_s)
        if verdict.outcome in (FINDING, SLOW):
            self._keep(kind, number, verdict)
        self.told(self.tally)

    def _keep(self, kind: str, number: int, verdict: Verdict) -> None:
        """Write the files of a case and what came of it into a folder of its own."""
        alike = self.tally.sorts[kind, verdict.outcome, verdict.words]
        if self.keep is None or alike > KEPT_ALIKE:
            return
        case = make_case(kind, self.seed, number)
        folder = self.keep / verdict.outcome / case.name
        folder.mkdir(parents=True, exist_ok=True)
        case.put(folder)
        (folder / "what.txt").write_text(f"{verdict.words}\n\n{verdict.more}\n", encoding="utf-8",
                                         errors="backslashreplace")  # fmt: skip


def _warm_up() -> None:
    """Load what is compiled before workers are forked: it is no part of any case."""
    with tempfile.TemporaryDirectory(prefix="hostile-") as name:
        for kind, content in (("banks", shipped.scenarios()["weak-cell.toml"]),
                              ("logs", shipped.logs()[0])):  # fmt: skip
            judge(Case(kind, 0, 0, {MAIN[kind]: content}), Path(name))


def _processor_s(pid: int) -> float:
    """Return the processor time of a process; 0 where the system does not tell."""
    try:
        fields = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
    except OSError:
        return 0.0
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def table_of(tally: Tally) -> str:
    """Return the table of a run, with the sorts of findings and the slowest cases below."""
    form = "{:10}{:>9}{:>9}{:>9}{:>7}{:>10}{:>11}"
    lines = [form.format("kind", "cases", REFUSED, RAN, SLOW, "findings", "longest s")]
    for kind in KINDS:
        row = [tally.of(kind, one) for one in (REFUSED, RAN, SLOW, FINDING)]
        if sum(row):
            lines.append(form.format(kind, sum(row), *row, f"{tally.slowest[kind][0]:.2f}"))
    row = [sum(tally.of(kind, one) for kind in KINDS) for one in (REFUSED, RAN, SLOW, FINDING)]
    lines.append(form.format("together", sum(row), *row, ""))
    drift = f"{tally.drift_bytes / 1e6:.0f} MB (bound {DRIFT_BYTES / 1e6:.0f} MB)"
    lines.append(f"{tally.spent_s:.0f} s; memory of a worker grew by at most {drift}")
    for (kind, outcome, words), count in sorted(tally.sorts.items(), key=lambda item: -item[1]):
        lines.append(f"  {count:6} {kind} {outcome}: {words}")
    return "\n".join(lines)

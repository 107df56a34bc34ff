"""A case: some files, made from a kind, a seed and a number, always the same."""

import random
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from tests.hostile import make_banks, make_commands, make_scenarios, make_tables

MAIN = {
    "scenarios": "bank.toml",
    "logs": "log.csv",
    "tables": "table.csv",
    "profiles": "profile.csv",
    "banks": "bank.toml",
    "commands": "log.csv",
}
KINDS = tuple(MAIN)
# of 100 cases of kind "all": reading a table is quick, a run takes its time
SHARES = {"scenarios": 15, "logs": 23, "tables": 30, "profiles": 28, "banks": 2, "commands": 2}

MAKERS: dict[str, Callable[[random.Random], dict[str, bytes]]] = {
    "scenarios": make_scenarios.scenario,
    "logs": make_tables.log,
    "tables": make_tables.table,
    "profiles": make_tables.profile,
    "banks": make_banks.bank,
    "commands": make_commands.command,
}


@dataclass(frozen=True)
class Case:
    """Files to be read; `main` is the one that is handed over."""

    kind: str
    seed: int
    number: int
    files: dict[str, bytes]

    @property
    def main(self) -> str:
        return MAIN[self.kind]

    @property
    def name(self) -> str:
        return f"{self.kind}-{self.seed}-{self.number}"

    def put(self, folder: Path) -> Path:
        """Write the files; return the main one."""
        for name, content in self.files.items():
            (folder / name).write_bytes(content)
        return folder / self.main


def make_case(kind: str, seed: int, number: int) -> Case:
    """Make a case; the same three always give the same bytes."""
    rng = random.Random(f"{kind}/{seed}/{number}")
    return Case(kind, seed, number, MAKERS[kind](rng))


def numbers_of(kind: str, cases: int) -> list[tuple[str, int]]:
    """Name the cases of a run: one kind, or all kinds by their shares, interleaved."""
    if kind != "all":
        return [(kind, number) for number in range(cases)]
    turn = [name for name, share in SHARES.items() for _ in range(share)]
    random.Random(0).shuffle(turn)
    counts = dict.fromkeys(KINDS, 0)
    wanted = []
    for place in range(cases):
        name = turn[place % len(turn)]
        wanted.append((name, counts[name]))
        counts[name] += 1
    return wanted

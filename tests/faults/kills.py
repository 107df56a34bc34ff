"""Kill the program at random moments and look at what it left.

``python -m tests.faults.kills --times 200 --seed 1`` prints a line a command: how often it was
killed, how often it was done before, and every fault found. Exit code 1 when there is one.

Commands run in a child process forked from one that has imported everything, so that the moment
of the kill falls into the work and the writing, not into the start of Python.
"""

import argparse
import hashlib
import io
import json
import os
import random
import shutil
import signal
import sys
import tempfile
import time
import traceback
import zipfile
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path

import pyarrow.parquet as pq
from PIL import Image

from bankSim.cli.main import main as banksim
from bankSim.whole import MARK, NOTE

SCENARIO = Path(__file__).parents[2] / "scenarios" / "weak-cell.toml"
LOG = SCENARIO.parent / "logs" / "synthetic-older-capacity.csv"


def words_of(command: str, seed: int) -> list[str]:
    """The words of a command; what they write depends on the seed, so old and new differ."""
    file, title = str(SCENARIO), f"Asked {seed}"
    return {
        "run": ["run", file, "--out", "run", "--relative-tolerance", f"{(1 + seed) * 1e-5:g}"],
        "study": ["study", file, "--draws", "60", "--no-plots", "--out", "study"],
        "study-figures": ["study", file, "--draws", "20", "--seed", str(seed), "--fresh",
                          "--out", "figures"],
        "report": ["report", file, "--no-draws", "--question", title, "--out", "report.html"],
        "netlist": ["netlist", file, "--out", "bank.cir"],
        "log": ["log", str(LOG), "--bdf", "log.csv", "--out", "log", "--json", "log.json"],
    }[command]  # fmt: skip


TOGETHER = {  # files that change with the words of a command
    "run": ("summary.json", "timeline.csv", "events.csv"),
    "figures": ("summary.json", "draws.csv", "fan.png"),
}
COMMANDS = ("study", "report", "run", "study-figures", "netlist", "log")


def child(folder: Path, words: list[str]) -> int:
    """Start a command in the folder; return the process's number."""
    number = os.fork()
    if number:
        return number
    code = 1
    try:
        os.chdir(folder)
        os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
        os.dup2(os.open("told.txt", os.O_WRONLY | os.O_CREAT | os.O_TRUNC), 2)
        code = banksim(words)
    except BaseException:
        traceback.print_exc()
    finally:
        os._exit(code)


def wait(number: int) -> int:
    """Return how a child ended: its exit code, or minus the signal."""
    return os.waitstatus_to_exitcode(os.waitpid(number, 0)[1])


def fault_of(file: Path) -> str | None:
    """Say what is wrong with one file that can be seen; None where it is whole."""
    raw = file.read_bytes()
    try:
        _CHECKS.get(file.suffix, _is_text)(raw)
    except Exception as error:
        return f"{file.name}: {type(error).__name__} {error}"
    return None


def _is_text(raw: bytes) -> None:
    assert raw.decode("utf-8").endswith("\n"), "does not end with a line"


def _is_page(raw: bytes) -> None:
    assert raw.decode("utf-8").rstrip().endswith("</html>"), "is not closed"


def _is_zip(raw: bytes) -> None:
    with zipfile.ZipFile(io.BytesIO(raw)) as pack:
        assert pack.testzip() is None


_CHECKS: dict[str, Callable[[bytes], object]] = {
    ".json": json.loads,
    ".png": lambda raw: Image.open(io.BytesIO(raw)).load(),
    ".parquet": lambda raw: pq.read_table(io.BytesIO(raw)),
    ".html": _is_page,
    ".zip": _is_zip,
}


def visible(folder: Path) -> list[Path]:
    """Files below a folder that somebody would take for results."""
    found = [one for one in folder.rglob("*") if one.is_file() and one.name != "told.txt"]
    return [one for one in found if not any(part.startswith(MARK) for part in one.parts)]


def digests(folder: Path) -> dict[str, str]:
    """From file to a digest of what is in it."""
    return {
        str(one.relative_to(folder)): hashlib.sha256(one.read_bytes()).hexdigest()
        for one in visible(folder)
    }


def leftovers(folder: Path) -> list[Path]:
    """What killed runs left half written."""
    return list(folder.rglob(f"{MARK}*"))


def mixed(folder: Path, before: dict[str, str]) -> list[str]:
    """Say so when numbers of one folder are old and others new, and no note tells it."""
    after, told = digests(folder), []
    for group, names in TOGETHER.items():
        both = [f"{group}/{name}" for name in names if f"{group}/{name}" in before]
        states = {before[name] == after.get(name) for name in both}
        if len(states) > 1 and f"{group}/{NOTE}" not in after:
            told.append(f"{group}: old and new files without a note")
    return told


@dataclass
class Tally:
    """What became of one command."""

    ends: Counter[str] = field(default_factory=Counter)
    with_leftovers: int = 0
    with_note: int = 0
    faults: list[str] = field(default_factory=list)


def measure(folder: Path, command: str) -> float:
    """Let a command run to its end once; return how long it took. [s]"""
    start = time.monotonic()
    code = wait(child(folder, words_of(command, 0)))
    if code != 0:
        told = (folder / "told.txt").read_text()
        raise RuntimeError(f"{command} ended with {code}: {told}")
    return time.monotonic() - start


def wait_for_writing(number: int, folder: Path, known: set[str], most_s: float) -> None:
    """Wait until something new is half written, or the command has ended."""
    end = time.monotonic() + most_s
    while time.monotonic() < end:
        for _, folders, files in os.walk(folder):
            if any(n.startswith(MARK) and n not in known for n in (*folders, *files)):
                return
        if os.waitid(os.P_PID, number, os.WEXITED | os.WNOHANG | os.WNOWAIT):
            return
        time.sleep(0.0002)


def kill_once(folder: Path, command: str, seed: int, after_s: float, tally: Tally) -> None:
    """Start a command, kill it, judge what is there.

    Every other time the kill is aimed at the writing: it comes soon after something half written
    is seen.
    """
    aimed = seed % 2 == 0
    if command == "study":
        shutil.rmtree(folder / "study" / "draws", ignore_errors=True)
    before, alike = digests(folder), {one.name for one in leftovers(folder)}
    number = child(folder, words_of(command, seed))
    if aimed:
        wait_for_writing(number, folder, alike, 60.0)
        time.sleep(after_s * 0.002)
    else:
        time.sleep(after_s)
    os.kill(number, signal.SIGKILL)
    code = wait(number)
    tally.ends["killed" if code == -signal.SIGKILL else f"exit {code}"] += 1
    if code not in (0, -signal.SIGKILL):
        tally.faults.append(f"exit {code}: {(folder / 'told.txt').read_text()[-300:]}")
    now = {one.name for one in leftovers(folder)}
    tally.with_leftovers += bool(now - alike)
    tally.with_note += any(one.name == NOTE for one in visible(folder))
    missing = [name for name in before if not (folder / name).exists() and "draws" not in name]
    told = [fault_of(one) for one in visible(folder)]
    told += [*mixed(folder, before), *(f"{name}: is gone" for name in missing if NOTE not in name)]
    if len(now) > 3 * len(COMMANDS):
        told.append(f"{len(now)} leftovers pile up")
    tally.faults += [f"kill {seed} after {after_s:.3f} s: {one}" for one in told if one]


def finish(folder: Path, command: str, tally: Tally) -> None:
    """Run once more to the end: it goes on, is whole, and nothing of the killed ones is left."""
    code = wait(child(folder, words_of(command, 0)))
    if code != 0:
        tally.faults.append(f"the run after the kills ended with {code}")
    left = [one for one in leftovers(folder) if one.exists()]
    if any(one.name == NOTE for one in visible(folder)):
        tally.faults.append("the note stays after a complete run")
    tally.faults += [told for one in visible(folder) if (told := fault_of(one))]
    tally.faults += [f"left behind: {one.relative_to(folder)}" for one in left]


def kill_all(times: int, seed: int, commands: tuple[str, ...]) -> Iterator[tuple[str, Tally]]:
    """Kill every command its part of the times, at moments spread over its own duration."""
    rng = random.Random(seed)
    for place, command in enumerate(commands):
        count = times // len(commands) + (place < times % len(commands))
        tally = Tally()
        with tempfile.TemporaryDirectory(prefix="kills-") as name:
            folder = Path(name)
            lasts_s = min(measure(folder, command) for _ in range(2))
            for kill in range(1, count + 1):
                kill_once(folder, command, kill, rng.uniform(0.0, lasts_s), tally)
            finish(folder, command, tally)
        yield command, tally


def main(argv: list[str] | None = None) -> int:
    """Kill, and print what was found."""
    reader = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    reader.add_argument("--times", type=int, default=200)
    reader.add_argument("--seed", type=int, default=1)
    reader.add_argument("--commands", nargs="+", default=list(COMMANDS), choices=COMMANDS)
    asked = reader.parse_args(argv)
    start, bad = time.monotonic(), 0
    for command, tally in kill_all(asked.times, asked.seed, tuple(asked.commands)):
        ends = ", ".join(f"{count} {end}" for end, count in sorted(tally.ends.items()))
        print(f"{command}: {ends}; {tally.with_leftovers} left something half written, "
              f"{tally.with_note} left a note; {len(tally.faults)} faults", flush=True)  # fmt: skip
        for fault in tally.faults:
            print(f"    {fault}")
        bad += len(tally.faults)
    print(f"{asked.times} kills, seed {asked.seed}, {bad} faults, {time.monotonic() - start:.0f} s")
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main())

"""Solve a bank in ngspice, in a process of its own."""

import os
import subprocess
import sys
from dataclasses import dataclass, field
from pathlib import Path
from tempfile import gettempdir

import numpy as np

from bankSim.crosscheck.deck import BUS, MAX_STEP_S, build_deck
from bankSim.crosscheck.deck_rules import blocked_nodes
from bankSim.crosscheck.worker import DONE, NO_NGSPICE, NO_PYSPICE
from bankSim.errors import SimulationError
from bankSim.model.bank import Bank
from bankSim.model.curve import Floats
from bankSim.model.rule import Blocks
from bankSim.whole import workshop

TIMEOUT_S = 900.0
BLOCKED = 0.5
SHUT, LET_GO = 1, -1
Arrays = dict[str, Floats]


class SpiceError(SimulationError):
    """ngspice is missing, failed, or took too long; one line says which."""


class SpiceGaveUpError(SpiceError):
    """ngspice is there, and did not get through this netlist."""


@dataclass(frozen=True, eq=False)
class SpiceResult:
    """What ngspice found, on its own instants; the first lies a little after 0.

    Parameters
    ----------
    time_s : array (m,)
    bus_V : array (m,)
        At the take-off. [V]
    current_A : array (m, n)
        Of every battery, discharge positive. [A]
    delivered_Ah, charged_Ah : array (m, n)
        Charge given and taken so far. [Ah]
    switchings : dict
        By battery (from 0), direction and `SHUT` or `LET_GO`: every instant of it. [s]
    max_step_s : float
    """

    time_s: Floats
    bus_V: Floats
    current_A: Floats
    delivered_Ah: Floats
    charged_Ah: Floats
    switchings: dict[tuple[int, Blocks, int], Floats]
    max_step_s: float
    deck: str = field(repr=False)

    @property
    def cut_out_s(self) -> tuple[float | None, ...]:
        """When discharge of each battery was first blocked. [s]"""
        batteries = range(self.current_A.shape[1])
        found = [self.switchings[index, Blocks.DISCHARGE, SHUT] for index in batteries]
        return tuple(float(times[0]) if times.size else None for times in found)

    def voltage_V(self, times_s: Floats) -> Floats:  # noqa: N802 - the unit as printed
        """Return the voltage at the take-off, linear between ngspice's instants. [V]"""
        return np.interp(times_s, self.time_s, self.bus_V)


def solve_spice(
    bank: Bank, end_s: float, *, max_step_s: float = MAX_STEP_S, timeout_s: float = TIMEOUT_S
) -> SpiceResult:
    """Solve a bank as a netlist from 0 to `end_s`.

    Raises
    ------
    SpiceError
        When PySpice or ngspice is missing, fails, or takes longer than `timeout_s`.
    """
    deck = build_deck(bank, end_s=end_s, max_step_s=max_step_s, measures=False)
    arrays = run_deck(deck, timeout_s=timeout_s)
    time_s = arrays["time"]
    if time_s[-1] < end_s * (1.0 - 1e-9):
        raise SpiceError(f"ngspice stopped at {time_s[-1]:.6g} s of {end_s:.6g} s")
    batteries = range(1, len(bank.batteries) + 1)
    return SpiceResult(
        time_s=time_s,
        bus_V=arrays[BUS],
        current_A=np.column_stack([arrays[f"vb{k}#branch"] for k in batteries]),
        delivered_Ah=np.column_stack([arrays[f"d{k}"] for k in batteries]),
        charged_Ah=np.column_stack([arrays[f"e{k}"] for k in batteries]),
        switchings={
            (index - 1, way, step): _flips_s(arrays, bank, index, way, step)
            for index in batteries
            for way in (Blocks.CHARGE, Blocks.DISCHARGE)
            for step in (SHUT, LET_GO)
        },
        max_step_s=max_step_s,
        deck=deck,
    )


def run_deck(deck: str, *, timeout_s: float = TIMEOUT_S) -> Arrays:
    """Run a netlist and return its vectors by name, "time" among them.

    The process gets an empty home, so that nobody's start-up file changes the answer, and is
    ended with this call, also on Ctrl-C.
    """
    with workshop(Path(gettempdir())) as home:
        deck_file, arrays_file = home / "bank.cir", home / "arrays.npz"
        deck_file.write_text(deck, encoding="ascii")
        command = [sys.executable, "-m", "bankSim.crosscheck.worker"]
        try:
            done = subprocess.run(
                [*command, str(deck_file), str(arrays_file)],
                cwd=home,
                env=_environment(home),
                stdin=subprocess.DEVNULL,
                capture_output=True,
                timeout=timeout_s,
                check=False,
            )
        except subprocess.TimeoutExpired as late:
            raise SpiceError(f"ngspice did not finish within {timeout_s:g} s") from late
        if done.returncode != DONE:
            gone = done.returncode in (NO_PYSPICE, NO_NGSPICE)
            kind = SpiceError if gone else SpiceGaveUpError
            raise kind(_reason(done.returncode, done.stderr.decode(errors="replace")))
        with np.load(arrays_file) as arrays:
            return {name: np.asarray(arrays[name], dtype=float) for name in arrays.files}


def _environment(home: Path) -> dict[str, str]:
    """Return this process's environment with an empty home and this package within reach."""
    package_root = str(Path(__file__).resolve().parents[2])
    paths = [package_root, os.environ.get("PYTHONPATH", "")]
    return {
        **os.environ,
        "HOME": str(home),
        "PYTHONPATH": os.pathsep.join(path for path in paths if path),
    }


def _reason(code: int, said: str) -> str:
    """Return one line on why the worker failed."""
    if code == NO_PYSPICE:
        return (
            "PySpice is missing; install it into the same environment: pip install PySpice "
            "(or, from the project's folder, pip install '.[spice]')"
        )
    if code == NO_NGSPICE:
        return (
            "the ngspice library was not found; install it (Debian and Ubuntu: "
            "apt install libngspice0) or name its file in NGSPICE_LIBRARY_PATH"
        )
    last = said.strip().splitlines()[-1:] or [f"exit code {code}, no message"]
    return f"ngspice failed: {last[0]}"


def _flips_s(arrays: Arrays, bank: Bank, index: int, way: Blocks, step: int) -> Floats:
    """Return when a direction of battery `index` was blocked or let go, in order. [s]"""
    time_s = arrays["time"]
    node = blocked_nodes(bank.batteries[index - 1], index).get(way)
    if node is None:
        return np.empty(0)
    flips = np.diff((arrays[node] > BLOCKED).astype(int))
    after = np.flatnonzero(flips == step)
    return np.asarray(0.5 * (time_s[after] + time_s[after + 1]))

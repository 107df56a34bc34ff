"""Solve a bank in ngspice, in a process of its own."""

import os
import subprocess
import sys
from dataclasses import dataclass, field
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np

from bankSim.crosscheck.deck import BUS, MAX_STEP_S, build_deck
from bankSim.crosscheck.deck_battery import timers
from bankSim.crosscheck.worker import DONE, NO_NGSPICE, NO_PYSPICE
from bankSim.errors import SimulationError
from bankSim.model.bank import Bank
from bankSim.model.curve import Floats

TIMEOUT_S = 900.0
Arrays = dict[str, Floats]


class SpiceError(SimulationError):
    """ngspice is missing, failed, or took too long; one line says which."""


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
    cut_out_s : tuple of float or None
        When the first rule of each battery opened its switch. [s]
    max_step_s : float
    """

    time_s: Floats
    bus_V: Floats
    current_A: Floats
    delivered_Ah: Floats
    charged_Ah: Floats
    cut_out_s: tuple[float | None, ...]
    max_step_s: float
    deck: str = field(repr=False)

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
    DeckError
        When the netlist cannot express the bank.
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
        cut_out_s=tuple(_cut_out_s(arrays, bank, k) for k in batteries),
        max_step_s=max_step_s,
        deck=deck,
    )


def run_deck(deck: str, *, timeout_s: float = TIMEOUT_S) -> Arrays:
    """Run a netlist and return its vectors by name, "time" among them.

    The process gets an empty home, so that nobody's start-up file changes the answer, and is
    ended with this call, also on Ctrl-C.
    """
    with TemporaryDirectory(prefix="banksim-") as folder:
        home = Path(folder)
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
            raise SpiceError(_reason(done.returncode, done.stderr.decode(errors="replace")))
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


def _cut_out_s(arrays: Arrays, bank: Bank, index: int) -> float | None:
    """Return when the first timer of battery `index` reached its delay."""
    battery = bank.batteries[index - 1]
    found = [
        _reached(arrays["time"], arrays[node], delay_s)
        for node, delay_s in timers(battery, index, bank.temperature_K).items()
    ]
    return min((time_s for time_s in found if time_s is not None), default=None)


def _reached(time_s: Floats, value: Floats, level: float) -> float | None:
    """Return when a rising quantity first passes a level, linear between instants."""
    above = np.flatnonzero(value > level)
    if above.size == 0:
        return None
    last = int(above[0])
    pair = slice(max(last - 1, 0), last + 1)
    return float(np.interp(level, value[pair], time_s[pair]))

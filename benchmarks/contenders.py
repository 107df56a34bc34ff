"""Everyone who solves the bank, with the settings that are tried."""

from dataclasses import dataclass, replace
from importlib.util import find_spec
from typing import Any

from benchmarks import lsoda, ngspice, ours
from benchmarks.cvode import run_cvode
from benchmarks.lean_march import compile_equations
from benchmarks.timing import stopwatch

OURS = "this solver"
TOLERANCES = (1e-1, 3e-2, 1e-2, 3e-3, 1e-3, 5e-4, 2e-4, 1e-4, 3e-5)
REFERENCE_RTOL = 1e-11
GENERAL_TOLERANCES = (1e-2, 3e-3, 1e-3, 3e-4, 1e-4, 3e-5, 1e-5, 3e-6)
LONGEST_STEPS_S = (600.0, 400.0, 300.0, 200.0, 100.0, 60.0, 30.0)


@dataclass(frozen=True)
class Contender:
    """A way to solve the bank.

    Parameters
    ----------
    name : str
    knob : str
        What the setting is.
    settings : tuple of float
        From coarse to fine.
    run : callable
        run(setting) -> Outcome.
    seconds : callable
        seconds(setting) -> time of one run. [s]
    """

    name: str
    knob: str
    settings: tuple[float, ...]
    run: Any
    seconds: Any


@dataclass(frozen=True)
class Field:
    """All contenders for a bank, the reference they are judged by, and what is missing."""

    contenders: tuple[Contender, ...]
    reference: Any
    reference_name: str
    checks: tuple[tuple[str, Any], ...]
    missing: tuple[str, ...]


def line_up(bank, *, short=False):
    """Set up every contender that is installed; the reference is solved here.

    `short` leaves each of them three of its finer settings.
    """
    equations, missing = compile_equations(bank), []
    contenders = [
        _ours(OURS, bank, ours.seconds),
        _ours("the same, packing included", bank, ours.seconds_with_packing),
        _general("SciPy LSODA, the twin", lambda rtol: lsoda.run_twin(bank, rtol)),
        _general("SciPy LSODA, lean compiled", lambda rtol: lsoda.run_lean(equations, rtol)),
    ]
    checks = [
        ("this solver at 1e-8", ours.run(bank, 1e-8)),
        ("the twin at 1e-9", lsoda.run_twin(bank, 1e-9)),
    ]
    if find_spec("sksundae"):
        reference, name = run_cvode(equations, REFERENCE_RTOL), "CVODE"
        contenders.append(_general("CVODE, lean compiled", lambda rtol: run_cvode(equations, rtol)))
    else:
        missing.append("CVODE is left out: scikit-sundae is not installed")
        reference, name = lsoda.run_lean(equations, REFERENCE_RTOL), "LSODA"
    if ngspice.missing():
        missing.append(f"ngspice is left out: {ngspice.missing()}")
    else:
        contenders.append(_ngspice(bank, float(reference.cut_out_s[-1])))
    if short:
        contenders = [replace(one, settings=one.settings[-5::2]) for one in contenders]
    return Field(tuple(contenders), reference, name, tuple(checks), tuple(missing))


def _ours(name, bank, seconds):
    return Contender(
        name,
        "relative tolerance",
        TOLERANCES,
        lambda tolerance: ours.run(bank, tolerance),
        lambda tolerance: seconds(bank, tolerance),
    )


def _general(name, run):
    return Contender(name, "rtol", GENERAL_TOLERANCES, run, lambda rtol: stopwatch(run, rtol))


def _ngspice(bank, end_s):
    return Contender(
        "ngspice, transient only",
        "longest step, s",
        LONGEST_STEPS_S,
        lambda step_s: ngspice.run(bank, end_s, step_s),
        lambda step_s: ngspice.seconds(bank, end_s, step_s),
    )

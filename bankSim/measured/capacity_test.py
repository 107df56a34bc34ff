"""Evaluates capacity tests: what was delivered, how sure that is, whether the label is met."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from bankSim.errors import ParameterError
from bankSim.measured.around import after, before
from bankSim.measured.claims import Evaluation, Repeats, as_proven, evaluate, without_verdicts
from bankSim.measured.correct import Wanted
from bankSim.measured.count import Counted, Instrument, count
from bankSim.measured.current_spikes import Spikes, find_spikes
from bankSim.measured.discharge import Discharge, Ending, find_discharges
from bankSim.measured.fullness import Said, Start, starts_of, why_not_full
from bankSim.measured.lifted import lifted_lead
from bankSim.measured.log import WARNING, Log, LogError
from bankSim.measured.own_exponent import OwnExponent
from bankSim.measured.trial import Trial
from bankSim.measured.trial_corrections import corrected_trials, exponent_of_trials
from bankSim.measured.zero import Zero, find_zero
from bankSim.model.chemistry import chemistry_of
from bankSim.model.curve import Floats
from bankSim.sim.numbers import number, quoted

LABEL_PART = (0.005, 5.0)  # of the label: outside, units or label are wrong
REPEAT_PART = 0.5  # of the largest: smaller discharges are no repeats of it


@dataclass(frozen=True, slots=True)
class Question:
    """What is asked of capacity tests.

    Parameters
    ----------
    rated_Ah : float or None
        The claim on the label. [Ah]
    confidence : float
        Of all statements, between 0.5 and 1.
    instrument : Instrument
    end_V : float or None
        End of the test by voltage. [V]
    start_A : float or None
        Current above which the load counts as on. [A]
    temperature_C : float or None
        Instead of that of the log. [degC]
    wanted : Wanted
        Corrections.
    repeats : Repeats
        How well one test repeats, where the tests cannot tell.
    each : bool
        Every large discharge of a log with a charge before it is a test; else only the largest.
    """

    rated_Ah: float | None = None
    confidence: float = 0.95
    instrument: Instrument = field(default_factory=Instrument)
    end_V: float | None = None
    start_A: float | None = None
    temperature_C: float | None = None
    wanted: Wanted = field(default_factory=Wanted)
    repeats: Repeats = field(default_factory=Repeats)
    each: bool = False

    def __post_init__(self) -> None:
        for name in ("rated_Ah", "end_V", "start_A"):
            value = getattr(self, name)
            if value is not None and not 0.0 < value < math.inf:
                raise ParameterError(name, value, "more than 0")
        if self.temperature_C is not None and not -60.0 <= self.temperature_C <= 90.0:
            raise ParameterError("temperature_C", self.temperature_C, "-60 to 90")
        if not 0.5 <= self.confidence < 1.0:
            raise ParameterError("confidence", self.confidence, "0.5 to below 1")


@dataclass(frozen=True, slots=True)
class CapacityAnswer:
    """What capacity tests say.

    Parameters
    ----------
    question : Question
    trials : tuple of Trial
        All, in the order of the logs.
    measured : Evaluation
        From the Ah as measured.
    corrected : Evaluation or None
        From the corrected Ah, where asked for.
    exponent : OwnExponent or None
        Of the rate, where tests of one battery ran at clearly different currents.
    """

    question: Question
    trials: tuple[Trial, ...]
    measured: Evaluation
    corrected: Evaluation | None
    exponent: OwnExponent | None = None


@dataclass(frozen=True, eq=False)
class Course:
    """A test to be drawn: Ah delivered, voltage, current, each (n,). [Ah], [V], [A]"""

    name: str
    charge_Ah: Floats
    voltage_V: Floats
    current_A: Floats
    ending: Ending


def evaluate_tests(
    logs: Sequence[Log], units: Sequence[str], question: Question
) -> tuple[CapacityAnswer, tuple[Course, ...]]:
    """Evaluate logs of capacity tests together.

    Parameters
    ----------
    logs : sequence of Log
        One or more.
    units : sequence of str
        Which battery each log is of.
    question : Question

    Returns
    -------
    answer : CapacityAnswer
    courses : tuple of Course
        Of every trial, to be drawn.
    """
    if len(units) != len(logs):
        raise LogError(f"--units names {len(units)} logs; expected {len(logs)}, one word a log")
    found = [
        (log.file, *pair)
        for log, unit in zip(logs, units, strict=True)
        for pair in _trials(log, unit, question)
    ]
    plain = [(file, trial) for file, trial, _ in found]
    _check_units([trial for _, trial in plain], question.rated_Ah)
    own = exponent_of_trials(plain, question.wanted, question.repeats)
    trials = corrected_trials(plain, question.wanted, own)
    named = [(one.unit, one.counted.Ah, one.whole) for one in trials]
    claim = (question.rated_Ah, question.confidence, question.repeats, question.wanted.chemistry)
    measured = evaluate(named, *claim)
    fixed = [(one.unit, one.corrected, one.whole) for one in trials if one.corrected is not None]
    other = evaluate(fixed, *claim) if question.wanted.names else None
    if question.rated_Ah is not None:
        proven = [(one.unit, one.proven, one.whole) for one in trials]
        measured = as_proven(measured, proven, question.rated_Ah)
        other = None if other is None else as_proven(other, proven, question.rated_Ah)
    if any(one.spoilt for one in trials):
        measured = without_verdicts(measured)
        other = None if other is None else without_verdicts(other)
    courses = tuple(course for *_, course in found)
    return CapacityAnswer(question, trials, measured, other, own), courses


def _check_units(trials: Sequence[Trial], rated_Ah: float | None) -> None:
    """Refuse what only another unit, or another label, explains: a verdict would be nonsense."""
    if rated_Ah is None:
        return
    low, high = (part * rated_Ah for part in LABEL_PART)
    for trial in trials:
        given = trial.counted.Ah.value
        if not low <= given <= high:
            raise LogError(
                f"{quoted(trial.name)}: gave {number(given)} Ah against a label of "
                f"{number(rated_Ah)} Ah; expected units in its headers (mA or A, s or h), or "
                "another --rated-Ah; "
                "`banksim log` shows what was taken for what"
            )


def _trials(log: Log, unit: str, question: Question) -> list[tuple[Trial, Course]]:
    discharges = find_discharges(log, question.end_V, question.start_A)
    zero = find_zero(log, discharges[0].on_A, question.instrument.offset_limit_A)
    spikes = find_spikes(log.time_s, log.voltage_V, log.current_A)
    counts = [_count(log, one, question, zero, spikes) for one in discharges]
    charges = [one.Ah.value for one in counts]
    largest = int(np.argmax(charges))
    if not charges[largest] > 0.0:
        raise LogError(f"{log.file}: no charge was delivered; expected a discharge of some samples")
    starts = starts_of(log, discharges)
    chosen = [largest]
    if question.each:
        least = REPEAT_PART * charges[largest]
        large = [k for k, one in enumerate(charges) if one >= least and not starts[k].rested]
        chosen = large or chosen
    told = []
    for place, k in enumerate(chosen, 1):
        file = Path(log.file).stem
        name = file if len(chosen) == 1 else f"{file}, discharge {place}"
        others = tuple(one for j, one in enumerate(charges) if j not in chosen)
        previous = discharges[k - 1] if k else None
        later_Ah, parted_s = _later(charges, starts, k), _parted(starts, k)
        around = _Around(previous, starts[k], later_Ah, others, parted_s)
        trial = _trial(log, unit, name, discharges[k], around, counts[k], question)
        told.append((trial, _course(log, trial)))
    return told


@dataclass(frozen=True, slots=True)
class _Around:
    """What surrounds a discharge in its log."""

    previous: Discharge | None
    start: Start
    later_Ah: float
    others_Ah: tuple[float, ...]
    parted_s: float


def _parted(starts: Sequence[Start], at: int) -> float:
    """Length of the rest behind a discharge in which the battery may have been charged. [s]"""
    return starts[at + 1].unseen_s if at + 1 < len(starts) else 0.0


def _later(charges: Sequence[float], starts: Sequence[Start], at: int) -> float:
    """Charge of the discharges that follow one with nothing but rest in between. [Ah]"""
    later = 0.0
    for charge, start in zip(charges[at + 1 :], starts[at + 1 :], strict=True):
        if not start.rested:
            break
        later += charge
    return later


def _count(
    log: Log, one: Discharge, question: Question, zero: Zero | None, spikes: Spikes
) -> Counted:
    end_V = question.end_V if one.ending is Ending.END_V else None
    return count(log, one, question.instrument, end_V, zero, spikes)


def _trial(
    log: Log,
    unit: str,
    name: str,
    one: Discharge,
    around: _Around,
    counted: Counted,
    question: Question,
) -> Trial:
    temperature = _temperature(log, one, question.temperature_C)
    mean_C = None if temperature is None else temperature[0]
    seen = before(log, one, around.previous)
    said = Said(question.wanted.chemistry, question.rated_Ah, mean_C, question.instrument)
    return Trial(
        name, unit, one, float(log.time_s[one.first]), counted,
        seen, after(log, one), temperature, _weakest(log, one),
        None, (), around.others_Ah, f"{log.sign} ({log.sign_reason})",
        tuple(one.text for one in log.findings if one.severity == WARNING),
        (*log.doubts, *_zero(log, one, counted)),
        _spoilt(log, one, question),
        _lost(log, one) or why_not_full(log, one, around.start, seen, counted, said),
        around.later_Ah,
        _open_end(one, counted, around.later_Ah, question.rated_Ah), around.parted_s,
    )  # fmt: skip


def _spoilt(log: Log, one: Discharge, question: Question) -> tuple[str, ...]:
    """What makes the Ah wrong."""
    told = tuple(found.text for found in log.findings if found.spoils)
    word = question.wanted.chemistry
    return told or lifted_lead(log, one, None if word is None else chemistry_of(word))


def _lost(log: Log, one: Discharge) -> str:
    """Say that its logger started anew within it, in words; empty where it did not."""
    first, last = (int(log.rows[place]) for place in (one.first, one.last))
    at = [row for found in log.findings if found.loses for row in found.rows if first < row <= last]
    if not at:
        return ""
    return (
        f"the logger started anew in it (row {at[0]}), and what was drawn or charged until then is "
        "not in the log"
    )


def _zero(log: Log, one: Discharge, counted: Counted) -> tuple[str, ...]:
    """What the shunt reads at rest, where that is beyond its limit."""
    if counted.zero is None:
        return ()
    hours = float(log.time_s[one.last] - log.time_s[one.first]) / 3600.0
    return (counted.zero.told(hours, "this test"),)


def _open_end(one: Discharge, counted: Counted, later_Ah: float, rated_Ah: float | None) -> bool:
    """Tell whether a load may have ended a test that would reach the claim with what came later."""
    if rated_Ah is None or one.ending is not Ending.EMPTY or not later_Ah > 0.0:
        return False
    return counted.Ah.value < rated_Ah <= counted.Ah.value + later_Ah


def _temperature(
    log: Log, one: Discharge, given: float | None
) -> tuple[float, float, float] | None:
    if given is not None:
        return (given, given, given)
    if log.temperature_C is None:
        return None
    seen = log.temperature_C[one.first : one.last + 1]
    seen = seen[np.isfinite(seen)]
    if not seen.size:
        return None
    return float(seen.mean()), float(seen.min()), float(seen.max())


def _weakest(log: Log, one: Discharge) -> tuple[int, float, float] | None:
    if not log.cells_V.shape[1]:
        return None
    cells = log.cells_V[one.last]
    if not np.isfinite(cells).any():
        return None
    lowest = int(np.nanargmin(cells))
    return lowest + 1, float(cells[lowest]), float(np.nanmean(cells) - cells[lowest])


def _course(log: Log, trial: Trial) -> Course:
    span = slice(trial.discharge.first, trial.discharge.last + 1)
    time, current = log.time_s[span], log.current_A[span]
    parts = np.diff(time) * (current[1:] + current[:-1]) / 7200.0
    charge = np.concatenate([[0.0], np.cumsum(parts)])
    return Course(trial.name, charge, log.voltage_V[span], current, trial.ending)

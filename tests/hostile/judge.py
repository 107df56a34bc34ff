"""Reads, and where it can runs, one case; says what came of it."""

import dataclasses
import json
import math
import time
import traceback
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from bankSim.errors import ScenarioError, SimulationError
from bankSim.measured.log import LogError
from bankSim.measured.read import read_log
from bankSim.measured.voltage_table import read_table
from bankSim.scenario.columns import TableError
from bankSim.scenario.read import read_scenario
from bankSim.scenario.tables import read_ocv_table, read_profile
from bankSim.show.files import json_text
from bankSim.show.log_story import log_summary, tell_log
from bankSim.show.sheets import events_csv, timeline_csv
from bankSim.show.story import tell
from bankSim.sim.engine import Engine
from bankSim.sim.result import Result
from bankSim.sim.run import result_of
from tests.hostile import judge_called, refusals
from tests.hostile.cases import Case
from tests.hostile.wrong import WrongAnswerError, refuse_constant

REFUSED, RAN, SLOW, FINDING = "refused", "ran", "slow", "finding"
MARCH_S = 2.5  # of processor time: a run that gets on but would last longer is slow, and left
STEPS = 500  # between two looks at the clock
MOST_ROWS = 20_000  # of a timeline that is also written as CSV
MOST_EVENTS = 6_000  # of a run that is also told: each costs 0.3 ms, and chatter is no fault


@dataclass(frozen=True)
class Verdict:
    """What came of a case; `words` are the same for faults of the same sort, `more` tells all."""

    outcome: str
    words: str = ""
    more: str = ""


class TooSlowError(Exception):
    """A run beside the first one gets on, but would last longer than there is time."""


def judge(case: Case, folder: Path) -> Verdict:
    """Put a case into a folder and read it as the program would."""
    file = case.put(folder)
    try:
        return JUDGES[case.kind](file)
    except SimulationError as error:  # from the march: a reader's own refusals are judged below
        return Verdict(FINDING, f"while running: {str(error)[:100]}", traceback.format_exc())
    except MemoryError:
        return Verdict(FINDING, "memory", traceback.format_exc())
    except WrongAnswerError as wrong:
        return Verdict(FINDING, _alike(str(wrong)), str(wrong))
    except Exception as error:
        place = traceback.extract_tb(error.__traceback__)[-1]
        words = f"{type(error).__name__} in {Path(place.filename).name}:{place.lineno}"
        return Verdict(FINDING, words, traceback.format_exc())


def _scenario(file: Path) -> Verdict:
    try:
        scenario = read_scenario(file)
    except ScenarioError as error:
        return _refusal(refusals.of_scenario(error.faults, str(file)), error)
    engine = Engine(scenario.bank)
    begun = time.process_time()
    while not engine.go_on(STEPS):
        if time.process_time() - begun > MARCH_S:
            clock = engine.run.clock[0]
            told = f"{int(clock['steps'])} steps, {float(clock['time']):.6g} s of "
            return Verdict(SLOW, "a long run", f"{told}{scenario.bank.duration_s:.6g} s")

    if len(engine.events) > MOST_EVENTS:
        _finite("events", np.array(engine.events))
        _finite("trace", engine.trace())
        return Verdict(SLOW, "a run of many events", f"{len(engine.events)} events")

    def watch(part: float) -> None:
        if time.process_time() - begun > MARCH_S:
            raise TooSlowError(f"on joining, or without balancers: {part:.3g} of the whole")

    try:
        check_result(result_of(scenario, engine, watch))
    except TooSlowError as slow:
        return Verdict(SLOW, "a long run on joining or without balancers", str(slow))
    return Verdict(RAN)


def _log(file: Path) -> Verdict:
    try:
        log = read_log(file)
    except LogError as error:
        return _refusal(refusals.of_log(str(error), str(file)), error)
    _finite("time_s", log.time_s)
    _finite("voltage_V", log.voltage_V)
    _finite("current_A", log.current_A)
    if np.any(np.diff(log.time_s) < 0.0):
        raise WrongAnswerError("time_s falls")
    json.dumps(log_summary(log), allow_nan=False)
    tell_log(log)
    return Verdict(RAN)


def _table(file: Path) -> Verdict:
    if file.read_bytes()[:40].strip().startswith(b"voltage_V"):
        try:
            table = read_table(file)
        except LogError as error:
            return _refusal(refusals.of_log(str(error), str(file)), error)
        _finite("percent", table.reading(np.linspace(0.0, 60.0, 7)))
        return Verdict(RAN)
    try:
        curve = read_ocv_table(file)
    except TableError as error:
        return _refusal(refusals.of_curve(str(error)), error)
    _finite("voltage_V", np.asarray(curve.ocv_V(np.linspace(-0.5, 1.5, 9))))
    return Verdict(RAN)


def _profile(file: Path) -> Verdict:
    try:
        profile = read_profile(file)
    except TableError as error:
        return _refusal(refusals.of_curve(str(error)), error)
    _finite("time_s", profile.time_s)
    _finite("amount", profile.amount)
    return Verdict(RAN)


def _called(file: Path) -> Verdict:
    refused, wrong = judge_called.call(file.parent)
    if wrong:
        return Verdict(FINDING, _alike(wrong[0]), "\n".join(wrong))
    return Verdict(REFUSED if refused else RAN)


JUDGES = {"scenarios": _scenario, "banks": _scenario, "logs": _log, "tables": _table,
          "profiles": _profile, "commands": _called}  # fmt: skip


def _refusal(wrong: list[str], error: Exception) -> Verdict:
    if wrong:
        return Verdict(FINDING, _alike(wrong[0]), "\n".join([*wrong, "", str(error)]))
    return Verdict(REFUSED)


def check_result(result: Result) -> None:
    """Raise unless every number of a result is one, in the record and in what is written."""
    for part in (result.bank, *result.batteries, *result.chargers, *result.events):
        _numbers(type(part).__name__, part)
    _finite("trace", result.trace)
    json.loads(json_text(result), parse_constant=refuse_constant)
    events_csv(result)
    if len(result.trace) <= MOST_ROWS:
        timeline_csv(result)
    tell(result)


def _numbers(path: str, value: Any) -> None:
    if isinstance(value, float) and not math.isfinite(value):
        raise WrongAnswerError(f"{path} is {value}")
    if isinstance(value, tuple):
        for item in value:
            _numbers(f"{path}[]", item)
    elif dataclasses.is_dataclass(value) and not isinstance(value, type):
        for field in dataclasses.fields(value):
            _numbers(f"{path}.{field.name}", getattr(value, field.name))


def _finite(name: str, values: np.ndarray) -> None:
    if not np.isfinite(values).all():
        raise WrongAnswerError(f"{name} holds what is no number")


def _alike(text: str) -> str:
    """Return the beginning of a text, up to what differs from case to case."""
    return text.partition(": '")[0][:100]

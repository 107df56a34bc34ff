"""A prediction against the measured bank test."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from bankSim.measured.compare_columns import battery_currents
from bankSim.measured.compare_course import (
    Course,
    course_of,
    delivered_Ah,
    floor_of,
    shares_at_start,
    slip_Ah,
    starts_s,
    stops_s,
)
from bankSim.measured.compare_drive import drive_of
from bankSim.measured.compare_explain import Misfit, explain
from bankSim.measured.compare_found import (
    MEASURED,
    Compared,
    Comparison,
    Settings,
)
from bankSim.measured.compare_frame import UNTIL, WINDOWS, Frame, Meter
from bankSim.measured.compare_horizon import horizon_of, looks_cut_off
from bankSim.measured.compare_lines import HIGH, LOW, inside_of, lines_of, residual_of
from bankSim.measured.compare_runs import Progress, Runs
from bankSim.measured.compare_stops import order_of, stops_of
from bankSim.measured.log import CHARGE_POSITIVE, DISCHARGE_POSITIVE, WARNING, Log, LogError
from bankSim.measured.uses import of_the_whole
from bankSim.model.curve import Floats
from bankSim.scenario.record import Scenario
from bankSim.sim.numbers import number, span
from bankSim.sim.result import Result
from bankSim.study.blocks import Workers

LEAST_SAMPLES = 10
DIRECTION = "Direction of current"  # so begins a finding about the sign
OTHER_BANK = 1.4  # times its voltage under load
MOSTLY = 0.05  # of the charge that goes in: a bank test that gives less was read the wrong way
SMALL_SHARE = 0.05  # so much may flow from one battery into others where shares are compared


def compare(
    scenario: Scenario,
    log: Log,
    workers: Workers,
    settings: Settings | None = None,
    *,
    columns: Mapping[str, str] | None = None,
    logs: Mapping[str, Log] | None = None,
    progress: Progress | None = None,
) -> Comparison:
    """Compare a prediction with what was measured.

    Parameters
    ----------
    scenario : Scenario
        Read from a file.
    log : Log
        Of the bank: its voltage, its current, other columns.
    workers : Workers
    settings : Settings
    columns, logs : mapping, optional
        From the name of a battery to the header of its current, to its own log.
    progress : callable, optional
        Told what is being done, how much is finished, and how much at most.

    Raises
    ------
    LogError
        When the log cannot be compared: too short, no discharge, columns that fit nothing.
    """
    settings = settings or Settings()
    names = tuple(battery.name for battery in scenario.bank.batteries)
    log, turned = _turned(log, settings)
    currents = battery_currents(log, names, columns, logs)
    raw = Course(log.time_s, log.voltage_V, log.current_A, currents.current_A)
    floor_A, start_s = _start(log, raw)
    drive = drive_of(_from(raw, start_s, floor_A)) if settings.load == MEASURED else None
    runs = Runs(scenario, drive, settings.seed)
    aligned = _align(settings, log, raw, runs, (start_s, floor_A))
    frame, central, measured = aligned.frame, aligned.central, aligned.measured
    tell = None if progress is None else lambda done: progress("draws", done, settings.draws)
    drawn = runs.draws(settings.draws, workers, tell)
    lines = lines_of(frame, central, measured, drawn)
    inside = inside_of(lines, settings.meter)
    values = frame.values(frame.ended(measured))
    tolerances = frame.tolerances(values, frame.windows(measured))
    misfit = Misfit(runs, frame, measured, tolerances)
    explained = explain(misfit, central, workers, progress)
    stops = stops_of(frame, central, measured)
    spread = np.array([frame.values(one) for one in drawn])
    return Comparison(
        scenario=scenario,
        log_file=log.file,
        load=settings.load,
        names=names,
        told=(*of_the_whole(log), *turned, *currents.told, *aligned.told),
        warnings=(*aligned.warnings, *currents.warnings, *_odd(log, turned=bool(turned))),
        numbers=_numbers(frame, central, measured, spread),
        farther=_farther(spread, values, frame.errors(values)),
        stops=stops,
        order_predicted=order_of(stops, measured=False, frame=frame),
        order_measured=order_of(stops, measured=True, frame=frame),
        residual=residual_of(lines),
        inside_band=inside[0],
        inside_currents=tuple((names[n], inside[2 + n]) for n in frame.known),
        explained=explained,
        lines=lines,
        draws=settings.draws,
        seed=settings.seed,
        unknowns=runs.drawn,
        exact=runs.unknowns[len(runs.drawn) :],
        meter=settings.meter,
        result=aligned.result,
    )


@dataclass(frozen=True, eq=False)
class _Aligned:
    """A prediction and a measurement on the same clock, and how they are compared."""

    result: Result
    central: Course
    measured: Course
    frame: Frame
    told: tuple[str, ...]
    warnings: tuple[str, ...]


def _align(
    settings: Settings, log: Log, raw: Course, runs: Runs, start: tuple[float, float]
) -> _Aligned:
    """Run the middle case and shift the log onto its clock; `start` is [s] and floor [A]."""
    start_s, floor_A = start
    result = runs.result(runs.middle)
    central = course_of(result)
    shift_s, told = _shift(settings, central, raw, start_s, floor_A)
    measured = _shifted(log, raw, shift_s)
    _check_voltage(log, central, measured, floor_A)
    horizon = horizon_of(settings, result, measured, floor_A)
    _check_flows(log, measured.until(horizon.end_s), floor_A)
    _check_flows(runs.scenario, central.until(horizon.end_s), floor_A)
    more = horizon.told
    names = tuple(battery.name for battery in runs.scenario.bank.batteries)
    frame = _frame(names, measured, central, horizon.end_s, floor_A, settings.meter)
    if frame.known and not frame.with_shares:
        more = (*more, "shares at the start are left out: batteries charge each other then")
    early = looks_cut_off(central, measured, floor_A) if horizon.under_load else ()
    return _Aligned(result, central, measured, frame, (*told, *more), early)


def _turned(log: Log, settings: Settings) -> tuple[Log, tuple[str, ...]]:
    """Turn a log that was taken for one of charging only: a bank test discharges.

    Where a dark bus reads 0 V, its fall may outweigh all else that tells the direction.
    """
    given, taken = (delivered_Ah(log.time_s, sign * log.current_A) for sign in (1.0, -1.0))
    if not settings.sign_is_guessed or given > MOSTLY * taken:
        return log, ()
    other = DISCHARGE_POSITIVE if log.sign == CHARGE_POSITIVE else CHARGE_POSITIVE
    why = (
        f"the log is taken as {other}, since a bank test discharges (--sign charge or --sign "
        "discharge says it for sure)"
    )
    return replace(log, current_A=-log.current_A, sign=other, sign_reason=why), (why,)


def _start(log: Log, raw: Course) -> tuple[float, float]:
    """Return the floor of the current and the instant from which it lasts, in the log's time."""
    if log.count < LEAST_SAMPLES:
        raise LogError(f"{log.file}: {log.count} samples; expected {LEAST_SAMPLES} or more")
    floor_A = floor_of(log.current_A)
    start_s = starts_s(raw, floor_A)
    if start_s is None:
        raise LogError(
            f"{log.file}: no discharge of more than {number(floor_A, 2)} A that lasts; expected "
            "the log of a bank under load (--sign tells which direction is positive)"
        )
    return floor_A, start_s


def _check_voltage(log: Log, central: Course, measured: Course, floor_A: float) -> None:
    """Refuse the log of a bank of quite another voltage."""
    seen, own = (
        float(np.median(one.voltage_V[one.current_A > floor_A]))
        if np.any(one.current_A > floor_A)
        else float("nan")
        for one in (measured, central)
    )
    if seen < own / OTHER_BANK or seen > own * OTHER_BANK:
        raise LogError(
            f"{log.file}: {number(seen)} V under load where the scenario has {number(own)} V; "
            "expected the log of the same bank (--voltage names the column)"
        )


def _check_flows(whose: Log | Scenario, course: Course, floor_A: float) -> None:
    """Refuse a log or a scenario without a current in the time that both cover."""
    if stops_s(course.time_s, course.current_A, floor_A) <= 0.0:
        what = "log with a discharge" if isinstance(whose, Log) else "scenario with a load"
        raise LogError(
            f"{whose.file}: no current flows in the {span(float(course.time_s[-1]))} that both "
            f"cover; expected a {what} in that time (--shift-s puts the clocks together)"
        )


def _from(raw: Course, start_s: float, floor_A: float) -> Course:
    """Return the measured discharge, its time from its start."""
    first = int(np.searchsorted(raw.time_s, start_s, side="left"))
    end = int(np.searchsorted(raw.time_s, stops_s(raw.time_s, raw.current_A, floor_A), "right"))
    here = slice(first, max(end, first + 2))
    time = np.maximum(raw.time_s[here] - start_s, 0.0)
    return Course(time, raw.voltage_V[here], raw.current_A[here], raw.batteries_A[:, here])


def _shift(
    settings: Settings,
    central: Course,
    raw: Course,
    start_s: float,
    floor_A: float,
) -> tuple[float, tuple[str, ...]]:
    """Return what the log's clock shows at the scenario's 0."""
    if settings.shift_s is not None:
        how = f"as asked, {number(settings.shift_s)} s of the log's clock are the scenario's 0"
        return settings.shift_s, (how,)
    if settings.load == MEASURED:
        rest = span(max(start_s, 0.0))
        how = f"the log's current begins {rest} after its first row: that is 0 here"
        return start_s, (how,)
    own = starts_s(central, floor_A)
    if own is None:
        return start_s, ("the scenario draws no lasting current; 0 is the log's first current",)
    shift = start_s - own
    if abs(shift) < 1e-9:
        return 0.0, ("log and scenario begin together",)
    how = (
        f"the first lasting current of the log, {span(max(start_s, 0.0))} after its first row, was "
        f"put on that of the scenario, {span(max(own, 0.0))} after its start; --shift-s "
        f"{number(shift)} says the same"
    )
    return shift, (how,)


def _shifted(log: Log, raw: Course, shift_s: float) -> Course:
    """Return the measured course from the scenario's 0 on."""
    time = raw.time_s - shift_s
    first = int(np.searchsorted(time, 0.0, side="left"))
    if time.size - first < LEAST_SAMPLES:
        raise LogError(
            f"{log.file}: {time.size - first} samples are left after the shift of "
            f"{number(shift_s)} s; expected {LEAST_SAMPLES} or more"
        )
    here = slice(first, None)
    return Course(
        np.concatenate([[0.0], time[here]]),
        np.concatenate([raw.voltage_V[here][:1], raw.voltage_V[here]]),
        np.concatenate([raw.current_A[here][:1], raw.current_A[here]]),
        np.column_stack([raw.batteries_A[:, here][:, :1], raw.batteries_A[:, here]]),
    )


def _frame(
    names: tuple[str, ...],
    measured: Course,
    central: Course,
    horizon_s: float,
    floor_A: float,
    meter: Meter,
) -> Frame:
    floors = np.array([floor_of(np.nan_to_num(row)) for row in measured.batteries_A])
    floors = np.maximum(floors, 0.25 * floor_A)
    ends = [
        stops_s(cut.time_s, cut.current_A, floor_A)
        for cut in (measured.until(horizon_s), central.until(horizon_s))
    ]
    steps = np.diff(measured.time_s)
    interval_s = float(np.median(steps[steps > 0.0]))
    windows = np.linspace(0.0, UNTIL * min(ends), WINDOWS + 1)
    cut = measured.until(ends[0])
    rows = [cut.current_A, *np.nan_to_num(cut.batteries_A)]
    shares = [shares_at_start(one, floor_A)[list(measured.known)] for one in (measured, central)]
    return Frame(
        names,
        measured.known,
        horizon_s,
        floor_A,
        floors,
        interval_s,
        windows,
        meter,
        np.array([slip_Ah(cut.time_s, row) for row in rows]),
        bool(np.all([(one > -SMALL_SHARE) & (one < 1.0 + SMALL_SHARE) for one in shares])),
    )


def _numbers(
    frame: Frame, central: Course, measured: Course, spread: Floats
) -> tuple[Compared, ...]:
    predicted, seen = frame.values(central), frame.values(measured)
    low, high = np.nanpercentile(spread, (LOW, HIGH), axis=0)
    low, high = np.minimum(low, predicted), np.maximum(high, predicted)
    errors = frame.errors(seen)
    found = []
    for place, one in enumerate(frame.numbers()):
        gap, own = float(seen[place] - predicted[place]), float(predicted[place])
        slack = 2.0 * errors[place]
        found.append(
            Compared(
                key=one.key,
                text=one.text,
                unit=one.unit,
                battery=None if one.battery is None else frame.names[one.battery],
                predicted=own,
                measured=float(seen[place]),
                difference=gap,
                part=gap / own if own > 0.0 else None,
                low=float(low[place]),
                high=float(high[place]),
                error=float(errors[place]),
                inside=bool(low[place] - slack <= seen[place] <= high[place] + slack),
            )
        )
    return tuple(found)


def _farther(spread: Floats, seen: Floats, errors: Floats) -> float:
    """Return the part of the draws that are at least as far off, each by its worst number.

    Parameters
    ----------
    spread : array (draws, numbers)
    seen, errors : array (numbers,)
        Measured; two errors are taken off its distance.
    """
    low, middle, high = np.nanpercentile(spread, (LOW, 50.0, HIGH), axis=0)
    least = np.maximum(errors, 1e-9)
    up, down = np.maximum(high - middle, least), np.maximum(middle - low, least)

    def worst(values: Floats, slack: Floats) -> Floats:
        gap = values - middle
        part = np.maximum(np.abs(gap) - slack, 0.0) / np.where(gap > 0.0, up, down)
        return np.asarray(np.nanmax(part, axis=-1))

    own = worst(seen, 2.0 * errors)
    return float(np.mean(worst(spread, np.zeros_like(errors)) >= own - 1e-12))


def _odd(log: Log, *, turned: bool) -> tuple[str, ...]:
    """Say what of the log may spoil the comparison."""
    found = [
        one.text.rstrip(".")
        for one in log.findings
        if one.severity == WARNING and not (turned and one.text.startswith(DIRECTION))
    ]
    if log.gaps:
        longest = max(gap.length_s for gap in log.gaps)
        found.append(
            f"the log has {len(log.gaps)} gaps, up to {span(longest)}: across them straight lines "
            "were counted"
        )
    return tuple(found)

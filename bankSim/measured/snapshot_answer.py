"""Everything that snapshots of one battery tell, in one record."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from bankSim.measured.knee_facts import SOURCES
from bankSim.measured.log import WARNING, Log, LogError
from bankSim.measured.snapshot import Circumstances, Snapshot, take_snapshot
from bankSim.measured.snapshot_hints import (
    FullHint,
    Stopped,
    SumCheck,
    check_sum,
    hint_of_full,
    what_stopped,
)
from bankSim.measured.snapshot_log import OWN_KNEE_SD, LogShot, OwnKnee, own_knee, shot_from_log
from bankSim.measured.snapshot_repeats import Repeats, compare_repeats
from bankSim.measured.typed_voltages import Typed
from bankSim.sim.numbers import number

AS_PERCENT_AH = 100.0  # taken where no capacity is known: Ah then read as percent


@dataclass(frozen=True, eq=False)
class Answered:
    """Snapshots of one battery.

    Parameters
    ----------
    around : Circumstances
        Of the first; logs have their own currents and temperatures (`logs`).
    shots : tuple of Snapshot
        In the order given.
    stopped : tuple of Stopped
        Likewise.
    delivered_Ah : tuple of float
        Empty, or as many as snapshots. [Ah]
    sums : tuple of SumCheck
        Empty, or as many as snapshots.
    full : FullHint or None
    repeats : Repeats or None
        None for one snapshot.
    logs : tuple of LogShot
        Where they come from, if from logs.
    knee : OwnKnee or None
        Read from a log.
    percent_only : bool
        No capacity is known: Ah are percent of it.
    told : tuple of str
        How the input was read.
    assumed : tuple of str
        What was taken for granted, with sources.
    """

    around: Circumstances
    shots: tuple[Snapshot, ...]
    stopped: tuple[Stopped, ...]
    delivered_Ah: tuple[float, ...] = ()
    sums: tuple[SumCheck, ...] = ()
    full: FullHint | None = None
    repeats: Repeats | None = None
    logs: tuple[LogShot, ...] = ()
    knee: OwnKnee | None = None
    percent_only: bool = False
    told: tuple[str, ...] = ()
    assumed: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Given:
    """What a person says beside the cell voltages; `rated_Ah` may be missing.

    Parameters
    ----------
    chemistry : str
    rated_Ah, current_A, limit_V, temperature_C, rest_s : float or None
        As in `Circumstances`.
    meter_V : float
        [V]
    delivered_Ah, battery_V : sequence of float
        One for each snapshot, or one for all, or none. [Ah], [V]
    full_V : tuple of float
        Cells at the end of a charge; empty when not given. [V]
    seed : int
    """

    chemistry: str
    rated_Ah: float | None
    current_A: float | None
    limit_V: float | None
    temperature_C: float | None
    rest_s: float | None
    meter_V: float
    delivered_Ah: Sequence[float] = ()
    battery_V: Sequence[float] = ()
    full_V: tuple[float, ...] = ()
    seed: int = 1


def answer_typed(groups: Sequence[Typed], given: Given, told: Sequence[str] = ()) -> Answered:
    """Return what typed snapshots tell.

    Raises
    ------
    LogError
        Where numbers do not go together.
    """
    _check_groups(groups, given)
    rated = given.rated_Ah or (max(given.delivered_Ah) if given.delivered_Ah else AS_PERCENT_AH)
    around = _around(given, rated)
    shots = tuple(
        take_snapshot(one.voltages_V, around, step_V=one.step_V, seed=given.seed) for one in groups
    )
    bare = given.rated_Ah is None and not given.delivered_Ah
    return _complete(shots, [around] * len(shots), given, tuple(told), percent_only=bare)


def answer_logs(logs: Sequence[Log], given: Given) -> Answered:
    """Return what logs over the end of a discharge tell; each gives one snapshot.

    Each is read under its own current and temperature, where none was given for all.

    Raises
    ------
    LogError
        Where a log shows no end of a discharge, or numbers do not go together.
    """
    if given.rest_s is not None:
        raise LogError("--after-rest-min: goes with typed voltages only; a log is read where its "
                       "current still flows")  # fmt: skip
    found = tuple(shot_from_log(log) for log in logs)
    first = found[0]
    delivered = tuple(given.delivered_Ah) or tuple(one.given_Ah for one in found)
    owns = [_filled(given, one) for one in found]
    filled = replace(
        owns[0],
        delivered_Ah=delivered,
        battery_V=tuple(given.battery_V) or tuple(one.battery_V for one in found),
    )
    groups = [Typed(one.voltages_V, 0.0) for one in found]
    _check_groups(groups, filled)
    rated = given.rated_Ah or max(delivered)
    arounds = [_around(own, rated) for own in owns]
    knee = own_knee(logs[0], first, arounds[0])
    if knee is not None:
        arounds = [replace(one, stretch=knee.stretch, stretch_sd=OWN_KNEE_SD) for one in arounds]
    shots = tuple(
        take_snapshot(one.voltages_V, around, seed=given.seed)
        for one, around in zip(groups, arounds, strict=True)
    )
    odd = tuple(
        f"{log.file}: {one.text}" for log in logs for one in log.findings if one.severity == WARNING
    )
    return replace(_complete(shots, arounds, filled, odd), logs=found, knee=knee)


def _filled(given: Given, shot: LogShot) -> Given:
    """Return what was given, with the current and the temperature of a log where it was not."""
    current_A, temperature_C = given.current_A, given.temperature_C
    return replace(
        given,
        current_A=shot.current_A if current_A is None else current_A,
        temperature_C=shot.temperature_C if temperature_C is None else temperature_C,
    )


def _check_groups(groups: Sequence[Typed], given: Given) -> None:
    counts = {len(one.voltages_V) for one in groups}
    if len(counts) > 1:
        raise LogError(f"snapshots of {' and '.join(map(str, sorted(counts)))} cells; expected the "
                       "same number of cells in all repeats of one battery")  # fmt: skip
    count = counts.pop()
    for option, values in (
        ("--delivered-Ah", given.delivered_Ah),
        ("--battery-V", given.battery_V),
    ):
        if len(values) not in (0, 1, len(groups)):
            raise LogError(f"{option}: {len(values)} numbers; expected 1, or one for each of "
                           f"{len(groups)} snapshots")  # fmt: skip
    if given.full_V and len(given.full_V) != count:
        raise LogError(f"--full: {len(given.full_V)} cell voltages; expected {count}, one for each "
                       "cell, in the same order")  # fmt: skip


def _around(given: Given, rated_Ah: float) -> Circumstances:
    return Circumstances(
        rated_Ah=rated_Ah,
        chemistry=given.chemistry,
        current_A=given.current_A,
        limit_V=given.limit_V,
        temperature_C=given.temperature_C,
        meter_V=given.meter_V,
        rest_s=given.rest_s,
    )


def _complete(
    shots: tuple[Snapshot, ...],
    arounds: Sequence[Circumstances],
    given: Given,
    told: tuple[str, ...],
    *,
    percent_only: bool = False,
) -> Answered:
    """Add all hints to snapshots, each with its own circumstances."""
    around = arounds[0]
    delivered = tuple(given.delivered_Ah)
    volts = list(given.battery_V)
    volts = volts * len(shots) if len(volts) == 1 else volts
    return Answered(
        around=around,
        shots=shots,
        stopped=tuple(map(what_stopped, shots, arounds)),
        delivered_Ah=delivered,
        sums=tuple(map(check_sum, shots, arounds, volts)),
        full=hint_of_full(shots[0], given.full_V, given.meter_V) if given.full_V else None,
        repeats=compare_repeats(shots, around, delivered) if len(shots) > 1 else None,
        percent_only=percent_only,
        told=told,
        assumed=_assumed(given, around),
    )


def _assumed(given: Given, around: Circumstances) -> tuple[str, ...]:
    """List what was taken for granted, each with its source."""
    facts, lines = around.facts, []
    if around.current_A is None:
        rates = f"{number(around.rated_Ah / 20.0)} to {number(around.rated_Ah / 5.0)}"
        lines.append(f"current at cut-out not given: {rates} A (5 to 20 h rates), choice")
    if around.temperature_C is None:
        lines.append("temperature not given: 25 degC, within 5 K, choice")
    if given.rated_Ah is None:
        lines.append("capacity not given: " + (
            f"what was delivered, {number(around.rated_Ah)} Ah" if given.delivered_Ah else
            "100 Ah, so that Ah read as percent of capacity"))  # fmt: skip
    lines.append(f"cell voltages: {1000 * around.meter_V:.0f} mV each (one standard deviation), "
                 "and half of the last digit typed")  # fmt: skip
    lines.append(f"curve and resistance: {around.material.sources.curve}; "
                 f"{around.material.sources.ohmic}")  # fmt: skip
    if around.stretch is None:
        lines.append(facts.stretch_source)
    else:
        lines.append(f"knee stretched {number(around.stretch)} times, read from the log, within "
                     f"{100 * OWN_KNEE_SD:.0f} %: choice")  # fmt: skip
    return (*lines, *SOURCES, facts.limits_source)

"""Which value, moved by how much, would bring the prediction to the measurement."""

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from bankSim.measured.compare_course import Course
from bankSim.measured.compare_frame import Frame
from bankSim.measured.compare_moves import (
    METER_CURRENT,
    METER_VOLTAGE,
    WORTH,
    Explained,
    Explanation,
    Move,
)
from bankSim.measured.compare_runs import Progress, Runs
from bankSim.measured.compare_suspects import moved, reach_of, worth_a_run
from bankSim.model.curve import Floats
from bankSim.study.blocks import Workers
from bankSim.study.unknown import Unknown

VERIFIED, PAIRED, PAIRS_VERIFIED = 10, 12, 3
LEAST_PART = 0.10  # of the misfit: what removes less is not told
ENOUGH = 0.98  # of the misfit: then no pair is looked for
PAIR_PART = 0.25  # of what the best single value leaves: two must remove more than that of it
ALIKE_PART = 0.08  # of the misfit: explanations no further apart are alike
METER_SD = 40.0  # so far a reading may be off
FAINT = 0.05  # squares of sds that count while one value is moved: no more than needed
BELIEVED_SD = 3.0  # what is moved further is no rival
TRIALS = 9  # real runs to find the best move of one value


Moves = dict[int, float]


class Misfit:
    """Counts how far runs with moved values are from the measurement.

    Unknowns have their places; after them come the current meter and the voltage meter.
    """

    def __init__(self, runs: Runs, frame: Frame, measured: Course, tolerances: Floats) -> None:
        self.runs, self.frame, self.measured = runs, frame, measured
        self.tolerances = tolerances
        self.volts_at = len(runs.unknowns) + 1
        self.amps_at = len(runs.unknowns)

    def aim(self, moves: Moves) -> Floats:
        """Return the measured features as they truly were, if the meters are off by so much.

        In the units of `Frame.features`.
        """
        meter = self.frame.meter
        current = 1.0 + meter.current_percent / 100.0 * moves.get(self.amps_at, 0.0)
        voltage = 1.0 + meter.voltage_percent / 100.0 * moves.get(self.volts_at, 0.0)
        return self.frame.features(self.measured.scaled(1.0 / current, 1.0 / voltage))

    def values(self, moves: Moves) -> Floats:
        """Return the values of the unknowns; a reading that drives the bank is put right.

        In the units of the unknowns.
        """
        values = self.runs.values({n: x for n, x in moves.items() if n < self.amps_at})
        drives = self.runs.meter
        if drives is not None and self.amps_at in moves:
            part = self.frame.meter.current_percent / 100.0
            values[drives] = 1.0 / (1.0 + part * moves[self.amps_at])
        return values

    def needs_run(self, place: int) -> bool:
        """Tell whether moving it changes the prediction."""
        return place < self.amps_at or (place == self.amps_at and self.runs.meter is not None)

    def rest(self, course: Course, moves: Moves) -> Floats:
        """Return measured less predicted, in tolerances. [1]

        Source: docs/theory.md, eq. 29.1.
        """
        return (self.aim(moves) - self.frame.features(course)) / self.tolerances

    def run(self, moves: Moves) -> tuple[Floats, Course]:
        """Run with moved values; return what rests [tolerances], and the course."""
        course = self.runs.course(self.values(moves))
        return self.rest(course, moves), course

    def ends(self, place: int) -> tuple[float, float]:
        """Return how far it may be moved. [sd]"""
        if place >= self.amps_at:
            return -METER_SD, METER_SD
        reach = reach_of(self.runs.unknowns[place].spread)
        return reach.low, reach.high


def explain(
    misfit: Misfit, central: Course, workers: Workers, progress: Progress | None = None
) -> Explained:
    """Rank single values, and pairs where no single one is enough.

    Each value is run one standard deviation to either side; straight lines through these tell how
    far it must be moved; the best ones are then moved for good and run again.
    """
    base = misfit.rest(central, {})
    whole = float(base @ base)
    bank = misfit.runs.scenario.bank
    places = [*worth_a_run(misfit.runs.unknowns, bank), misfit.amps_at, misfit.volts_at]
    drives = misfit.runs.meter
    places = [place for place in places if place != drives]
    slopes = _slopes(misfit, base, central, places, workers, progress)
    ranked = _singles(misfit, base, slopes, central, workers, progress)
    best = ranked[0].removed if ranked else 0.0
    pairs: list[Explanation] = []
    if best < ENOUGH and whole > WORTH * base.size:
        pairs = _pairs(misfit, base, slopes, ranked[0] if ranked else None)
        first, left = (ranked[0].rank_by, ranked[0].left) if ranked else (whole, whole)
        pairs = [one for one in pairs if one.rank_by < first - max(9.0, PAIR_PART * left)]
    alike = [
        place
        for place, one in enumerate(ranked)
        if one.rank_by - ranked[0].rank_by <= max(4.0, ALIKE_PART * whole)
        and one.removed >= 0.5 * best
        and one.farthest <= max(BELIEVED_SD, ranked[0].farthest)
    ]
    return Explained(whole, base.size, tuple(ranked), tuple(pairs), tuple(alike), len(places))


@dataclass(frozen=True, eq=False)
class Slope:
    """How what rests changes with one value, below and above its middle. [tolerances per sd]"""

    place: int
    below: Floats
    above: Floats
    low: float
    high: float

    def at(self, sds: float) -> Floats:
        """Return the change. [tolerances]"""
        return sds * (self.above if sds >= 0.0 else self.below)

    def best(self, base: Floats) -> float:
        """Return the move that leaves least, hardly counting how far it goes. [sd]"""
        found = [0.0]
        for slope, low, high in ((self.below, self.low, 0.0), (self.above, 0.0, self.high)):
            found.append(float(np.clip(-(base @ slope) / (slope @ slope + FAINT), low, high)))
        return min(found, key=lambda x: _left(base + self.at(x), x))


def cost(rest: Floats, moves: Sequence[float]) -> float:
    """Return the misfit, and how far was moved: squares of both. All are in tolerances or sd. [1]

    Source: docs/theory.md, eq. 29.3.
    """
    return float(rest @ rest + sum(move * move for move in moves))


def _left(rest: Floats, move: float) -> float:
    return float(rest @ rest) + FAINT * move**2


def _slopes(
    misfit: Misfit,
    base: Floats,
    central: Course,
    places: Sequence[int],
    workers: Workers,
    progress: Progress | None,
) -> list[Slope]:
    steps = [
        (place, step)
        for place in places
        for end, step in zip(misfit.ends(place), (-1.0, 1.0), strict=True)
        if abs(end) > 1e-6
        for step in [step * min(abs(end), 1.0)]
    ]
    runs = [one for one in steps if misfit.needs_run(one[0])]
    values = [misfit.values({place: step}) for place, step in runs]
    tell = None if progress is None else lambda done: progress("values moved", done, len(values))
    courses = dict(zip(runs, misfit.runs.courses(values, workers, tell), strict=True))
    found: dict[int, dict[bool, Floats]] = {place: {} for place in places}
    for place, step in steps:
        rest = misfit.rest(courses.get((place, step), central), {place: step})
        found[place][step > 0.0] = (rest - base) / step
    slopes = []
    for place, sides in found.items():
        zero, (low, high) = np.zeros_like(base), misfit.ends(place)
        slopes.append(Slope(place, sides.get(False, zero), sides.get(True, zero), low, high))
    return slopes


def _singles(
    misfit: Misfit,
    base: Floats,
    slopes: Sequence[Slope],
    central: Course,
    workers: Workers,
    progress: Progress | None,
) -> list[Explanation]:
    """Move the most promising values, one of each group, and run them."""
    from bankSim.study.window import in_order

    whole = float(base @ base)
    hopes = sorted((cost(base + one.at(x := one.best(base)), (x,)), n)
                   for n, one in enumerate(slopes))  # fmt: skip
    groups: dict[str, Slope] = {}
    for _, place in hopes:
        groups.setdefault(_group(misfit, slopes[place].place), slopes[place])
    chosen = list(groups.values())[:VERIFIED]
    tell = None if progress is None else lambda done: progress("moved for good", done, len(chosen))
    found = list(in_order(workers, lambda one: _settled(misfit, base, one, central), chosen, tell))
    told = [one for one in found if one.removed >= LEAST_PART and whole > 0.0]
    return sorted(told, key=lambda one: one.rank_by)


def _group(misfit: Misfit, place: int) -> str:
    if place >= misfit.amps_at:
        return METER_CURRENT if place == misfit.amps_at else METER_VOLTAGE
    return misfit.runs.unknowns[place].group


def _settled(misfit: Misfit, base: Floats, slope: Slope, central: Course) -> Explanation:
    """Find the best move of one value with real runs."""
    from scipy.optimize import minimize_scalar

    place, seen = slope.place, {0.0: (base, central)}

    def tried(x: float) -> float:
        if x not in seen:
            if misfit.needs_run(place):
                seen[x] = misfit.run({place: x})
            else:
                seen[x] = misfit.rest(central, {place: x}), central
        return _left(seen[x][0], x)

    guess = slope.best(base)
    if guess != 0.0:
        for x in (guess, np.clip(0.5 * guess, slope.low, slope.high)):
            tried(float(x))
        far = float(np.clip(2.0 * guess, slope.low, slope.high))
        minimize_scalar(
            tried,
            bounds=(min(0.0, far), max(0.0, far)),
            method="bounded",
            options={"maxiter": TRIALS, "xatol": 0.02},
        )
    best = min(seen, key=lambda x: _left(seen[x][0], x))
    rest, course = seen[best]
    return _explanation(misfit, base, {place: best}, rest, misfit.frame.values(course))


def _explanation(
    misfit: Misfit, base: Floats, moves: Moves, rest: Floats, numbers: Floats
) -> Explanation:
    whole, left = float(base @ base), float(rest @ rest)
    return Explanation(
        moves=tuple(_move(misfit, place, x) for place, x in moves.items()),
        removed=1.0 - left / whole if whole > 0.0 else 0.0,
        left=left,
        rank_by=cost(rest, list(moves.values())),
        verified=True,
        numbers=numbers,
    )


def _move(misfit: Misfit, place: int, far: float) -> Move:
    sds = float(far)
    meter = misfit.frame.meter
    if place >= misfit.amps_at:
        amps = place == misfit.amps_at
        part = (meter.current_percent if amps else meter.voltage_percent) / 100.0
        label = METER_CURRENT if amps else METER_VOLTAGE
        source = f"{100.0 * part:.3g} % of the reading (standard deviation)"
        return Move(label, None, "", "", "", 1.0, 1.0 + part * sds, sds, source)
    one: Unknown = misfit.runs.unknowns[place]
    low, high = misfit.ends(place)
    limit = sds != 0.0 and bool(min(abs(sds - low), abs(sds - high)) < 0.02)
    after = moved(one.spread, sds)
    return Move(
        one.label, one.kind, one.subject, one.key, one.unit, one.spread.value, after, sds,
        one.source, limit,
    )  # fmt: skip


def _pairs(
    misfit: Misfit, base: Floats, slopes: Sequence[Slope], best: Explanation | None
) -> list[Explanation]:
    """Return the best pairs of values, moved together and run.

    Pairs of the most promising values are chosen by their slopes; all others are tried beside the
    best single one from where it stands, since slopes change on a long way.
    """
    hopeful = sorted(slopes, key=lambda one: cost(base + one.at(x := one.best(base)), (x,)))
    groups: dict[str, Slope] = {}
    for one in hopeful:
        groups.setdefault(_group(misfit, one.place), one)
    few = list(groups.values())[:PAIRED]
    solved = [
        (*_solved(base, one, other), one, other) for one, other in itertools.combinations(few, 2)
    ]
    solved.sort(key=lambda case: (case[0], case[2].place, case[3].place))
    starts = [(one, other, at) for _, at, one, other in solved[:PAIRS_VERIFIED]]
    if best is not None:
        starts += _beside(misfit, slopes, list(groups.values()), best)
    found = [_refined(misfit, base, (one, other), at) for one, other, at in starts]
    found.sort(key=lambda one: one.rank_by)
    once = {frozenset(move.label for move in one.moves): one for one in reversed(found)}
    return sorted(once.values(), key=lambda one: one.rank_by)


def _beside(
    misfit: Misfit, slopes: Sequence[Slope], others: Sequence[Slope], best: Explanation
) -> list[tuple[Slope, Slope, tuple[float, float]]]:
    """Return what promises most beside the best single value, and how far to move both."""
    (move,) = best.moves
    first = next(one for one in slopes if _move(misfit, one.place, 0.0).label == move.label)
    rest, _ = misfit.run({first.place: move.sds})
    found = [
        (cost(rest + one.at(x := one.best(rest)), (x,)), one, x)
        for one in others
        if _group(misfit, one.place) != _group(misfit, first.place)
    ]
    found.sort(key=lambda case: (case[0], case[1].place))
    return [(first, one, (move.sds, x)) for _, one, x in found[:PAIRS_VERIFIED]]


def _solved(base: Floats, one: Slope, other: Slope) -> tuple[float, tuple[float, float]]:
    """Return the best moves of two values from their slopes, and what they leave."""
    best = (float(base @ base), (0.0, 0.0))
    for first, second in itertools.product((one.below, one.above), (other.below, other.above)):
        matrix = np.column_stack([first, second])
        x = np.linalg.solve(matrix.T @ matrix + np.eye(2), -matrix.T @ base)
        a = float(np.clip(x[0], one.low, one.high))
        b = float(np.clip(x[1], other.low, other.high))
        left = cost(base + one.at(a) + other.at(b), (a, b))
        best = min(best, (left, (a, b)))
    return best


def _refined(
    misfit: Misfit, base: Floats, pair: tuple[Slope, Slope], start: tuple[float, float]
) -> Explanation:
    """Run a pair; go on from there with the same slopes while it helps."""
    one, other = pair
    best: tuple[float, tuple[float, float], Floats, Course] | None = None
    at = start
    for _ in range(4):
        moves = {one.place: at[0], other.place: at[1]}
        rest, course = misfit.run(moves)
        now = (cost(rest, at), at, rest, course)
        if best is not None and now[0] >= best[0]:
            break
        best = now
        matrix = np.column_stack(
            [one.above if at[0] >= 0.0 else one.below, other.above if at[1] >= 0.0 else other.below]
        )
        step = np.linalg.solve(matrix.T @ matrix + np.eye(2), -matrix.T @ rest - np.array(at))
        at = (
            float(np.clip(at[0] + step[0], one.low, one.high)),
            float(np.clip(at[1] + step[1], other.low, other.high)),
        )
    assert best is not None
    moves = {one.place: best[1][0], other.place: best[1][1]}
    return _explanation(misfit, base, moves, best[2], misfit.frame.values(best[3]))

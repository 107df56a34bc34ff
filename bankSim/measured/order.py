"""Makes time rise: midnights, clock changes, shared stamps, newest first; finds gaps."""

from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from bankSim.measured.log import NOTE, WARNING, Finding, Gap, Rows
from bankSim.measured.noted import FEW, rows_told
from bankSim.model.curve import Floats
from bankSim.sim.numbers import number, span

DAY_S, YEAR_S = 86_400.0, 365.25 * 86_400.0
CLOCK_CHANGE_S = 7_200.0  # a clock that falls back by more was lost, not put back
RUNS_OVER_S = (DAY_S / 2.0, DAY_S, 65_536.0)  # no am and pm, no date, a counter of 16 bits
SHORT_USUAL_S = 900.0  # between samples: with more, such a length is met by chance
MANY_SHARED = 0.25  # of all steps: from here on the clock is coarse
GAP = 5.0  # times the usual distance
MOST_GAPS = 2_000


@dataclass
class Ordered:
    """Times that never fall, in the order in which samples are to stand.

    Parameters
    ----------
    time_s : array (n,)
        Since the first sample. [s]
    turn : array (n,)
        Which sample of the file stands at each place.
    findings : list of Finding
    """

    time_s: Floats
    turn: Rows
    findings: list[Finding] = field(default_factory=list)


def put_in_order(time_s: Floats, rows: Rows, *, of_day: bool) -> Ordered:
    """Return times that never fall.

    Parameters
    ----------
    time_s : array (n,)
        As read. [s]
    rows : array (n,)
    of_day : bool
        Clock times without a date: a fall may be midnight.
    """
    found: list[Finding] = []
    turn = np.arange(time_s.size)
    turned = _newest_first(time_s, of_day=of_day)
    if turned:
        turn = turn[::-1]
        time_s, rows = time_s[turn], rows[turn]
        found.append(
            Finding("The newest sample stands first; the order was turned.", severity=NOTE)
        )
    if not turned and not of_day and _only_shuffled(time_s):
        late = np.flatnonzero(time_s < np.maximum.accumulate(time_s))
        _tell(found, rows, late, "written out of order; sorted by time.", WARNING)
        turn = np.argsort(time_s, kind="stable")
        time_s, rows = time_s[turn], rows[turn]
    time_s = time_s - time_s[0]
    if of_day:
        time_s = _past_midnight(time_s, rows, found)
    time_s = _lone_stamps(time_s, rows, found)
    time_s = _clock_changes(time_s, rows, found)
    told = len(found)
    time_s = _shared(time_s, rows, found)
    if len(found) > told:
        _once(found)
    return Ordered(time_s - time_s[0], turn, found)


def written_twice(time_s: Floats, voltage_V: Floats, current_A: Floats) -> NDArray[np.bool_]:
    """Tell which samples repeat earlier ones after the time fell back; (n,).

    None does where some samples that fell back are new, as after a clock change, or where all are
    alike, as in a rest.
    """
    twice = np.zeros(time_s.size, bool)
    back = np.flatnonzero(time_s < np.maximum.accumulate(time_s))
    if not back.size or back.size > 0.5 * time_s.size:
        return twice
    triples = np.column_stack([time_s, voltage_V, current_A])
    _, firsts = np.unique(triples, axis=0, return_index=True)
    first = np.zeros(time_s.size, bool)
    first[firsts] = True
    alike = back.size > FEW and np.ptp(voltage_V[back]) == 0.0
    if not first[back].any() and not alike:
        twice[back] = True
        last = back[np.diff(back, append=time_s.size + 9) > 1] + 1  # the sample it fell back from
        last = last[last < time_s.size]
        twice[last[~first[last]]] = True
    return twice


def twice_finding(twice: NDArray[np.bool_], rows: Rows) -> list[Finding]:
    """Tell which rows were left out because they stand in the file twice."""
    found: list[Finding] = []
    places = np.flatnonzero(twice)
    if places.size:
        _tell(found, rows, places, "written once more, left out.", WARNING)
    return found


def _newest_first(time_s: Floats, *, of_day: bool) -> bool:
    steps = np.diff(time_s)
    steps = steps[steps != 0.0]
    if steps.size < 2:
        return bool(steps.size == 1 and steps[0] < 0.0 and not of_day)
    return bool(np.mean(steps < 0.0) > 0.8)


def _only_shuffled(time_s: Floats) -> bool:
    """Tell whether sorting alone makes the clock even, as it never does after a clock change."""
    steps = np.diff(time_s)
    if not np.any(steps < 0.0):
        return False
    usual, in_order = usual_s(time_s), np.diff(np.sort(time_s))
    if float(in_order.min()) < 0.6 * usual:
        return False
    return bool(np.sum(in_order > 1.5 * usual) < np.sum(steps > 1.5 * usual))


def _past_midnight(time_s: Floats, rows: Rows, found: list[Finding]) -> Floats:
    falls = np.flatnonzero(np.diff(time_s) < -DAY_S / 2.0) + 1
    if not falls.size:
        return time_s
    days = np.zeros(time_s.size)
    days[falls] = DAY_S
    text = f"{rows_told(rows[falls[:FEW]].tolist(), falls.size)}: past midnight; a new day begins."
    found.append(Finding(text, tuple(rows[falls[:FEW]].tolist()), int(falls.size)))
    return time_s + np.cumsum(days)


def _once(found: list[Finding]) -> None:
    """Take back that one lone row shares a stamp, where an earlier finding is about it."""
    before = {row for one in found[:-1] for row in one.rows}
    if found and found[-1].count <= len(found[-1].rows) and before >= {*found[-1].rows}:
        found.pop()


def usual_s(time_s: Floats) -> float:
    """Return the usual distance of two samples that are apart, 0 where none are. [s]"""
    steps = np.diff(time_s)
    steps = steps[steps > 0.0]
    return float(np.median(steps)) if steps.size else 0.0


def _lone_stamps(time_s: Floats, rows: Rows, found: list[Finding]) -> Floats:
    """Put single stamps that stand out of line between their neighbours."""
    if time_s.size < 4:
        return time_s
    usual = usual_s(time_s)
    before, here, after = time_s[:-2], time_s[1:-1], time_s[2:]
    sound = (after >= before) & (after - before < 10.0 * max(usual, 1e-9))
    lone = np.flatnonzero(((here < before) | (here > after)) & sound) + 1
    strict = lone[time_s[lone + 1] > time_s[lone - 1]]
    beside = np.isin(lone, np.concatenate([strict - 1, strict + 1]))
    lone = lone[np.isin(lone, strict) | ~beside]  # the one that fits in between is wrong
    lone = lone[np.diff(lone, prepend=-9) > 1]
    if not lone.size:
        return time_s
    mended = time_s.copy()
    mended[lone] = (time_s[lone - 1] + time_s[lone + 1]) / 2.0
    _tell(
        found, rows, lone, "time stamp out of line; put half-way between its neighbours.", WARNING
    )
    return mended


def _clock_changes(time_s: Floats, rows: Rows, found: list[Finding]) -> Floats:
    """Let time go on with the usual interval where the clock falls back; tell why it may have."""
    steps = np.diff(time_s)
    back = np.flatnonzero(steps < 0.0)
    if not back.size:
        return time_s
    usual, far = usual_s(time_s), -steps[back]
    goes_on = f"time goes on with the usual interval of {span(usual)}"
    over = _runs_over(far, usual)
    put_back = (far <= CLOCK_CHANGE_S) & ~over
    changed, restarted = back[put_back] + 1, back[~put_back & ~over] + 1
    if over.any():
        text = (
            f"the clock falls back by {_far(far[over])}, as one does that begins anew after half a "
            "day, a day or 65536 s, just where the next sample was due; "
        )
        _tell(found, rows, back[over] + 1, f"{text}{goes_on}.", WARNING)
    if changed.size:
        text = f"the clock jumps back by {_far(-steps[changed - 1])}, as after a clock change; "
        _tell(found, rows, changed, f"{text}{goes_on}.", WARNING)
    if restarted.size:
        text = (
            f"the clock falls back by {_far(-steps[restarted - 1])}, as when a logger starts anew "
            "after its power failed: how long it stood still, and what was drawn or charged "
            f"meanwhile, the log does not show; {goes_on}, as if nothing was lost."
        )
        _tell(found, rows, restarted, text, WARNING)
        found[-1] = replace(found[-1], on_top=True, loses=True)
    steps[back] = usual
    return np.concatenate([[0.0], np.cumsum(steps)])


def _runs_over(far_s: Floats, usual_s: float) -> NDArray[np.bool_]:
    """Tell where a clock fell back by its whole range less the usual interval, and lost nothing."""
    if not 0.0 < usual_s <= SHORT_USUAL_S:
        return np.zeros(far_s.size, bool)
    apart = np.abs(np.subtract.outer(np.asarray(RUNS_OVER_S) - usual_s, far_s))
    return np.asarray((apart <= 0.5 * usual_s).any(axis=0))


def _far(lengths_s: Floats) -> str:
    """Say how far clocks fell back: the one length, or the middle of several."""
    far = float(np.median(lengths_s))
    long = f"{number(far / YEAR_S, 3)} years" if far > YEAR_S else f"{number(far / DAY_S, 3)} days"
    told = span(far) if far <= 2.0 * DAY_S else long
    return told if lengths_s.size == 1 else f"{told} (the middle of them)"


def _shared(time_s: Floats, rows: Rows, found: list[Finding]) -> Floats:
    steps = np.diff(time_s)
    same = np.flatnonzero(steps == 0.0) + 1
    if not same.size or not np.any(steps > 0.0):
        if same.size:
            _tell(found, rows, same, "the same time stamp as the row before; kept.", WARNING)
        return time_s
    if same.size < MANY_SHARED * steps.size:
        _tell(found, rows, same, "the same time stamp as the row before; kept.")
        return time_s
    tick = float(np.min(steps[steps > 0.0]))
    firsts = np.flatnonzero(np.concatenate([[True], steps > 0.0]))
    sizes = np.diff(np.append(firsts, time_s.size))
    room = np.minimum(np.diff(time_s[firsts], append=np.inf), tick)
    parts = (np.arange(time_s.size) - np.repeat(firsts, sizes)) / np.repeat(sizes, sizes)
    if sizes[0] < np.median(sizes):  # the log began within the first tick
        first = slice(0, int(sizes[0]))
        parts[first] = 1.0 - (sizes[0] - np.arange(sizes[0])) / np.median(sizes)
    text = f"share the time stamp of the row before; spread evenly within {span(tick)}."
    _tell(found, rows, same, text)
    return np.asarray(time_s + parts * np.repeat(room, sizes))


def _tell(found: list[Finding], rows: Rows, places: Rows, text: str, severity: str = NOTE) -> None:
    few = tuple(rows[places[:FEW]].tolist())
    told = f"{rows_told(few, int(places.size))}: {text}"
    found.append(Finding(told, few, int(places.size), severity))


def find_gaps(time_s: Floats) -> tuple[Gap, ...]:
    """Return stretches without samples: much longer than the steps before and after them."""
    steps = np.diff(time_s)
    if steps.size < 3:
        return ()
    usual = usual_s(time_s)
    likely = np.flatnonzero((steps > GAP * usual) | (steps > GAP * np.roll(steps, 1)))
    likely = likely[steps[likely] > 0.0]
    if likely.size > 50_000:
        likely = likely[np.argsort(steps[likely])[-50_000:]]
        likely.sort()
    gaps = []
    for place in likely.tolist():
        before, after = steps[max(place - 10, 0) : place], steps[place + 1 : place + 11]
        there = max((float(np.median(part)) for part in (before, after) if part.size), default=0.0)
        if there > 0.0 and steps[place] > GAP * there:
            gaps.append(Gap(place, float(steps[place]), there))
    return tuple(gaps[:MOST_GAPS])


def gap_findings(gaps: tuple[Gap, ...], rows: Rows) -> list[Finding]:
    """Tell where samples are missing."""
    if not gaps:
        return []
    longest = max(gaps, key=lambda gap: gap.length_s)
    few = tuple(int(rows[gap.before]) for gap in gaps[:FEW])
    text = (
        f"After {rows_told(few, len(gaps)).replace('Row', 'row')} samples are missing; the longest "
        f"gap is {span(longest.length_s)} where {number(longest.usual_s)} s are usual. Current and "
        "voltage are taken as a straight line across it."
    )
    return [Finding(text, few, len(gaps), WARNING)]


def once(
    time_s: Floats, voltage: Floats, current: Floats, good: NDArray[np.bool_], rows: Rows
) -> tuple[NDArray[np.bool_], list[Finding]]:
    """Return which good samples are not written a second time, and tell of those that are.

    Voltages [V], currents [A].
    """
    twice = np.zeros(good.size, bool)
    twice[good] = written_twice(time_s[good], voltage[good], current[good])
    return good & ~twice, twice_finding(twice, rows)

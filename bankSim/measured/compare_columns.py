"""Which columns of a log, or which other logs, hold the current of each battery."""

import itertools
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from bankSim.measured.compare_course import Course, floor_of, starts_s
from bankSim.measured.header_words import CURRENT, TEMPERATURE, VOLTAGE, means
from bankSim.measured.log import CHARGE_POSITIVE, Log, LogError
from bankSim.model.curve import Floats
from bankSim.sim.numbers import clean, listing, number, quoted, span

MOST_SIGNS = 8  # batteries of which every combination of signs is tried
SLACK_STEPS = 3.0  # between samples: so much sooner a log may end
GAP_PART = 0.03  # of the usual current: from here on the sum is told as a warning
CURRENT_WORDS = {"current", "amps", "ampere", "amperes", "a", "ma"}
OTHER_WORDS = {"mv", "power", "w", "wh", "ah", "mah", "energy", "charge"}
OTHER_WORDS |= {"c", "soc", "capacity", "leistung", "energie", "ladung", "kapazitaet", "puissance"}


@dataclass(frozen=True, eq=False)
class BatteryCurrents:
    """The currents of the batteries at the samples of the bank's log.

    Parameters
    ----------
    current_A : array (batteries, n)
        Discharge positive; NaN all along where there is none. [A]
    told : tuple of str
        Where each came from, which signs were turned, how well they add up.
    warnings : tuple of str
    """

    current_A: Floats
    told: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()


def battery_currents(
    log: Log,
    names: Sequence[str],
    columns: Mapping[str, str] | None = None,
    logs: Mapping[str, Log] | None = None,
) -> BatteryCurrents:
    """Find the current of every battery.

    Parameters
    ----------
    log : Log
        Of the bank, with its other columns.
    names : sequence of str
        Of the batteries.
    columns : mapping, optional
        From a battery to the header of its current.
    logs : mapping, optional
        From a battery to its own log.

    Raises
    ------
    LogError
        For an unknown battery or column, or two columns that fit one battery.
    """
    columns, logs = columns or {}, logs or {}
    for name in (*columns, *logs):
        if name not in names:
            known = ", ".join(names)
            raise LogError(f"{log.file}: no battery {clean(name)!r}; expected one of: {known}")
    both = sorted(set(columns) & set(logs))
    if both:
        raise LogError(
            f"{log.file}: {quoted(both[0])} has a column and a log; expected one of both"
        )
    found = np.full((len(names), log.count), np.nan)
    told: list[str] = []
    doubts: list[str] = []
    headers = {
        **_by_name(log, [n for n in names if n not in {*columns, *logs}], columns),
        **columns,
    }
    for place, name in enumerate(names):
        if name in headers:
            found[place] = _column(log, name, headers[name])
            told.append(f'current of {quoted(name)}: column "{clean(headers[name])}"')
        elif name in logs:
            found[place], how, lacks = _from_log(log, name, logs[name])
            told.append(how)
            doubts += lacks
    done = _added_up(log, names, found, told)
    return replace(done, warnings=(*doubts, *done.warnings))


def words_of(header: str) -> list[str]:
    """Return the words of a header in small letters: "Old pack_A" gives old, pack, a."""
    return re.findall(r"[^\W_]+", re.sub(r"(?<=[a-z]{2})(?=[A-Z])", " ", header).casefold())


def is_current(words: Sequence[str]) -> bool:
    """Tell whether words of a header, without the name of a battery, speak of a current."""
    said = set(words) & CURRENT_WORDS or means(words, CURRENT)
    others = set(words) & OTHER_WORDS or any(means(words, o) for o in (VOLTAGE, TEMPERATURE))
    return bool(said and not others)


def _by_name(log: Log, names: Sequence[str], taken: Mapping[str, str]) -> dict[str, str]:
    """Give each header that looks like a current to the battery whose name fits it best.

    That is the one that stands first in it, as "B.current_A" ends in the name of a battery "A",
    and of those the longest.
    """
    found: dict[str, list[str]] = {}
    for header in log.others:
        words = words_of(header)
        places = {name: _place(words, words_of(name)) for name in names}
        fitting = {name: at for name, at in places.items() if at is not None}
        if fitting and header not in taken.values():
            best = min(fitting, key=lambda name: (fitting[name], -len(name)))
            found.setdefault(best, []).append(header)
    for name, headers in found.items():
        if len(headers) > 1:
            given = listing([f'"{clean(one)}"' for one in headers])
            raise LogError(
                f"{log.file}: {given} all look like the current of {quoted(name)}; "
                f'say which: --column "{clean(name)}.current={clean(headers[0])}"'
            )
    return {name: headers[0] for name, headers in found.items()}


def _place(words: Sequence[str], part: Sequence[str]) -> int | None:
    """Return where a name stands among words that are of a current without it, or None."""
    length = len(part)
    for at in range(len(words) - length + 1 if length else 0):
        if list(words[at : at + length]) == list(part):
            return at if is_current([*words[:at], *words[at + length :]]) else None
    return None


def _column(log: Log, name: str, header: str) -> Floats:
    if header not in log.others:
        known = ", ".join(clean(one) for one in log.others)
        expected = f"expected one of: {known}" if known else "expected none: all others are in use"
        raise LogError(f"{log.file}: no column {clean(header)!r} for {quoted(name)}; {expected}")
    own = np.asarray(log.others[header], dtype=float)
    good = np.isfinite(own)
    if good.sum() < max(2, own.size // 2):
        raise LogError(
            f"{log.file}: column {clean(header)!r} has {int(good.sum())} numbers in {own.size} "
            "rows; expected a current in most of them"
        )
    sign = -1.0 if log.sign == CHARGE_POSITIVE else 1.0
    unit = 1e-3 if "ma" in words_of(header) else 1.0
    return np.asarray(sign * unit * np.interp(log.time_s, log.time_s[good], own[good]))


def _from_log(log: Log, name: str, own: Log) -> tuple[Floats, str, list[str]]:
    """Bring a battery's own log to the instants of the bank's; say how, and what it lacks."""
    if log.starts_at is not None and own.starts_at is not None:
        ahead_s = (own.starts_at - log.starts_at).total_seconds()
        how = "put in time by the clock"
    else:
        starts = [starts_s(plain(one), floor_of(one.current_A)) for one in (log, own)]
        if starts[0] is None or starts[1] is None:
            raise LogError(
                f"{own.file}: no current flows; expected the discharge of {quoted(name)}"
            )
        ahead_s = starts[0] - starts[1]
        how = "put in time by the start of the current, since not both logs have a clock"
    at_s = log.time_s - ahead_s
    if at_s[-1] < own.time_s[0] or at_s[0] > own.time_s[-1]:
        raise LogError(
            f"{own.file}: {how}, it has no instant in common with {log.file}; expected the log of "
            f"{quoted(name)} over the same test, with its clock set alike"
        )
    current = np.interp(at_s, own.time_s, own.current_A, left=0.0, right=0.0)
    how = f"current of {quoted(name)}: {clean(own.file)}, {how}"
    return np.asarray(current), how, _uncovered(log, name, own, at_s)


def _uncovered(log: Log, name: str, own: Log, at_s: Floats) -> list[str]:
    """Warn of a bank that gives before or after a battery's own log, whose current flows there."""
    flows, floor_A = log.current_A > floor_of(log.current_A), floor_of(own.current_A)
    slack_s = SLACK_STEPS * max(float(np.median(np.diff(one.time_s))) for one in (log, own))
    ends = (
        ("begins", "after", "until then", own.current_A[0], own.time_s[0] - at_s[flows]),
        ("ends", "before", "from there on", own.current_A[-1], at_s[flows] - own.time_s[-1]),
    )
    told = []
    for does, when, since, edge_A, apart_s in ends:
        missing_s = float(apart_s.max(initial=0.0))
        if abs(edge_A) > floor_A and missing_s > slack_s:
            told.append(
                f"the log of {quoted(name)} {does} {span(missing_s)} {when} the bank's current "
                f"does, while its own flows: {since} it counts as 0 A, which nobody measured"
            )
    return told


def plain(log: Log) -> Course:
    """Return a log as a course without batteries."""
    return Course(log.time_s, log.voltage_V, log.current_A, np.empty((0, log.count)))


def _added_up(log: Log, names: Sequence[str], found: Floats, told: list[str]) -> BatteryCurrents:
    """Check signs by Kirchhoff's law; a single current that is not measured is what is left."""
    missing = [n for n, row in enumerate(found) if not np.isfinite(row).all()]
    if len(missing) == len(names):
        told.append("no current of single batteries was found: only the bank is compared")
        return BatteryCurrents(found, tuple(told))
    warnings: list[str] = []
    there = [n for n in range(len(names)) if n not in missing]
    signs = _signs(log.current_A, found[there], whole=not missing)
    for place, sign in zip(there, signs, strict=True):
        if sign < 0.0:
            found[place] *= -1.0
            why = (
                "so that all add up to the bank's" if not missing else "as it flows with the bank's"
            )
            told.append(f"the sign of the current of {quoted(names[place])} was turned, {why}")
    if len(missing) == 1:
        found[missing[0]] = log.current_A - found[there].sum(axis=0)
        told.append(
            f"current of {quoted(names[missing[0]])}: what is left of the bank's, so the sum "
            "cannot be checked"
        )
    elif not missing:
        gap = found.sum(axis=0) - log.current_A
        rms, usual = float(np.sqrt(np.mean(gap**2))), 50.0 * floor_of(log.current_A)
        words = (
            f"the currents of the batteries add up to the bank's within {number(rms, 2)} A (rms), "
            f"{number(100.0 * rms / usual, 2)} % of what usually flows"
        )
        told.append(words)
        if rms > GAP_PART * usual:
            warnings.append(f"{words}: one of the meters is off, or a column is another one's")
    return BatteryCurrents(found, tuple(told), tuple(warnings))


def _signs(bank_A: Floats, found: Floats, *, whole: bool) -> Sequence[float]:
    """Return the signs with which the currents best make the bank's."""
    count = len(found)
    if not whole or count > MOST_SIGNS:
        return [-1.0 if float(np.dot(row, bank_A)) < 0.0 else 1.0 for row in found]
    products, aims = found @ found.T, found @ bank_A
    return min(
        itertools.product((1.0, -1.0), repeat=count),
        key=lambda s: float(np.array(s) @ products @ np.array(s) - 2.0 * np.array(s) @ aims),
    )

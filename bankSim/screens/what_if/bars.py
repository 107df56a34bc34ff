"""Small bars before and after, as a table that reads without seeing it."""

import html
from dataclasses import dataclass

from bankSim.screens.what_if.differences import digits, stranded_Ah
from bankSim.sim.numbers import clean
from bankSim.sim.result import BatteryOutcome, Result

MOST_BATTERIES = 6
LONGEST = 24
BEFORE = "repeating-linear-gradient(45deg,currentColor 0 1px,transparent 1px 4px)"


@dataclass(frozen=True, slots=True)
class Pair:
    """One number before and now.

    Parameters
    ----------
    name : str
    unit : str
    before, now : float
        In `unit`.
    scale : float
        Length of a full bar, in `unit`.
    """

    name: str
    unit: str
    before: float
    now: float
    scale: float


def pairs(before: Result, now: Result) -> list[Pair]:
    """Return what is compared: of the bank, then of each battery."""
    loads = bool(now.scenario.bank.loads)

    def bank_Ah(run: Result) -> float:  # noqa: N802 - the unit as printed
        return run.bank.delivered_Ah if loads else run.bank.charged_Ah

    def own_Ah(one: BatteryOutcome) -> float:  # noqa: N802
        return one.delivered_Ah if loads else one.charged_Ah

    top = max(bank_Ah(before), bank_Ah(now), 1e-9)
    name = "bank delivers" if loads else "bank takes in"
    found = [Pair(name, "Ah", bank_Ah(before), bank_Ah(now), top)]
    if loads:
        old_h, new_h = (run.bank.runtime_s / 3600.0 for run in (before, now))
        found.append(Pair("loads fed", "h", old_h, new_h, max(old_h, new_h, 1e-9)))
    both = zip(before.batteries, now.batteries, strict=False)
    for old, new in list(both)[:MOST_BATTERIES]:
        found.append(Pair(clean(new.name, LONGEST), "Ah", own_Ah(old), own_Ah(new), top))
    locked = stranded_Ah(before), stranded_Ah(now)
    if max(locked) > 0.001 * sum(one.rated_Ah for one in now.batteries):
        found.append(Pair("locked in", "Ah", locked[0], locked[1], top))
    return found


def bars_html(before: Result, now: Result) -> str:
    """Return the bars as a table; every text in it is escaped."""
    rows = "".join(_row(pair) for pair in pairs(before, now))
    return (
        '<table style="width:100%;border-collapse:collapse;font-size:0.875rem">'
        "<thead><tr>"
        '<th scope="col" style="text-align:left;font-weight:400">now ■ over before ▨</th>'
        '<th scope="col" aria-label="bars"></th>'
        '<th scope="col" style="text-align:right">now</th>'
        '<th scope="col" style="text-align:right;font-weight:400">before</th></tr></thead>'
        f"<tbody>{rows}</tbody></table>"
    )


def _row(pair: Pair) -> str:
    scale = max(abs(pair.before), abs(pair.now), 1e-9)
    now, before = (digits(value, scale) for value in (pair.now, pair.before))
    bars = _bar(pair.now / pair.scale, "currentColor", "0.75") + _bar(
        pair.before / pair.scale, BEFORE, "0.6"
    )
    unit = html.escape(pair.unit)
    return (
        f'<tr><th scope="row" style="text-align:left;font-weight:400;padding-right:0.6em">'
        f'{html.escape(pair.name)}</th><td style="width:45%" aria-hidden="true">{bars}</td>'
        f'<td style="text-align:right;white-space:nowrap;font-weight:600">{now} {unit}</td>'
        f'<td style="text-align:right;white-space:nowrap;padding-left:0.6em">{before} {unit}</td>'
        "</tr>"
    )


def _bar(part: float, paint: str, opacity: str) -> str:
    width = 100.0 * min(max(part, 0.0), 1.0)
    return (
        f'<div style="height:6px;margin:2px 0;width:{width:.1f}%;background:{paint};'
        f'opacity:{opacity}"></div>'
    )

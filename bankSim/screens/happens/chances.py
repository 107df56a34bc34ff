"""The chances behind the answer, in one line and in a table."""

import html
import math

from bankSim.scenario.record import Scenario
from bankSim.show.blocks import Grid
from bankSim.show.causes import first_names
from bankSim.show.words import whole_or
from bankSim.sim.numbers import listing, number, quoted, sentence
from bankSim.sim.result import Result
from bankSim.study.answers import CHARGED, main_answer
from bankSim.study.quick_fan import QuickSpread

FULL = 100  # cases; of fewer, chances are told as they were counted
RARE = 0.005
ALIKE = 1e-6
NAMES_TOLD = 3
MOSTLY = 0.5  # of the cases
WHAT_IT_MEANS = (
    "Each random case is the whole run again, with other values for what nobody knows exactly; the "
    "bands hold what 90 of 100 such cases do."
)


def chances_line(scenario: Scenario, spread: QuickSpread) -> str:
    """Say who cuts out first, how surely, and between which Ah the answer lies.

    Parameters
    ----------
    scenario : Scenario
    spread : QuickSpread
    """
    told = [
        *_firsts(spread, len(scenario.bank.batteries)),
        *_charge(spread),
        *_range(scenario, spread),
    ]
    return sentence(f"{'; '.join(told)}.")


def unlike_line(result: Result, spread: QuickSpread) -> str:
    """Say so where the run above goes another way than most cases; else empty.

    Parameters
    ----------
    result : Result
        With every value in the middle.
    spread : QuickSpread
    """
    first = first_names(result)
    likely = max(spread.first, key=lambda one: one[1], default=("", 0.0))
    start = "The run above, with every value in the middle,"
    if not first and spread.nobody < MOSTLY:
        return f"{start} has no cut-out; most cases have one."
    if first and spread.nobody > MOSTLY:
        return f"{start} has a cut-out; most cases have none."
    if first and likely[1] > MOSTLY and likely[0] not in first:
        return f"{start} has another one first than most cases."
    return ""


def chances_html(scenario: Scenario, spread: QuickSpread, result: Result) -> str:
    """Return the line for the top of the page."""
    line = f"{chances_line(scenario, spread)} {unlike_line(result, spread)}".rstrip()
    return f'<div class="answer"><p class="chances">{html.escape(line)}</p></div>'


def chances_grid(spread: QuickSpread) -> Grid:
    """Return what the cases say of each battery, 5 to 95 %."""
    first = dict(spread.first)
    rows = tuple(
        (
            name,
            _cases(first.get(name, 0.0), spread),
            _cases(at_all, spread),
            _between(spread.cut_out_h.get(name)),
            _between(spread.delivered_Ah.get(name)),
            _between(spread.stranded_Ah.get(name)),
        )
        for name, at_all in spread.cuts_out.items()
    )
    columns = (
        "Battery", f"Out first, of {_all(spread)}", f"Cuts out, of {_all(spread)}",
        "Cuts out after h", "Gives Ah", "Stranded Ah",
    )  # fmt: skip
    return Grid(columns, rows)


def _firsts(spread: QuickSpread, batteries: int) -> list[str]:
    """Name the likeliest first ones, those that are first together, and the calm cases."""
    likely = [one for one in spread.first if one[1] > RARE]
    told = []
    if likely and batteries == 1:
        told.append(f"{_in_cases(likely[0][1], spread)} it cuts out")
    elif likely:
        name, part = likely[0]
        told.append(f"{_in_cases(part, spread)} {quoted(name)} cuts out first")
        others = [
            f"{quoted(own)} in {_cases(chance, spread)}" for own, chance in likely[1:NAMES_TOLD]
        ]
        left = len(likely) - NAMES_TOLD
        if left == 1:  # it is named like the others
            others.append(f"{quoted(likely[-1][0])} in {_cases(likely[-1][1], spread)}")
        rest = sum(chance for _, chance in likely[NAMES_TOLD:]) if left > 1 else 0.0
        others += [f"one of {left} others in {_cases(rest, spread)}"] if rest else []
        told += [listing(others)] if others else []
    if spread.together > RARE:
        told.append(f"several are first at once in {_cases(spread.together, spread)}")
    if spread.nobody == 1.0:
        out = "block its discharge" if spread.blocks_charge > 0.0 else "cut out"
        told.append(f"in none of {spread.draws} random cases does a battery {out}")
    elif spread.nobody > RARE:
        told.append(f"nobody cuts out in {_cases(spread.nobody, spread)} of {_all(spread)}")
    return told


def _charge(spread: QuickSpread) -> list[str]:
    """Say how often charge is blocked, and that chargers then lose their last taker."""
    told = []
    if spread.blocks_charge > RARE:
        told.append(f"charge is blocked in {_of_band(spread.blocks_charge, spread)}")
    if spread.loses_takers > 0.0:  # however rare: it can destroy an alternator
        told.append(
            f"in {_of_band(spread.loses_takers, spread)} chargers give much as the last battery "
            "blocks its charge, or after that (load dump)"
        )
    return told


def _of_band(part: float, spread: QuickSpread) -> str:
    """Count the cases of the band, which may be others than those of the chances."""
    draws = spread.fan.draws
    count = _of_100(part) if draws >= FULL else f"{part * draws:.0f}"
    own = f"{'all' if part == 1.0 else count} of "
    if min(draws, FULL) == _all(spread):
        return f"{own}{_all(spread)} cases"
    return f"{own}the {min(draws, FULL)} cases that were followed over time"


def _in_cases(part: float, spread: QuickSpread) -> str:
    if part == 1.0:
        return f"in all of {spread.draws:,} random cases"
    return f"in {_cases(part, spread)} of {_all(spread)} random cases"


def _all(spread: QuickSpread) -> int:
    """Return of how many cases chances are told: 100, or as many as were made where few were."""
    return min(spread.draws, FULL)


def _cases(part: float, spread: QuickSpread) -> str:
    return _of_100(part) if spread.draws >= FULL else f"{part * spread.draws:.0f}"


def _range(scenario: Scenario, spread: QuickSpread) -> list[str]:
    """Say between which Ah 90 of 100 cases lie: what the others do is not known here."""
    takes = main_answer(scenario.bank) == CHARGED
    low, _, high = spread.bank_Ah
    if not math.isfinite(low + high):
        return []
    does = "the bank takes in" if takes else "the bank delivers"
    if high <= ALIKE * sum(one.rated_C for one in scenario.bank.batteries) / 3600.0:
        return [f"5 to 95 %: {does} nothing"]
    if high - low <= ALIKE * high:
        return [f"5 to 95 %: {does} {number(high)} Ah, all alike"]
    if number(low) == number(high):
        return [f"5 to 95 %: {does} about {number(high)} Ah"]
    return [f"5 to 95 %: {does} {number(low)} to {number(high)} Ah"]


def _of_100(part: float) -> str:
    """Return a chance in whole cases of 100; what is neither none nor all is never told as such."""
    told = 100.0 * part
    if 0.0 < told < 1.0:
        return "less than 1"
    return "more than 99" if 99.0 < told < 100.0 else f"{told:.0f}"


def _between(three: object) -> str:
    if three is None:
        return "-"
    low, _, high = (float(value) for value in three)  # type: ignore[attr-defined]
    if not math.isfinite(low + high):
        return "-"
    return f"{whole_or(low)} to {whole_or(high)}"

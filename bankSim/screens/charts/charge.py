"""Where the charge of every battery went: its label, what it delivered, what stays and is left."""

from bankSim.screens.charts.bars import Bar, Group, Part, draw_groups, hatched, hollow
from bankSim.screens.charts.frame import Spec
from bankSim.screens.charts.look import LIGHT, Look
from bankSim.screens.charts.text import safe_name
from bankSim.show.words import whole_or
from bankSim.sim.numbers import number, quoted
from bankSim.sim.result import BatteryOutcome, Result
from bankSim.study.quick_fan import QuickSpread

LABEL, DELIVERED, LOCKED, LEFT, TAKEN = "label", "delivered", "locked in", "left", "taken in"
LABEL_PX, BAR_PX = 12.0, 22.0
LEAST_AH = 0.05
MOST_TOLD = 6


def charge_bars(result: Result, spread: QuickSpread | None = None, look: Look = LIGHT) -> Spec:
    """Draw label, delivered, locked in and left of each battery, lying bars with numbers.

    Parameters
    ----------
    result : Result
    spread : QuickSpread, optional
        Whiskers from 5 to 95 % on what is delivered.
    look : Look
    """
    looks = {
        LABEL: hollow(look),
        DELIVERED: hatched(look, look.colour(0), ""),
        LOCKED: hatched(look, look.alert, "x"),
        LEFT: hatched(look, look.quiet, "."),
        TAKEN: hatched(look, look.colour(2), "/"),
    }
    groups = [_group(one, spread) for one in result.batteries]
    return draw_groups(groups, looks, "charge [Ah]", look)


def _group(battery: BatteryOutcome, spread: QuickSpread | None) -> Group:
    parts, told, start = [], [f"label {whole_or(battery.rated_Ah)}"], 0.0
    amounts = {
        DELIVERED: battery.delivered_Ah,
        LOCKED: battery.stranded_Ah,
        LEFT: battery.remaining_Ah,
    }
    for what, Ah in amounts.items():
        parts.append(_part(what, start, Ah))
        told.append(f"{what} {number(Ah)}")
        start += Ah
    bars = [Bar(LABEL_PX, (_part(LABEL, 0.0, battery.rated_Ah),))]
    three = None if spread is None else spread.delivered_Ah.get(battery.name)
    whisker = None if three is None else (float(three[0]), float(three[2]))
    bars.append(Bar(BAR_PX, tuple(parts), whisker))
    if battery.charged_Ah > LEAST_AH:
        told.append(f"{TAKEN} {number(battery.charged_Ah)}")
        bars.append(Bar(LABEL_PX, (_part(TAKEN, 0.0, battery.charged_Ah),)))
    return Group((f"<b>{safe_name(battery.name)}</b>", f"{', '.join(told)} Ah"), tuple(bars))


def _part(what: str, start: float, length_Ah: float) -> Part:
    return Part(start, length_Ah, what, f"{what} {number(length_Ah)} Ah")


def charge_words(result: Result, spread: QuickSpread | None = None) -> str:
    """Return what `charge_bars` shows, in a sentence or two."""
    told = [
        f"{quoted(one.name)} delivers {number(one.delivered_Ah)} of {whole_or(one.rated_Ah)} Ah on "
        f"its label, {number(one.stranded_Ah)} Ah stay locked in, {number(one.remaining_Ah)} Ah are "
        "left"
        for one in result.batteries[:MOST_TOLD]
    ]
    more = len(result.batteries) - len(told)
    words = f"Bars of charge: {'; '.join(told)}{f'; and {more} more' if more > 0 else ''}."
    if spread is not None and spread.delivered_Ah:
        words += f" Whiskers hold 5 to 95 % of {spread.draws} draws."
    return words

"""Where the charge of every battery went: its label, what it delivered, what stays and is left."""

from bankSim.screens.charts.bars import Bar, Group, Part, draw_groups, hatched, hollow
from bankSim.screens.charts.frame import Spec
from bankSim.screens.charts.look import LIGHT, Look
from bankSim.screens.charts.text import safe_name
from bankSim.show.words import beside, whole_or
from bankSim.sim.numbers import number, quoted
from bankSim.sim.result import BatteryOutcome, Result
from bankSim.study.quick_fan import QuickSpread

LABEL, DELIVERED, LOCKED, LEFT, TAKEN = "label", "delivered", "locked in", "left", "taken in"
NET = "delivered, net of charge taken"  # what was charged meanwhile would count twice
SHORT = {NET: "delivered net"}
LABEL_PX, BAR_PX = 12.0, 22.0
LEAST_AH = 0.05
MOST_TOLD = 6


def charge_bars(result: Result, spread: QuickSpread | None = None, look: Look = LIGHT) -> Spec:
    """Draw label, delivered, locked in and left of each battery, lying bars with numbers.

    Of a battery that was charged too the bar shows the net charge, as `charge_figure` does.

    Parameters
    ----------
    result : Result
    spread : QuickSpread, optional
        Whiskers from 5 to 95 % on what is delivered, where nothing was taken in.
    look : Look
    """
    looks = {
        LABEL: hollow(look),
        DELIVERED: hatched(look, look.colour(0), ""),
        NET: hatched(look, look.colour(0), ""),
        LOCKED: hatched(look, look.alert, "x"),
        LEFT: hatched(look, look.quiet, "."),
        TAKEN: hatched(look, look.colour(2), "/"),
    }
    groups = [_group(one, spread) for one in result.batteries]
    return draw_groups(groups, looks, "charge [Ah]", look)


def _group(battery: BatteryOutcome, spread: QuickSpread | None) -> Group:
    parts, told, start = [], [f"label {whole_or(battery.rated_Ah)}"], 0.0
    took = battery.charged_Ah > LEAST_AH
    given_Ah = battery.delivered_Ah - (battery.charged_Ah if took else 0.0)
    amounts = {
        NET if took else DELIVERED: max(given_Ah, 0.0),
        LOCKED: battery.stranded_Ah,
        LEFT: battery.remaining_Ah,
    }
    for what, Ah in amounts.items():
        parts.append(_part(what, start, Ah))
        told.append(f"{SHORT.get(what, what)} {beside(Ah, _scale(battery))}")
        start += Ah
    bars = [Bar(LABEL_PX, (_part(LABEL, 0.0, battery.rated_Ah),))]
    bars.append(Bar(BAR_PX, tuple(parts), _whisker(battery, spread)))
    words = [f"<b>{safe_name(battery.name)}</b>", f"{', '.join(told)} Ah"]
    if took:
        out, into = (
            beside(Ah, _scale(battery)) for Ah in (battery.delivered_Ah, battery.charged_Ah)
        )
        words.append(f"{out} Ah out and {into} Ah in")
        bars.append(Bar(LABEL_PX, (_part(TAKEN, 0.0, battery.charged_Ah),)))
    return Group(tuple(words), tuple(bars))


def _whisker(battery: BatteryOutcome, spread: QuickSpread | None) -> tuple[float, float] | None:
    """Return 5 and 95 % of what is delivered; None where charge was taken in, or unknown. [Ah]"""
    if spread is None or battery.charged_Ah > LEAST_AH:
        return None
    three = spread.delivered_Ah.get(battery.name)
    return None if three is None else (float(three[0]), float(three[2]))


def _scale(battery: BatteryOutcome) -> float:
    """Return beside what size numbers are rounded: tenths of Ah for what is usual."""
    return max(battery.rated_Ah, 100.0)


def _part(what: str, start: float, length_Ah: float) -> Part:
    return Part(start, length_Ah, what, f"{what} {number(length_Ah)} Ah")


def charge_words(result: Result, spread: QuickSpread | None = None) -> str:
    """Return what `charge_bars` shows, in a sentence or two."""
    told = [
        f"{quoted(one.name)} delivers {beside(one.delivered_Ah, _scale(one))} Ah (label "
        f"{whole_or(one.rated_Ah)} Ah){_taken(one)}, "
        f"{beside(one.stranded_Ah, _scale(one))} Ah stay locked in, "
        f"{beside(one.remaining_Ah, _scale(one))} Ah are left"
        for one in result.batteries[:MOST_TOLD]
    ]
    more = len(result.batteries) - len(told)
    words = f"Bars of charge: {'; '.join(told)}{f'; and {more} more' if more > 0 else ''}."
    if spread is not None and any(_whisker(one, spread) for one in result.batteries):
        words += f" Whiskers hold 5 to 95 % of {spread.draws} draws."
    return words


def _taken(one: BatteryOutcome) -> str:
    if one.charged_Ah <= LEAST_AH:
        return ""
    return f", takes in {beside(one.charged_Ah, _scale(one))} Ah"

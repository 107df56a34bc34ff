"""Words for what would explain a difference, and for what to measure to know."""

import math

from bankSim.measured.compare_moves import METER_CURRENT, Explanation, Move
from bankSim.sim.numbers import clean, listing, number, quoted
from bankSim.study.unknown import Kind

FAR_SD, VERY_FAR_SD = 2.0, 3.0

TO_MEASURE = {
    Kind.CAPACITY: "a capacity test of {of} alone",
    Kind.CELL_CAPACITY: "cell voltages of {of} at its cut-out: the weakest falls first",
    Kind.RESISTANCE: "the voltage step of {of} alone when a known load is switched on",
    Kind.CELL_RESISTANCE: "the voltage step of each cell of {of} when a known load is switched on",
    Kind.CHARGE: "rest voltage of {of} before the test, or a full charge to its tail current",
    Kind.CELL_CHARGE: "cell voltages of {of} at the end of its charge and at its cut-out",
    Kind.INTERNAL: "the voltage drop inside {of}: cells together against its terminals, under load",
    Kind.LEAD: "the voltage drop along the lead of {of} under load",
    Kind.LINK: "the voltage drop along each link under load",
    Kind.MAIN: "the voltage drop along the main cable under load",
    Kind.LIMITS: "cell voltages of {of} at the moment at which it cuts out",
    Kind.DELAYS: "cell voltages of {of} at the moment at which it cuts out",
    Kind.RELAXATION: "the rest voltage of {of} in the hour after the load is off",
    Kind.HYSTERESIS: "the rest voltage of {of} after a charge and after a discharge",
    Kind.STANDING: "the charge of {of} after some weeks of standing",
    Kind.WELLS: "a capacity test of {of} at a much lower current",
    Kind.WARMTH: "the temperature of {of}, and its voltage step when cold and when warm",
    Kind.HEAT: "the temperature of {of} during the test",
    Kind.TEMPERATURE: "the temperature during the test",
    Kind.LOAD: "what {of} draws; --load measured takes it out of the comparison",
    Kind.CHARGER: "the current of {of}",
    Kind.DROP: "the voltage across {of} while it blocks",
}
OF_KEYS = {
    "capacity": Kind.CAPACITY,
    "resistance": Kind.RESISTANCE,
    "ohmic": Kind.RESISTANCE,
    "state_of_charge": Kind.CHARGE,
    "power": Kind.LOAD,
    "current": Kind.LOAD,
    "lead": Kind.LEAD,
    "internal": Kind.INTERNAL,
    "temperature": Kind.TEMPERATURE,
    "trips": Kind.LIMITS,
    "main": Kind.MAIN,
    "link": Kind.LINK,
    "hold": Kind.CHARGER,
    "limit": Kind.CHARGER,
}


def explanation_words(one: Explanation) -> str:
    """Say what would have to be different, and how much of the difference that removes."""
    moves = listing([move_words(move) for move in one.moves])
    return f"{moves} - that removes {removed_words(one)} of the difference"


def removed_words(one: Explanation) -> str:
    """Return the part that goes, never rounded up to all of it."""
    percent = 100.0 * one.removed
    return "more than 99 %" if percent > 99.0 else f"{math.floor(percent)} %"


def move_words(move: Move) -> str:
    """Say how one value would have to be different, and how far that is."""
    return f"{change_words(move)} ({far_words(move)})"


def far_words(move: Move) -> str:
    """Say how far a move is, in standard deviations."""
    tail = ", the farthest that was tried" if move.at_limit else ""
    return f"{abs(move.sds):.1f} sd{tail}"


def change_words(move: Move) -> str:
    """Say how one value would have to be different."""
    gap = move.after - move.before
    percent = f"{number(abs(100.0 * gap), 2)} %"
    of, more = quoted(move.subject), "more" if gap > 0.0 else "less"
    start = f"would have to start with {percent} {more} charge"
    special = {
        Kind.CELL_CHARGE: f"one cell of {of} {start}",
        Kind.CHARGE: f"{of} {start}",
        Kind.LOAD: f"{of} would have to draw {percent} {more}",
        Kind.TEMPERATURE: f"the surroundings would have to be {number(abs(gap), 2)} K "
        f"{'warmer' if gap > 0.0 else 'colder'}",
    }
    if move.kind is None:
        meter = "current" if move.label == METER_CURRENT else "voltage"
        return f"the {meter} meter would have to read {percent} too {'high' if gap > 0 else 'low'}"
    return special.get(move.kind) or f"the {_what(move)} would have to be {_new(move)}"


def _new(move: Move) -> str:
    """Say what a value would have to be."""
    gap = move.after - move.before
    if move.kind is Kind.KEY:
        after = f"{number(move.after)} {move.unit}".rstrip()
        return f"{after} instead of {number(move.before)}"
    if move.is_ratio:
        return f"{number(abs(100.0 * gap), 2)} % {'larger' if gap > 0.0 else 'smaller'}"
    return f"{number(abs(gap), 2)} {move.unit} {'higher' if gap > 0.0 else 'lower'}"


def what_words(move: Move) -> str:
    """Name the value, as a table does."""
    if move.kind is Kind.CELL_CHARGE:
        return f"balance of one cell of {quoted(move.subject)}"
    return _what(move)


def _what(move: Move) -> str:
    label = move.label if move.kind is None else clean(move.label)
    if move.kind in (Kind.CELL_CAPACITY, Kind.CELL_RESISTANCE):
        word = "capacity" if move.kind is Kind.CELL_CAPACITY else "resistance"
        return f"{word} of one cell of {quoted(move.subject)}"
    return label.replace(" of load of ", " of load ")


def amount_words(move: Move) -> str:
    """Return the move as a number with its sign, for a table."""
    gap = move.after - move.before
    sign = "+" if gap > 0.0 else "-"
    if move.kind is Kind.KEY:
        return f"{number(move.before)} to {number(move.after)} {move.unit}".rstrip()
    if move.unit:
        return f"{sign}{number(abs(gap), 2)} {move.unit}"
    return f"{sign}{number(abs(100.0 * gap), 2)} %"


def to_measure(move: Move) -> str:
    """Say which measurement tells whether a value is really that different."""
    if move.kind is None:
        return "a second meter in the same cable"
    of = quoted(move.subject) if move.subject else "it"
    kind: Kind | None = move.kind
    if move.kind is Kind.KEY:
        kind = next((k for word, k in OF_KEYS.items() if word in move.key), None)
    return f"measure {move.key}" if kind is None else TO_MEASURE[kind].format(of=of)


def plausible_words(one: Explanation) -> str:
    """Say how believable the farthest of the moves is."""
    far = one.farthest
    if far <= 1.0:
        return "quite ordinary"
    if far <= FAR_SD:
        return "plausible"
    if one.absurd:
        return "not plausible"
    return "unusual" if far <= VERY_FAR_SD else "beyond the usual"

"""When a run is given up: after how much work, and what most of it went into."""

from collections import Counter
from collections.abc import Sequence
from typing import Any

from bankSim.errors import SimulationError
from bankSim.model.bank import Bank
from bankSim.model.curve import Floats
from bankSim.sim.events import read_events
from bankSim.sim.numbers import clean
from bankSim.sim.result import Event

MOST_STEPS = (
    50_000_000  # trial steps of one run: two minutes for a pair, ten for nine batteries of 16 cells
)
MOST_EVENTS = 100_000  # some 9 kB each for a pair, all of them told
MOST_EVENT_NUMBERS = 20_000_000
LAST_EVENTS = 1_000  # looked at for what goes on and on
LONGEST_TEXT = 300


class GivenUpError(SimulationError):
    """A run needs more work than it is given; one line says after how much, and why.

    Parameters
    ----------
    duration_h : str
        What was asked for. [h]
    why : str
        As in "given up 3.2 h after the start, after ...".
    where : str
        What stands before it: a file, or what was looked at.
    """

    def __init__(self, duration_h: str, why: str, where: str = "") -> None:
        super().__init__(duration_h, why, where)

    def __str__(self) -> str:
        duration_h, why, where = self.args
        return (
            f"{f'{where}: ' if where else ''}simulation.duration_h = {duration_h}: {why}; expected "
            "a shorter duration_h, or longer delays and wider gaps between where a rule trips and "
            "where it releases"
        )

    @property
    def why(self) -> str:
        """After how much work, and what most of it went into."""
        return str(self.args[1])

    def within(self, where: str) -> "GivenUpError":
        """Return the same, with what it concerns before it."""
        duration_h, why, inner = self.args
        return GivenUpError(duration_h, why, f"{where}: {inner}" if inner else where)


def most_events(bank: Bank) -> int:
    """Return how many events a run of a bank may have, by the room that each of them takes."""
    cells = sum(len(battery.cells) for battery in bank.batteries)
    return min(MOST_EVENTS, MOST_EVENT_NUMBERS // (3 * len(bank.batteries) + cells))


def check_work(bank: Bank, clock: Any, events: Sequence[Floats], most_steps: int) -> None:
    """Raise GivenUpError when a run that goes on has had its share.

    Parameters
    ----------
    bank : Bank
    clock : record
        Of the run: time, steps.
    events : sequence of array
        Rows of its event log so far. In SI, see `bankSim.kernels.log.write_event`.
    most_steps : int
        Trial steps that it is given.
    """
    steps, most = int(clock["steps"]), most_events(bank)
    if steps < most_steps and len(events) <= most:
        return
    at_h, of_h = float(clock["time"]) / 3600.0, bank.duration_s / 3600.0
    done = f"{steps:,} steps (of at most {most_steps:,})"
    if len(events) > most:
        done = f"{len(events):,} events (of at most {most:,})"
    why = f"given up {at_h:.6g} h after the start, after {done}"
    raise GivenUpError(f"{of_h:.12g}", why + _what_goes_on(bank, events))


def _what_goes_on(bank: Bank, events: Sequence[Floats]) -> str:
    """Tell the last of the sort of event that happens most often in the end, if any does."""
    last = read_events(bank, events[-LAST_EVENTS:])
    if len(last) < LAST_EVENTS:
        return ""
    ((sort, count),) = Counter(map(_sort, last)).most_common(1)
    like = next(event for event in reversed(last) if _sort(event) == sort)
    told = clean(like.text.rstrip("."))[:LONGEST_TEXT]
    return f"; of the last {LAST_EVENTS:,} events {count:,} are of this sort: {told}"


def _sort(event: Event) -> tuple[str | None, ...]:
    return event.what, event.watches, event.blocks, event.source

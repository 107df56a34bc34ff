"""The cut-outs to choose from, in words, and every event as a table."""

from bankSim.show.blocks import Grid
from bankSim.show.causes import all_alike, cause, deciding_cells, first_trips, trips
from bankSim.show.outcomes import event_rows
from bankSim.show.whens import at
from bankSim.show.words import volts
from bankSim.sim.numbers import quoted, sentence
from bankSim.sim.result import Event, Result

MOST_CHOICES = 200
MOST_ROWS = 500
SEEN_AT_ONCE = 16  # cells; of more the table scrolls inside itself


def choices(result: Result) -> list[Event]:
    """Return the cut-outs to choose from in order of time; of very many the first of each kind."""
    found = trips(result)
    if len(found) <= MOST_CHOICES:
        return found
    return sorted(first_trips(result)[:MOST_CHOICES], key=lambda event: event.time_s)


def choice_words(result: Result, event: Event) -> str:
    """As in 'After 41.2 h: "old" cuts out, its cell 3 fell to 2.50 V'."""
    did = "cuts out" if event.cuts_out else "blocks charging"
    who = quoted(event.battery or "")
    return sentence(f"{at(result, event.time_s)}: {who} {did}, {cause(result, event)}")


def cells_grid(event: Event) -> Grid | None:
    """Return what the cells of the battery read just before, the deciding ones marked.

    Where not all are seen at once the deciding ones stand first.
    """
    readings = event.cell_voltages_V
    if readings is None:
        return None
    deciding = () if all_alike(event) else deciding_cells(event)
    order = list(range(1, len(readings) + 1))
    if len(readings) > SEEN_AT_ONCE:
        order.sort(key=lambda place: place not in deciding)
    rows = tuple(
        (f"cell {place}", "decides" if place in deciding else "", volts(readings[place - 1], 3))
        for place in order
    )
    return Grid(("Cell", "", "Just before"), rows, words=2)


def events_grid(result: Result) -> tuple[Grid | None, str]:
    """Return the first events as a table, and a sentence on what is left out or missing."""
    if not result.events:
        return None, "Nothing switched: no rule acted during this run."
    grid = event_rows(result, result.events[:MOST_ROWS])
    hidden = len(result.events) - len(grid.rows)
    note = (
        f"The first {len(grid.rows):,} of {len(result.events):,} events. All of them are in the "
        "CSV file."
    )
    return grid, note if hidden else ""

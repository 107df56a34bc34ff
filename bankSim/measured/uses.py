"""What every column of a log was read as."""

from collections.abc import Callable, Sequence

from bankSim.measured.column import Choice, Column, volts_in
from bankSim.measured.log import Log, Use
from bankSim.sim.numbers import listing, quoted


def uses_of(
    columns: Sequence[Column],
    choice: Choice,
    unit_of_current: Callable[[int], str],
    time_unit: str,
    *,
    of_air: bool,
) -> tuple[Use, ...]:
    """Return what every column was read as, in the order of the file.

    Parameters
    ----------
    columns : sequence of Column
    choice : Choice
    unit_of_current : callable
        From the number of a column to its unit.
    time_unit : str
        Of the file, in words.
    of_air : bool
        The temperature is that of the air.
    """
    meanings = {}
    for word in ("temperature", "current", "voltage", "time"):
        meanings[getattr(choice, word)] = word
    if of_air:
        meanings[choice.temperature] = "air temperature"
    meanings |= {choice.date: "date", choice.words: "direction", choice.charge: "charge current"}
    if choice.charge:
        meanings[choice.current] = "discharge current"
    meanings |= {n: f"cell {place}" for place, n in enumerate(choice.cells, 1)}
    uses = []
    for column in columns:
        meaning = meanings.get(column.number, "not used")
        unit = column.header.unit
        if meaning.endswith("current"):
            unit = unit or unit_of_current(column.number) or "A"
        elif meaning.endswith("voltage") or meaning.startswith("cell"):
            unit = unit or ("mV" if volts_in(column) == 1e-3 else "V")
        unit = time_unit if meaning in ("time", "date") else unit
        uses.append(Use(column.name, column.number, meaning, unit, column.number in choice.asked))
    return tuple(uses)


def of_the_whole(log: Log) -> tuple[str, ...]:
    """Say which columns were taken as voltage and current of the whole battery or bank.

    Parameters
    ----------
    log : Log
    """
    taken = [
        f"{use.meaning} {quoted(use.column)}"
        for meaning in ("voltage", "current", "discharge current", "charge current")
        for use in log.uses
        if use.meaning == meaning
    ]
    return (f"of the whole bank: {listing(taken)}",) if taken else ()

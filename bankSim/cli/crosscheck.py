"""``banksim crosscheck``: the prediction beside the same bank solved in SPICE."""

from pathlib import Path
from typing import TYPE_CHECKING

from bankSim.cli.run import predict
from bankSim.cli.waiting import busy
from bankSim.show.blocks import Grid, Section, Story
from bankSim.show.printing import print_story
from bankSim.show.words import shortened
from bankSim.sim.numbers import clean, number, span

if TYPE_CHECKING:
    from bankSim.crosscheck.compare import Comparison
    from bankSim.crosscheck.compare_lines import Line

COLUMNS = ("Quantity", "Verdict", "Predicted", "SPICE", "Difference", "Limit")
LONGEST_QUANTITY = 38
LEFT_OUT = "Left out of the netlist: "
BASE = "Charge differs in percent of all that went through that battery, given and taken."


def crosscheck_scenario(file: Path) -> int:
    """Solve a scenario both ways and print the differences.

    Returns
    -------
    code : int
        0, also when a difference is beyond its limit: that is a finding, told in the first line.
    """
    from bankSim.crosscheck.compare import crosscheck

    result = predict(file)
    with busy("solving it again in ngspice"):
        comparison = crosscheck(result.scenario, result)
    print_story(differences(clean(result.scenario.title), comparison))
    return 0


def differences(title: str, comparison: "Comparison") -> Story:
    """Return the verdict, the table of differences and the notes.

    Parameters
    ----------
    title : str
        Of the scenario.
    comparison : Comparison
    """
    verdict = _verdict(comparison)
    rows = tuple(_row(line) for line in comparison.lines if line.unit or line.difference_unit)
    words = [line for line in comparison.lines if not (line.unit or line.difference_unit)]
    notes = (*(_sentence(line) for line in words), *(clean(note) for note in comparison.notes))
    if rows:
        notes = (BASE, *notes)
    section = Section("Prediction against SPICE", notes, Grid(COLUMNS, rows, words=2))
    return Story(title, (verdict,), (section,))


def _verdict(comparison: "Comparison") -> str:
    if not comparison.lines:
        return "CANNOT BE COMPARED: ngspice gave up, see below."
    beyond = sum(not line.agrees for line in comparison.lines)
    left_out = sum(note.startswith(LEFT_OUT) for note in comparison.notes)
    if not beyond and left_out:
        told = f"{left_out} things are" if left_out > 1 else "one thing is"
        return f"AGREES in what is compared: every difference is within its limit; {told} left out."
    if not beyond:
        return "AGREES: every difference is within its limit."
    are = "lines are beyond their limit" if beyond > 1 else "lines is beyond its limit"
    count = f"{beyond} of {len(comparison.lines)} {are}."
    if comparison.expressible:
        return f"DIFFERS: {count} The notes below say what may lie behind that."
    return f"CANNOT BE COMPARED: the netlist cannot do all that happens here, see below; {count}"


def _sentence(line: "Line") -> str:
    """A line whose values are words, such as the order of the cut-outs: too long for a table."""
    quantity = clean(line.quantity)
    if line.predicted == line.spice:
        return f"{quantity}, the same both ways: {line.predicted}."
    verdict = "agrees within a few steps" if line.agrees else "DIFFERS"
    return f"{quantity} {verdict}. Predicted: {line.predicted}. SPICE: {line.spice}."


def _row(line: "Line") -> tuple[str, ...]:
    limit = "-" if line.limit is None else f"{number(line.limit)} {line.difference_unit}"
    return (
        shortened(line.quantity, LONGEST_QUANTITY),
        "agrees" if line.agrees else "DIFFERS",
        _value(line.predicted, line.unit),
        _value(line.spice, line.unit),
        _gap(line.difference, line.difference_unit),
        limit,
    )


def _gap(value: float | None, unit: str) -> str:
    """A difference; one that is too small to print is still told from none at all."""
    if value is None:
        return "-"
    return f"<0.001 {unit}" if 0.0 < abs(value) < 0.001 else f"{number(value)} {unit}"


def _value(value: float | str | None, unit: str) -> str:
    """A value with five digits, a time in its own unit."""
    if value is None or isinstance(value, str):
        return "-"
    return span(value, 5) if unit == "s" else f"{number(value, 5)} {unit}"

"""A calibration in words: what was found, how sure, how well it follows, what it cannot tell."""

import math
from collections.abc import Sequence
from pathlib import Path

from bankSim.measured.calibrate import Calibration
from bankSim.measured.ends import End
from bankSim.measured.followed import Followed
from bankSim.measured.quantities import IN_LABEL_H, LABEL_H, SELDOM, SURE, CellValue, Value
from bankSim.show.blocks import Grid, Section, Story
from bankSim.sim.numbers import clean, listing, number, quoted, sentence
from bankSim.sim.summary import SAFETY_TEXT

LEAST_PERCENT = 0.1  # of Ah: closer is not told
PUT_BACK = 0.002  # of the charge given: less is not told


def tell_calibration(found: Calibration, beside: Sequence[Section] = ()) -> Story:
    """Return the story of a calibration.

    Parameters
    ----------
    found : Calibration
    beside : sequence of Section
        How the logs were read; told at the end.
    """
    sections = [
        _values(found),
        *_cells(found),
        _followed(found),
        _ends(found),
        _cannot(found),
        Section("Assumed", tuple(f"{sentence(what)}: {why}." for what, why in found.assumed)),
        *beside,
        Section("Safety", (SAFETY_TEXT,)),
    ]
    title = f"The battery {quoted(found.label.name)} as its logs show it"
    return Story(title, _headline(found), tuple(one for one in sections if one.lines or one.grid))


def _headline(found: Calibration) -> tuple[str, ...]:
    capacity, slow = found.values[0], found.value("resistance after long, half full")
    if found.label.rated_guessed and not any(one.end for one in found.followed):
        holds = f"holds {number(found.label.rated_Ah, 3)} Ah or more (no log reaches its end)"
    elif found.cells:
        given_Ah = max((one.end.given_Ah for one in found.followed if one.end), default=0.0)
        gave = (
            f"gave {number(given_Ah, 4)} Ah, while its cells hold"
            if given_Ah
            else "has cells that hold"
        )
        holds = f"{gave} {with_error(capacity)} on average{_in_label_time(found)}"
    else:
        holds = f"holds {with_error(capacity)}{_of_label(found)}"
    first = (
        f"{quoted(found.label.name)} {holds}. It shows {with_error(slow)} after long load, half "
        "full."
    )
    worst = max((one.middle_rms_mV for one in found.followed), default=0.0)
    errors = [abs(one.error_percent) for one in found.followed if one.error_percent is not None]
    second = f"It follows its logs within {number(worst, 2)} mV a cell (rms, 10 to 95 % of charge)"
    if errors:
        second += f" and their Ah within {number(max(*errors, LEAST_PERCENT), 2)} %"
    if any(one.unexplained for one in found.followed):
        second += ": further off than their noise explains, see what they cannot tell"
    against = found.distrusted
    return (*([against] if against else []), first, second + ".")


def _of_label(found: Calibration) -> str:
    """Say what part that is of a new battery of the label, of two wells like with like."""
    part = None if found.distrusted else found.capacity_fraction
    if found.recipe.typical.available_fraction == 1.0:
        return "" if part is None else f", {100.0 * part:.0f} % of the label"
    held = " in both wells"
    if part is not None and found.charge_in_reach:
        held += (
            f", {100.0 * part:.0f} % of the {number(found.new_Ah, 4)} Ah that a new one of this "
            "label holds there"
        )
    return held + _in_label_time(found)


def _in_label_time(found: Calibration) -> str:
    """Say what two wells give over the time for which they are labelled; nothing for one."""
    given = next((one for one in found.values if one.name == IN_LABEL_H), None)
    if given is None:
        return ""
    told = f". Over {LABEL_H:g} h at 25 degrees C it gives {with_error(given)}"
    if found.label.rated_guessed or found.distrusted:
        return told
    rated_Ah = found.label.rated_Ah
    return f"{told}, {100.0 * given.value / rated_Ah:.0f} % of the label's {number(rated_Ah)} Ah"


def with_error(value: Value) -> str:
    """Return a value with its standard error, to the digits of the error."""
    return f"{_digits(value.value, value.sd)} +- {number(value.sd, 2)} {value.unit}".rstrip()


def _digits(value: float, sd: float) -> str:
    """Round a value where two digits of its error end."""
    if not sd > 0.0:
        return number(value, 4)
    decimals = max(0, 1 - math.floor(math.log10(sd)))
    return f"{value:.{min(decimals, 6)}f}"


def _values(found: Calibration) -> Section:
    rows = tuple(
        (
            sentence(one.name),
            _digits(one.value, one.sd),
            number(one.sd, 2),
            one.unit,
            number(one.typical),
            "no" if one.learned < SELDOM else f"{100.0 * one.learned:.0f} %",
        )
        for one in found.values
    )
    columns = ("What", "Found", "Error (1 sd)", "Unit", "Typical", "Told by the logs")
    lines = [
        "Resistances are those of the whole battery at 25 degrees C. 'Told by the logs': how much "
        "of the doubt before them they have settled.",
    ]  # fmt: skip
    if any(one.name == IN_LABEL_H for one in found.values):
        lines.append(
            "Capacity is all charge in both wells; the faster a discharge, the less it gives of it."
        )
    lines += [
        f"Hard to tell apart: {one.one} and {one.other} (correlation {one.correlation:+.2f})."
        for one in found.pairs
    ]
    return Section("What was found", tuple(lines), Grid(columns, rows))


def _cells(found: Calibration) -> list[Section]:
    if not found.cells:
        return []
    rows = tuple(
        (
            str(one.cell),
            _plus(one.capacity_percent, one.capacity_sd),
            _plus(one.charge_percent, one.charge_sd),
            _plus(one.resistance_percent, one.resistance_sd),
            f"{number(one.left_at_end_Ah)} +- {number(one.left_sd_Ah, 2)}",
        )
        for one in found.cells
    )
    columns = ("Cell", "Capacity %", "Charge %", "Resistance %", "Left at the end Ah")
    return [Section("Cells against their mean", _cell_lines(found.cells), Grid(columns, rows))]


def _plus(value: float, sd: float) -> str:
    return f"{value:+.1f} +- {number(sd, 2)}"


def _cell_lines(cells: Sequence[CellValue]) -> tuple[str, ...]:
    weakest = min(cells, key=lambda one: one.left_at_end_Ah)
    others = [one for one in cells if one is not weakest]
    surely = all(one.left_at_end_Ah > SURE * one.left_sd_Ah for one in others)
    won = sum(one.left_at_end_Ah - weakest.left_at_end_Ah for one in others) / len(others)
    ends = "decides the end of discharge"
    sure = ends if surely else f"probably {ends}, though another may"
    return (
        f"Cell {weakest.cell} {sure}; the others then still hold {number(won)} Ah more on average.",
    )


def _followed(found: Calibration) -> Section:
    held = any(one.held_out_rms_mV is not None for one in found.followed)
    columns = (
        "Log", "Hours", "Mean A", "Start %", "rms mV", "rms mV 10-95 %", "Worst mV",
        *(["Held out rms mV"] if held else []), "Measured Ah", "Model Ah", "Error %",
    )  # fmt: skip
    rows = tuple(_followed_row(one, held) for one in found.followed)
    lines = [
        "Voltages are of one cell. Ah until the voltage at which the measured discharge ended."
    ]
    if found.cells:
        lines.append("Start is that of the fullest cell; capacity is the mean of all cells.")
    curves = [_name(one) for one in found.followed if one.is_curve]
    if curves:
        lines.append(
            f"{curves[0]} is slow and complete: it became the voltage curve, so that "
            "following it proves nothing."
        )
    if held:
        lines.append("Held out: stretches of time that the fit never saw, predicted.")
    return Section("How well it follows its logs", tuple(lines), Grid(columns, rows))


def _followed_row(one: Followed, held: bool) -> tuple[str, ...]:
    error = "-" if one.error_percent is None else f"{one.error_percent:+.2f}"
    return (
        clean(Path(one.file).stem, 26),
        number(one.hours),
        number(one.mean_A),
        f"{100.0 * one.start:.1f}",
        number(one.rms_mV, 2),
        number(one.middle_rms_mV, 2),
        f"{one.worst_mV:+.0f}",
        *([number(one.held_out_rms_mV, 2)] if held else []),
        "-" if one.end is None else number(one.end.given_Ah, 4),
        number(one.model_Ah, 4),
        error,
    )


def _name(one: Followed) -> str:
    return clean(Path(one.file).name, 60)


def _ends(found: Calibration) -> Section:
    lines = []
    for one in found.followed:
        end, name = one.end, _name(one)
        if end is None:
            continue
        cells = ""
        if end.cells_V:
            read = listing([f"{volts:.3f}" for volts in end.cells_V])
            cells = f"; cells {read} V, lowest: cell {end.cell}"
        lines.append(
            f"{name}: {_ended(end)} at {end.voltage_V:.3f} V under {number(end.current_A)} A after "
            f"{number(end.given_Ah, 4)} Ah{_put_back(end)}{cells}."
        )
    return Section("How the discharges ended", tuple(lines))


def _ended(end: End) -> str:
    if end.dead:
        return "the battery cut out (its terminals went dead)"
    return "the current stopped" if end.cut else "the log ends while it still discharges,"


def _put_back(end: End) -> str:
    """Say that what was given is less than what was drawn, since some was put back meanwhile."""
    if end.returned_Ah < PUT_BACK * end.given_Ah:
        return ""
    return f" (drawn less {number(end.returned_Ah)} Ah put back)"


def _cannot(found: Calibration) -> Section:
    return Section("What these logs cannot tell", (*found.label.guessed, *found.warnings))

"""A calibrated battery as a scenario file: it runs as it is, and its battery fits into others."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from bankSim.measured.battery_rules import cut_off_of, rules_of
from bankSim.measured.calibrate import Calibration
from bankSim.measured.followed import Followed
from bankSim.measured.quantities import AFTER_LONG, IN_LABEL_H, LABEL_H, SURE, usual_straps_mohm
from bankSim.measured.told_cells import mean_cell, told_cells
from bankSim.measured.toml_lines import toml_number, toml_text
from bankSim.model.cell import Cell

MARK = "# Calibrated by banksim from measured logs"
AIR = "# As warm as the battery was when the test began: taken to be that of the air."
INTERNAL_PART = {  # of the lowest resistance at most, for straps and switches; by whether read
    False: 0.4,
    True: 0.9,
}
STRAPS_PART = 0.2  # of the lowest resistance: bears the error where no straps are usual (lead)
READ = (
    "# Cells and terminals were logged together, and this drops between them. The sd is not",
    "# of it alone: it stands for the error of the whole resistance, as far as it fits in.",
)
USUAL = (
    "# At the terminals nobody can tell cells from straps and switches: a usual part of",
    "# what was measured stands here, with the error of the whole resistance.",
)
FULL = 0.999  # a start above it is full
EVENLY = 40  # rows of the curve that are even in charge, beside those of the curve itself
LEAST_V = 1e-5
LOWEST_Z, HIGHEST_Z = -0.15, 1.06  # of the rows


@dataclass(frozen=True)
class BatteryFiles:
    """A scenario and the tables that it names.

    Parameters
    ----------
    text : str
        The scenario (TOML).
    tables : dict
        From file name to text.
    """

    text: str
    tables: dict[str, str]


def battery_files(found: Calibration, stem: str) -> BatteryFiles:
    """Return a scenario with the battery, and its curves.

    Parameters
    ----------
    found : Calibration
    stem : str
        Of the names of the tables.
    """
    mean = mean_cell(found.recipe, found.fit.numbers)
    internal_ohm = _internal_ohm(found, mean)
    each_ohm = internal_ohm / found.label.cells_in_series
    tables = {f"{stem}-curve.csv": _table(mean, each_ohm)}
    cells = told_cells(found.recipe, found.fit.numbers, _full_log(found))
    own = _own_tables(found, cells, each_ohm, stem) if found.cells else {}
    tables.update(own)
    lines = [
        *_head(found), *_battery(found, internal_ohm), *_cell(found, mean, f"{stem}-curve.csv"),
        *_cells(found, cells, list(own)), *rules_of(found), *_load(found),
    ]  # fmt: skip
    return BatteryFiles("\n".join(lines) + "\n", tables)


def _full_log(found: Calibration) -> int:
    """Return the log whose start stands for full."""
    return found.recipe.full_log or 0


def _internal_ohm(found: Calibration, mean: Cell) -> float:
    """Return what is written as `internal_mohm`: as read, else usual."""
    n = found.label.cells_in_series
    least_ohm = n * float(mean.ohmic_ohm(np.linspace(0.0, 1.0, 101)).min())
    most = INTERNAL_PART[found.straps is not None] * least_ohm
    if n == 1 or found.straps:
        return min(found.straps.ohm if found.straps else 0.0, most)
    return min(1e-3 * usual_straps_mohm(found.recipe) or STRAPS_PART * least_ohm, most)


def _table(cell: Cell, less_ohm: float) -> str:
    rows_at = np.concatenate([cell.ocv_V.knots, np.linspace(0.0, 1.0, EVENLY + 1)])
    z = np.unique(np.round(rows_at, 6))
    z = z[(z >= LOWEST_Z) & (z <= HIGHEST_Z)]
    volts = np.maximum.accumulate(cell.ocv_V(z)) + LEAST_V * np.arange(z.size)
    z, volts = z[volts > 0.0], volts[volts > 0.0]
    mohm = 1e3 * (cell.ohmic_ohm(z) - less_ohm)
    rows = [f"{a:.6f},{b:.5f},{c:.5g}" for a, b, c in zip(z, volts, mohm, strict=True)]
    return "\n".join(["state_of_charge,voltage_V,ohmic_mohm", *rows]) + "\n"


def _own_tables(
    found: Calibration, cells: Sequence[Cell], less_ohm: float, stem: str
) -> dict[str, str]:
    """Return a table for every cell where their resistances surely differ; else none."""
    if not any(abs(one.resistance_percent) > SURE * one.resistance_sd for one in found.cells):
        return {}
    return {
        f"{stem}-cell{number}-curve.csv": _table(cell, less_ohm)
        for number, cell in enumerate(cells, 1)
    }


def _head(found: Calibration) -> list[str]:
    logs = [f"#   {_comment(one.file)}" for one in found.followed]
    longest_h = max(one.hours for one in found.followed)
    beware = [f"# BEWARE: {found.distrusted}"] if found.distrusted else []
    return [
        MARK, *beware, "# Read from:", *logs,
        "# Copy [[battery]] and everything below it, up to [[load]], into your scenario, and its",
        "# curve files beside it. Spreads (sd) are standard errors: `banksim study` draws from",
        "# them. What is not written here is typical of the chemistry.",
        "", f"title = {toml_text('Test of ' + found.label.name)}", "",
        "[simulation]", f"duration_h = {toml_number(3.0 * longest_h)}",
        "", "[surroundings]", *_temperature(found), "",
    ]  # fmt: skip


def _temperature(found: Calibration) -> list[str]:
    """Return that of the air in the test whose load is written."""
    test = _strongest(found)
    words = [] if test.began_C is None else [AIR]
    return [*words, f"temperature_C = {toml_number(test.air_C)}"]


def _strongest(found: Calibration) -> Followed:
    return max(found.followed, key=lambda one: one.mean_A)


def _battery(found: Calibration, internal_ohm: float) -> list[str]:
    label = found.label
    lines = [
        "[[battery]]", f"name = {toml_text(label.name)}",
        f"chemistry = {toml_text(label.chemistry or '')}",
        f"cells_in_series = {label.cells_in_series}",
        f"rated_capacity_Ah = {toml_number(label.rated_Ah)}",
    ]  # fmt: skip
    if found.told.mass_kg is not None:
        lines.append(f"mass_kg = {toml_number(found.told.mass_kg)}")
    if internal_ohm > 0.0:
        sd = min(1e3 * internal_ohm, found.value(AFTER_LONG).sd)
        lines += [
            *(READ if found.straps else USUAL),
            f"internal_mohm = {_with_sd(1e3 * internal_ohm, sd)}",
        ]
    else:
        lines.append("internal_mohm = 0.0  # inside ohmic_mohm of the curve file")
    return [
        *lines, *_start(found), "lead_mohm = 0.0  # set yours; the logs were taken at the terminals"
    ]  # fmt: skip


def _start(found: Calibration) -> list[str]:
    """Return where the test began whose load is written; nothing for full, or where cells tell."""
    start = _strongest(found).start
    if found.cells or start > FULL:
        return []
    return [f"state_of_charge = {toml_number(round(start, 4))}  # as this test began: set yours"]


def _cell(found: Calibration, mean: Cell, table: str) -> list[str]:
    capacity = found.value("capacity")
    pairs = ", ".join(
        f"{{ mohm = {toml_number(1e3 * pair.resistance_ohm)}, "
        f"time_constant_s = {toml_number(pair.time_constant_s)} }}"
        for pair in mean.relaxation
    )
    lines = [
        "", "[battery.cell]", f"ocv_table = {toml_text(table)}",
        *_capacity_words(found),
        f"capacity_Ah = {_with_sd(capacity.value, capacity.sd)}",
        f"relaxation = [{pairs}]",
    ]  # fmt: skip
    if mean.available_fraction < 1.0:
        lines += [
            f"available_fraction = {toml_number(mean.available_fraction)}",
            f"well_rate_per_h = {toml_number(3600.0 * mean.well_rate_per_s)}",
        ]
    return lines


def _capacity_words(found: Calibration) -> list[str]:
    """Say what kind of capacity it is, where it is another one than it seems."""
    words = []
    if found.recipe.typical.available_fraction < 1.0:
        given = found.value(IN_LABEL_H)
        words += [
            f"# All charge in both wells. Over {LABEL_H:g} h it gives {given.value:.4g} Ah of it, "
            "which is what a label counts."
        ]
        if found.capacity_fraction is not None and found.charge_in_reach and not found.distrusted:
            words += [
                f"# A new battery of this label holds {found.new_Ah:.4g} Ah in both: this stands "
                f"for capacity_fraction = {found.capacity_fraction:.3f}."
            ]
    return [*words, "# Mean of the cells below, which count."] if found.cells else words


def _cells(found: Calibration, cells: Sequence[Cell], tables: Sequence[str]) -> list[str]:
    """Return the cells where they were logged; else nothing."""
    if not found.cells:
        return []
    log = found.followed[found.recipe.given[_full_log(found)] if found.recipe.given else 0]
    lines = ["", f"# Cells as at the start of {_comment(log.file)}."]
    for number, (cell, value) in enumerate(zip(cells, found.cells, strict=True)):
        charge_sd = value.charge_sd / 100.0
        lines += [
            f"[[battery.cells]]  # {number + 1}",
            f"capacity_Ah = {toml_number(cell.charge_C / 3600.0)}",
            f"state_of_charge = {_spread(cell.state_of_charge, charge_sd)}",
        ]
        lines += [f"ocv_table = {toml_text(tables[number])}"] if tables else []
    return lines


def _spread(value: float, sd: float) -> str:
    if sd <= 0.0 or value >= 1.0 - 1e-9:
        return toml_number(min(value, 1.0))
    return _with_sd(value, min(sd, 0.5 * value))


def _with_sd(value: float, sd: float) -> str:
    return f"{{ value = {toml_number(value)}, sd = {toml_number(sd)} }}"


def _load(found: Calibration) -> list[str]:
    return [
        "", "[[load]]  # the strongest of the tests, to run this file as it is",
        'name = "test"', f"current_A = {toml_number(_strongest(found).mean_A)}", *cut_off_of(found),
    ]  # fmt: skip


def _comment(words: str) -> str:
    return "".join(mark if mark.isprintable() else "?" for mark in words)

"""A calibrated battery as a scenario file: it runs as it is, and its battery fits into others."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from bankSim.measured.calibrate import Calibration
from bankSim.measured.quantities import AT_ONCE, IN_LABEL_H, LABEL_H, SURE
from bankSim.measured.told_cells import mean_cell, told_cells
from bankSim.model.cell import ZERO_C_K, Cell
from bankSim.model.rule import Blocks, Rule, Watch

MARK = "# Calibrated by banksim from measured logs"
INTERNAL_PART = {  # of the lowest resistance at most, for straps and switches; by whether read
    False: 0.4,
    True: 0.9,
}
READ = (
    "# Cells and terminals were logged together, and this drops between them; the error",
    "# is that of the whole resistance.",
)
USUAL = (
    "# At the terminals nobody can tell cells from straps and switches: a usual part of",
    "# what was measured stands here, with the error of the whole resistance.",
)
NO_CUT_OUT = ("# No cut-out was seen: the usual rules of the chemistry apply.",)
NO_RULES = (
    "# No cut-out was seen, and such a battery has none of its own: nothing stops a discharge but",
    "# cut_off_V of a load (1.75 V a cell, 10.5 V for 12 V, is common practice).",
)
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
        *_cells(found, cells, list(own)), *_rules(found), *_load(found),
    ]  # fmt: skip
    return BatteryFiles("\n".join(lines) + "\n", tables)


def _full_log(found: Calibration) -> int:
    """Return the log whose start stands for full."""
    return found.recipe.full_log or 0


def _internal_ohm(found: Calibration, mean: Cell) -> float:
    """Return what is written as `internal_mohm`: as read, else usual."""
    n = found.label.cells_in_series
    usual = found.recipe.chemistry.internal_ohm_Ah / found.label.rated_Ah if n > 1 else 0.0
    z = np.linspace(0.0, 1.0, 101)
    most = INTERNAL_PART[found.straps is not None] * n * mean.ohmic_ohm(z).min()
    return float(min(found.straps.ohm if found.straps else usual, most))


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
    return [
        MARK, "# Read from:", *logs,
        "# Copy [[battery]] and everything below it, up to [[load]], into your scenario, and its",
        "# curve files beside it. Spreads (sd) are standard errors: `banksim study` draws from",
        "# them. What is not written here is typical of the chemistry.",
        "", f"title = {_text('Test of ' + found.label.name)}", "",
        "[simulation]", f"duration_h = {_number(3.0 * max(one.hours for one in found.followed))}",
        "", "[surroundings]", f"temperature_C = {_number(_temperature_C(found))}", "",
    ]  # fmt: skip


def _temperature_C(found: Calibration) -> float:  # noqa: N802 - the unit as printed
    kelvin = [one.course.temperature_K for one in found.fit.samples]
    return float(np.mean(kelvin)) - ZERO_C_K


def _battery(found: Calibration, internal_ohm: float) -> list[str]:
    label = found.label
    lines = [
        "[[battery]]", f"name = {_text(label.name)}", f"chemistry = {_text(label.chemistry or '')}",
        f"cells_in_series = {label.cells_in_series}",
        f"rated_capacity_Ah = {_number(label.rated_Ah)}",
    ]  # fmt: skip
    if found.told.mass_kg is not None:
        lines.append(f"mass_kg = {_number(found.told.mass_kg)}")
    if internal_ohm > 0.0:
        sd = min(1e3 * internal_ohm, found.value(AT_ONCE).sd)
        lines += [
            *(READ if found.straps else USUAL),
            f"internal_mohm = {{ value = {_number(1e3 * internal_ohm)}, sd = {_number(sd)} }}",
        ]
    else:
        lines.append("internal_mohm = 0.0  # inside ohmic_mohm of the curve file")
    return [*lines, "lead_mohm = 0.0  # set yours; the logs were taken at the terminals"]


def _cell(found: Calibration, mean: Cell, table: str) -> list[str]:
    capacity = found.value("capacity")
    pairs = ", ".join(
        f"{{ mohm = {_number(1e3 * pair.resistance_ohm)}, "
        f"time_constant_s = {_number(pair.time_constant_s)} }}"
        for pair in mean.relaxation
    )
    lines = [
        "", "[battery.cell]", f"ocv_table = {_text(table)}",
        *_capacity_words(found),
        f"capacity_Ah = {{ value = {_number(capacity.value)}, sd = {_number(capacity.sd)} }}",
        f"relaxation = [{pairs}]",
    ]  # fmt: skip
    if mean.available_fraction < 1.0:
        lines += [
            f"available_fraction = {_number(mean.available_fraction)}",
            f"well_rate_per_h = {_number(3600.0 * mean.well_rate_per_s)}",
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
        if found.capacity_fraction is not None:
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
            f"capacity_Ah = {_number(cell.charge_C / 3600.0)}",
            f"state_of_charge = {_spread(cell.state_of_charge, charge_sd)}",
        ]
        lines += [f"ocv_table = {_text(tables[number])}"] if tables else []
    return lines


def _spread(value: float, sd: float) -> str:
    if sd <= 0.0 or value >= 1.0 - 1e-9:
        return _number(min(value, 1.0))
    return f"{{ value = {_number(value)}, sd = {_number(min(sd, 0.5 * value))} }}"


def _rules(found: Calibration) -> list[str]:
    """Return the low-voltage rule as it was seen, beside the other usual ones."""
    ends = [one.end for one in found.followed if one.end is not None]
    if not ends:
        return ["", *(NO_CUT_OUT if found.recipe.chemistry.is_lithium else NO_RULES)]
    cut = [end for end in ends if end.cut] or ends
    cut = [end for end in cut if end.cells_V] or cut
    by_cell = bool(cut[0].cells_V)
    lowest = min(min(end.cells_V) if by_cell else end.voltage_V for end in cut)
    single = by_cell or found.label.cells_in_series == 1
    watches = Watch.LOWEST_CELL if single else Watch.BATTERY_VOLTAGE
    usual = found.recipe.chemistry.usual_rules(
        found.label.rated_Ah * found.recipe.chemistry.discharge_per_h
    )
    if not cut[0].cut:  # a log that ran on below the usual cut-out is no rule to copy
        cells = 1 if single else found.label.cells_in_series
        lowest = max(lowest, cells * _usual_lowest_V(usual))
    seen = (
        "seen at the cut-out" if cut[0].cut else "where the logs end, or usual: set what yours does"
    )
    lines = [
        "", f"[[battery.protection]]  # {seen}", f"watches = {_text(watches.value)}",
        f"trips_below = {lowest:.3f}", 'blocks = "discharge"',
    ]  # fmt: skip
    if found.label.cells_in_series == 1:
        return lines
    for rule in usual:
        if not (rule.watches is Watch.LOWEST_CELL and rule.below):
            lines += _usual(rule)
    return lines


def _usual_lowest_V(usual: Sequence[Rule]) -> float:  # noqa: N802 - the unit as printed
    """Return the usual cut-out of the lowest cell; 0 where there is none. [V]"""
    found = [one.threshold for one in usual if one.watches is Watch.LOWEST_CELL and one.below]
    return max(found, default=0.0)


def _usual(rule: Rule) -> list[str]:
    shift = ZERO_C_K if rule.watches is Watch.TEMPERATURE else 0.0
    side = "below" if rule.below else "above"
    blocks = {Blocks.DISCHARGE: "discharge", Blocks.CHARGE: "charge", Blocks.BOTH: "both"}
    lines = [
        "", "[[battery.protection]]  # usual, not seen", f"watches = {_text(rule.watches.value)}",
        f"trips_{side} = {_number(rule.threshold - shift)}", f"after_s = {_number(rule.delay_s)}",
        f"blocks = {_text(blocks[rule.blocks])}",
    ]  # fmt: skip
    if rule.release is not None:
        back = "above" if rule.below else "below"
        lines += [
            f"releases_{back} = {_number(rule.release.threshold - shift)}",
            f"release_after_s = {_number(rule.release.delay_s)}",
            f"release_needs = {_text(rule.release.needs.value)}",
        ]
    return lines


def _load(found: Calibration) -> list[str]:
    deepest = max(found.followed, key=lambda one: one.mean_A)
    return [
        "", "[[load]]  # the strongest of the tests, to run this file as it is",
        'name = "test"', f"current_A = {_number(deepest.mean_A)}",
    ]  # fmt: skip


def _number(value: float) -> str:
    text = f"{value:.6g}"
    return text if any(mark in text for mark in ".e") else f"{text}.0"


def _text(words: str) -> str:
    """Return a TOML basic string."""
    escaped = words.replace("\\", "\\\\").replace('"', '\\"')
    safe = "".join(mark if mark.isprintable() else "?" for mark in escaped)
    return f'"{safe}"'


def _comment(words: str) -> str:
    return "".join(mark if mark.isprintable() else "?" for mark in words)

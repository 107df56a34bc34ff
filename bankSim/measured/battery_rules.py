"""What ends a discharge of a calibrated battery: a rule of its own, or the cut-off of the load."""

from collections.abc import Sequence

from bankSim.measured.calibrate import Calibration
from bankSim.measured.ends import End
from bankSim.measured.toml_lines import toml_number, toml_text
from bankSim.model.cell import ZERO_C_K
from bankSim.model.rule import Blocks, Rule, Watch
from bankSim.scenario.rule_checks import plausible_limit

NO_CUT_OUT = "# No cut-out was seen: the usual rules of the chemistry apply."
NO_RULES = (
    "# Such a battery usually has no cut-out of its own, and the logs show none: nothing stops a",
    "# discharge but cut_off_V of a load (1.75 V a cell, 10.5 V for 12 V, is common practice).",
)
WENT_DEAD = "seen: the terminals went dead"
STOPPED = "where the current stopped: by the battery's own cut-out or the load's, no log can tell"
RAN_ON = "where the logs end, or usual: set what yours does"
NEAR_V = 0.3  # of a cell: a log that ends further above the usual cut-out was stopped; own choice


def rules_of(found: Calibration) -> list[str]:
    """Return the low-voltage rule as it was seen, beside the other usual ones, as lines of TOML."""
    chemistry = found.recipe.chemistry
    usual = chemistry.usual_rules(found.label.rated_Ah * chemistry.discharge_per_h)
    ends = _ends(found)
    if not chemistry.is_lithium:
        ends = [end for end in ends if end.dead]
    elif not any(end.cut for end in ends):
        ends = [end for end in ends if _lowest_V(found, ends) < _usual_V(found, usual) + NEAR_V]
    if not ends:
        return ["", *((NO_CUT_OUT,) if chemistry.is_lithium else NO_RULES)]
    lowest_V = _lowest_V(found, ends) * _cells(found, ends)
    watches = Watch.LOWEST_CELL if _cells(found, ends) == 1 else Watch.BATTERY_VOLTAGE
    least_V, most_V, _ = plausible_limit(watches, found.label.cells_in_series)
    sound = ends[0].cut and least_V <= lowest_V <= most_V
    if not sound:  # a log that ran on below the usual cut-out, or slipped, is no rule to copy
        usual_V = _usual_V(found, usual) * _cells(found, ends)
        lowest_V = min(max(lowest_V, least_V, usual_V), most_V)
    seen = _seen(ends) if sound else RAN_ON
    lines = [
        "", f"[[battery.protection]]  # {seen}", f"watches = {toml_text(watches.value)}",
        f"trips_below = {lowest_V:.3f}", 'blocks = "discharge"',
    ]  # fmt: skip
    if found.label.cells_in_series == 1:
        return lines
    for rule in usual:
        if not (rule.watches is Watch.LOWEST_CELL and rule.below):
            lines += _usual(rule)
    return lines


def cut_off_of(found: Calibration) -> list[str]:
    """Return the cut-off of the load where no battery ended the tests itself, as lines of TOML."""
    ends = _ends(found)
    if found.recipe.chemistry.is_lithium or not ends or any(end.dead for end in ends):
        return []
    lowest_V = min(end.voltage_V for end in ends)
    least_V, most_V, _ = plausible_limit(Watch.BATTERY_VOLTAGE, found.label.cells_in_series)
    if not least_V <= lowest_V <= most_V:
        return []
    return [f"cut_off_V = {lowest_V:.3f}  # where the tests ended"]


def _ends(found: Calibration) -> list[End]:
    """Return the ends that count: cut-outs before logs that just end, those with cells first."""
    ends = [one.end for one in found.followed if one.end is not None]
    ends = [end for end in ends if end.dead] or [end for end in ends if end.cut] or ends
    return [end for end in ends if end.cells_V] or ends


def _seen(ends: Sequence[End]) -> str:
    if ends[0].dead:
        return WENT_DEAD
    return STOPPED if ends[0].cut else RAN_ON


def _cells(found: Calibration, ends: Sequence[End]) -> int:
    """Return over how many cells the seen voltage stands: one where cells were logged."""
    return 1 if ends[0].cells_V else found.label.cells_in_series


def _lowest_V(found: Calibration, ends: Sequence[End]) -> float:  # noqa: N802 - as printed
    """Return the lowest voltage seen, of one cell. [V]"""
    return min(
        min(end.cells_V) if end.cells_V else end.voltage_V / found.label.cells_in_series
        for end in ends
    )


def _usual_V(found: Calibration, usual: Sequence[Rule]) -> float:  # noqa: N802 - as printed
    """Return the usual cut-out of the lowest cell; lead has none: what it stands. [V]"""
    seen = [one.threshold for one in usual if one.watches is Watch.LOWEST_CELL and one.below]
    return max(seen, default=found.recipe.chemistry.lowest_safe_V)


def _usual(rule: Rule) -> list[str]:
    shift = ZERO_C_K if rule.watches is Watch.TEMPERATURE else 0.0
    side = "below" if rule.below else "above"
    blocks = {Blocks.DISCHARGE: "discharge", Blocks.CHARGE: "charge", Blocks.BOTH: "both"}
    lines = [
        "", "[[battery.protection]]  # usual, not seen",
        f"watches = {toml_text(rule.watches.value)}",
        f"trips_{side} = {toml_number(rule.threshold - shift)}",
        f"after_s = {toml_number(rule.delay_s)}",
        f"blocks = {toml_text(blocks[rule.blocks])}",
    ]  # fmt: skip
    if rule.release is not None:
        back = "above" if rule.below else "below"
        lines += [
            f"releases_{back} = {toml_number(rule.release.threshold - shift)}",
            f"release_after_s = {toml_number(rule.release.delay_s)}",
            f"release_needs = {toml_text(rule.release.needs.value)}",
        ]
    return lines

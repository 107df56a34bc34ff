"""How far the watched conditions are from being met, as numbers that fall through 0."""

import numpy as np

from bankSim.crosscheck.twin_cells import Plant, Snapshot
from bankSim.model.battery import Battery
from bankSim.model.charger import Stage
from bankSim.model.rule import Blocks, Needs, Release, Rule, Watch

MET = 1e-9  # a condition this close to being met counts as met, so that no crossing is lost
CLEARED = 2e-9  # and must be left by this much before its delay starts anew
BEYOND = 4e-9  # a limit must be passed by this much to count [V, A, K]
STRICTLY = 2e-9  # a strict condition is met only beyond its threshold, by about this much
CHARGING_A = -1e-3  # a battery with no more than this is being charged
STAY_OUT_PART = 0.01  # of the label capacity, to pass the other way


def watched_value(plant: Plant, seen: Snapshot, battery: int, watch: Watch) -> float:
    """Return the value that a rule of one battery watches, in SI. [V, A or K]"""
    if watch is Watch.LOWEST_CELL:
        return float(seen.cell_V[plant.cells_of(battery)].min())
    if watch is Watch.HIGHEST_CELL:
        return float(seen.cell_V[plant.cells_of(battery)].max())
    if watch is Watch.BATTERY_VOLTAGE:
        return float(seen.battery_V[battery])
    if watch is Watch.TEMPERATURE:
        return float(seen.temperature_K[battery])
    current_A = float(seen.flow.current_A[battery])
    return current_A if watch is Watch.DISCHARGE_CURRENT else -current_A


def deciding_cell(plant: Plant, seen: Snapshot, battery: int, watch: Watch) -> int | None:
    """Return which cell decides, counted from 1."""
    choose = {Watch.LOWEST_CELL: np.argmin, Watch.HIGHEST_CELL: np.argmax}.get(watch)
    return None if choose is None else int(choose(seen.cell_V[plant.cells_of(battery)])) + 1


def trip_margin(plant: Plant, seen: Snapshot, battery: int, rule: Rule) -> float:
    """Return how far a rule is from tripping. [V, A or K]"""
    value = watched_value(plant, seen, battery, rule.watches)
    margin = value - rule.threshold if rule.below else rule.threshold - value
    return margin + BEYOND


def release_margin(
    plant: Plant,
    seen: Snapshot,
    battery: int,
    rule: Rule,
    release: Release,
    *,
    charge_blocked: bool,
    loads_draw: bool,
) -> float:
    """Return how far a tripped rule is from letting go: value and need together. [V, A or K]"""
    value = watched_value(plant, seen, battery, rule.watches)
    margin = release.threshold - value if rule.below else value - release.threshold
    margin += _strictly(rule)
    if release.needs is Needs.HAND or (release.needs is Needs.LOAD_REMOVED and loads_draw):
        return max(margin, 1.0)
    if release.needs is Needs.CHARGING:
        return max(margin, _charging_margin(seen, battery, charge_blocked=charge_blocked))
    return margin


def _charging_margin(seen: Snapshot, battery: int, *, charge_blocked: bool) -> float:
    """Return how far a battery is from being charged, or from being able to be."""
    if charge_blocked:
        return float(seen.emf_V[battery] - seen.rail_V[battery]) + STRICTLY
    return float(seen.flow.current_A[battery]) - CHARGING_A


def _strictly(rule: Rule) -> float:
    return STRICTLY if rule.watches is Watch.TEMPERATURE else 0.0


def tail_margin(seen: Snapshot, charger: int, stage: Stage) -> float:
    """Return how far a stage is from its end: held, and down to the tail current.

    Unit: [V, or A once held]
    """
    if stage.tail_A is None:
        return 1.0
    below_V = stage.hold_V - seen.flow.load_V - MET
    return max(below_V, float(seen.flow.charger_A[charger]) - stage.tail_A)


def stay_out_margin(
    seen: Snapshot, index: int, battery: Battery, direction: Blocks, before_C: float
) -> float:
    """Return how much of the label capacity is still to pass the other way. [1]"""
    passed_C = through_C(seen, index, other_way(direction)) - before_C
    return STAY_OUT_PART - passed_C / battery.rated_C


def through_C(seen: Snapshot, battery: int, direction: Blocks) -> float:  # noqa: N802
    """Return the charge that has gone through in one direction since the start. [C]"""
    counter = seen.given_C if direction is Blocks.DISCHARGE else seen.taken_C
    return float(counter[battery])


def other_way(direction: Blocks) -> Blocks:
    """Return the opposite direction."""
    return Blocks.CHARGE if direction is Blocks.DISCHARGE else Blocks.DISCHARGE

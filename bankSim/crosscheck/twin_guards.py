"""Everything that acts by itself: rules, loads' cut-offs, chargers' stages, heaters."""

import math
from collections.abc import Callable
from dataclasses import dataclass

from bankSim.crosscheck.twin_board import Board, Way
from bankSim.crosscheck.twin_cells import Snapshot
from bankSim.crosscheck.twin_result import (
    HEATER_OFF,
    HEATER_ON,
    LOAD_OFF,
    LOAD_ON,
    RELEASE,
    STAGE,
    TRIP,
)
from bankSim.crosscheck.twin_state import OFF
from bankSim.crosscheck.twin_watch import (
    STRICTLY,
    deciding_cell,
    other_way,
    release_margin,
    stay_out_margin,
    tail_margin,
    through_C,
    trip_margin,
    watched_value,
)
from bankSim.model.rule import Blocks


@dataclass(slots=True)
class Guard:
    """A condition that is waited for.

    Parameters
    ----------
    margin : function of a snapshot
        0 or less while the condition holds.
    act : function of a snapshot
        What then happens; returns the guard that takes this one's place, if any.
    delay_s : float
        How long the condition must hold without a break. [s]
    latest_s : float
        Acts then in any case. [s]
    deadline_s : float or None
        When it acts if the condition goes on to hold; None while it does not hold. [s]
    """

    margin: Callable[[Snapshot], float]
    act: "Callable[[Snapshot], Guard | None]"
    delay_s: float = 0.0
    latest_s: float = math.inf
    deadline_s: float | None = None

    def due_s(self) -> float:
        """Return when it acts, if nothing changes. [s]"""
        return self.latest_s if self.deadline_s is None else min(self.latest_s, self.deadline_s)


def all_guards(board: Board) -> list[Guard]:
    """Return what is watched at the start, in order of action: rules, loads, heaters."""
    bank = board.bank
    rules = [
        armed_rule(board, k, j)
        for k, battery in enumerate(bank.batteries)
        for j in range(len(battery.rules))
    ]
    loads = [running_load(board, m) for m, load in enumerate(bank.loads) if load.cut_off]
    heaters = [resting_heater(board, k) for k, b in enumerate(bank.batteries) if b.heater]
    return [*rules, *loads, *heaters]


def armed_rule(board: Board, battery: int, number: int) -> Guard:
    """Return the guard of a rule that may trip."""
    rule, plant = board.bank.batteries[battery].rules[number], board.plant

    def act(seen: Snapshot) -> Guard | None:
        board.tripped.add((battery, number))
        _record_rule(board, TRIP, seen, battery, number)
        return tripped_rule(board, battery, number)

    return Guard(lambda seen: trip_margin(plant, seen, battery, rule), act, rule.delay_s)


def tripped_rule(board: Board, battery: int, number: int) -> Guard | None:
    """Return the guard of a rule that may let go; None where it never does."""
    rule, plant = board.bank.batteries[battery].rules[number], board.plant
    release = rule.release
    if release is None:
        return None

    def margin(seen: Snapshot) -> float:
        blocked = bool(board.blocked()[battery] & Blocks.CHARGE)
        draw = board.loads_draw()
        return release_margin(
            plant, seen, battery, rule, release, charge_blocked=blocked, loads_draw=draw
        )

    def act(seen: Snapshot) -> Guard:
        board.tripped.remove((battery, number))
        board.reconsider()
        _record_rule(board, RELEASE, seen, battery, number)
        return armed_rule(board, battery, number)

    return Guard(margin, act, release.delay_s)


def _record_rule(board: Board, what: str, seen: Snapshot, battery: int, number: int) -> None:
    rule, plant = board.bank.batteries[battery].rules[number], board.plant
    board.record(
        what,
        seen,
        battery=battery,
        watches=rule.watches,
        cell=deciding_cell(plant, seen, battery, rule.watches),
        blocks=rule.blocks,
        value=watched_value(plant, seen, battery, rule.watches),
    )


def stay_out(board: Board, way: Way, seen: Snapshot) -> Guard:
    """Keep one direction blocked; return the guard that ends it."""
    battery, direction = way
    before_C = through_C(seen, battery, other_way(direction))
    label = board.bank.batteries[battery]
    board.staying_out[way] = before_C

    def act(_seen: Snapshot) -> None:
        board.staying_out.pop(way, None)
        board.reconsider()

    return Guard(lambda seen: stay_out_margin(seen, battery, label, direction, before_C), act)


def running_load(board: Board, number: int) -> Guard:
    """Return the guard of a load that may cut itself off."""
    cut_off = board.bank.loads[number].cut_off
    assert cut_off is not None  # asked for such loads only

    def act(seen: Snapshot) -> Guard | None:
        board.cut_off.add(number)
        board.record(LOAD_OFF, seen, load=number, value=seen.flow.load_V)
        return stopped_load(board, number, cut_off.restart_V)

    return Guard(lambda seen: seen.flow.load_V - cut_off.below_V, act, cut_off.after_s)


def stopped_load(board: Board, number: int, restart_V: float | None) -> Guard | None:
    """Return the guard of a load that may start again; None where it stays off."""
    if restart_V is None:
        return None

    def act(seen: Snapshot) -> Guard:
        board.cut_off.remove(number)
        board.reconsider()
        board.record(LOAD_ON, seen, load=number, value=seen.flow.load_V)
        return running_load(board, number)

    return Guard(lambda seen: restart_V - seen.flow.load_V, act)


def charger_stage(board: Board, number: int) -> Guard:
    """Return the guard that ends the present stage of a charger, begun now."""
    charger, at = board.bank.chargers[number], board.stages[number]
    stage = charger.stages[at - 1]

    def act(seen: Snapshot) -> Guard | None:
        following = at + 1 if at < len(charger.stages) else OFF
        board.stages[number] = following
        board.reconsider()
        board.record(STAGE, seen, charger=number, value=float(following))
        return charger_stage(board, number) if following != OFF else None

    latest_s = math.inf if stage.most_s is None else board.time_s + stage.most_s
    return Guard(lambda seen: tail_margin(seen, number, stage), act, latest_s=latest_s)


def resting_heater(board: Board, battery: int) -> Guard:
    """Return the guard of a heater that may switch on."""
    heater = board.bank.batteries[battery].heater
    assert heater is not None  # asked for such batteries only

    def act(seen: Snapshot) -> Guard:
        board.heaters_on.add(battery)
        board.record(HEATER_ON, seen, battery=battery, value=float(seen.temperature_K[battery]))
        return warming_heater(board, battery, heater.off_above_K)

    return Guard(
        lambda seen: float(seen.temperature_K[battery]) - heater.on_below_K + STRICTLY, act
    )


def warming_heater(board: Board, battery: int, off_above_K: float) -> Guard:
    """Return the guard of a heater that may switch off."""

    def act(seen: Snapshot) -> Guard:
        board.heaters_on.remove(battery)
        board.record(HEATER_OFF, seen, battery=battery, value=float(seen.temperature_K[battery]))
        return resting_heater(board, battery)

    return Guard(lambda seen: off_above_K - float(seen.temperature_K[battery]) + STRICTLY, act)

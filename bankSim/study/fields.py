"""The numbers of a bank that differ between draws, as one table: a row a draw."""

from collections.abc import Callable, Mapping
from enum import Enum

import numpy as np

from bankSim.model.bank import Bank
from bankSim.model.cell import MOST_PAIRS, Cell
from bankSim.model.curve import Floats
from bankSim.model.rule import Rule


class Field(Enum):
    """A kind of number, in SI; batteries, cells, rules, loads, chargers and stages in file order.

    OHMIC, LOAD and CHARGER are factors on what the bank has: on R0 of a cell, on the amount of a
    load, on the limit of a charger.
    """

    CHARGE = "charge_C"  # per cell
    SOC = "state_of_charge"
    OHMIC = "ohmic"
    PAIR_OHM = "pair_ohm"  # per cell and place among its MOST_PAIRS
    PAIR_TIME = "pair_time_s"
    LAG = "charge_lag_ohm"  # per cell
    HYSTERESIS = "hysteresis_V"
    STANDING = "standing_A"
    AVAILABLE = "available_fraction"
    WELL_RATE = "well_rate_per_s"
    INTERNAL = "internal_ohm"  # per battery
    LEAD = "lead_ohm"
    DROP = "diode_drop_V"
    ACTIVATION = "activation_J_mol"
    HEAT_CAPACITY = "heat_capacity_J_K"
    HEAT_LOSS = "heat_loss_W_K"
    THRESHOLD = "threshold"  # per protection rule
    DELAY = "delay_s"
    LET_GO = "let_go"
    LET_GO_DELAY = "let_go_delay_s"
    LINK = "link_ohm"  # of the bank
    MAIN = "main_ohm"
    TEMPERATURE = "temperature_K"
    LOAD = "load"  # per load
    CHARGER = "charger"  # per charger
    HOLD = "hold_V"  # per stage
    TAIL = "tail_A"


Columns = Mapping[Field, Floats]  # each (draws, numbers of that kind)


def base_columns(bank: Bank) -> dict[Field, Floats]:
    """Return what the bank itself has, one row of every field. In SI."""
    return {field: base_column(bank, field) for field in _READERS}


def base_column(bank: Bank, field: Field) -> Floats:
    """Return what the bank itself has of one field, one row. In SI."""
    return np.atleast_2d(_READERS[field](bank))


def cell_places(bank: Bank, battery: int) -> range:
    """Return where the cells of one battery stand among all."""
    first = sum(len(one.cells) for one in bank.batteries[:battery])
    return range(first, first + len(bank.batteries[battery].cells))


def rule_places(bank: Bank, battery: int) -> range:
    """Return where the rules of one battery stand among all."""
    first = sum(len(one.rules) for one in bank.batteries[:battery])
    return range(first, first + len(bank.batteries[battery].rules))


def stage_places(bank: Bank, charger: int) -> range:
    """Return where the stages of one charger stand among all."""
    first = sum(len(one.stages) for one in bank.chargers[:charger])
    return range(first, first + len(bank.chargers[charger].stages))


def _per_cell(read: Callable[[Cell], float]) -> Callable[[Bank], Floats]:
    return lambda bank: np.array([read(cell) for one in bank.batteries for cell in one.cells])


def _per_pair(name: str) -> Callable[[Bank], Floats]:
    def read(bank: Bank) -> Floats:
        cells = [cell for one in bank.batteries for cell in one.cells]
        table = np.zeros((len(cells), MOST_PAIRS))
        for row, cell in zip(table, cells, strict=True):
            row[: len(cell.relaxation)] = [getattr(pair, name) for pair in cell.relaxation]
        return table.ravel()

    return read


def _per_rule(read: Callable[[Rule], float]) -> Callable[[Bank], Floats]:
    return lambda bank: np.array([read(rule) for one in bank.batteries for rule in one.rules])


def _let_go(rule: Rule) -> float:
    return rule.threshold if rule.release is None else rule.release.threshold


def _let_go_delay(rule: Rule) -> float:
    return 0.0 if rule.release is None else rule.release.delay_s


def _per_battery(name: str) -> Callable[[Bank], Floats]:
    return lambda bank: np.array([getattr(one, name) for one in bank.batteries])


def _heat(name: str) -> Callable[[Bank], Floats]:
    return lambda bank: np.array([getattr(one.thermal, name, 0.0) for one in bank.batteries])


def _per_stage(name: str) -> Callable[[Bank], Floats]:
    return lambda bank: np.array(
        [getattr(stage, name) or 0.0 for one in bank.chargers for stage in one.stages]
    )


_READERS: dict[Field, Callable[[Bank], Floats]] = {
    Field.CHARGE: _per_cell(lambda cell: cell.charge_C),
    Field.SOC: _per_cell(lambda cell: cell.state_of_charge),
    Field.OHMIC: _per_cell(lambda _: 1.0),
    Field.PAIR_OHM: _per_pair("resistance_ohm"),
    Field.PAIR_TIME: _per_pair("time_constant_s"),
    Field.LAG: _per_cell(lambda cell: cell.charge_lag.full_ohm),
    Field.HYSTERESIS: _per_cell(lambda cell: cell.hysteresis_V),
    Field.STANDING: _per_cell(lambda cell: cell.standing_A),
    Field.AVAILABLE: _per_cell(lambda cell: cell.available_fraction),
    Field.WELL_RATE: _per_cell(lambda cell: cell.well_rate_per_s),
    Field.INTERNAL: _per_battery("internal_ohm"),
    Field.LEAD: _per_battery("lead_ohm"),
    Field.DROP: _per_battery("diode_drop_V"),
    Field.ACTIVATION: lambda bank: np.array(
        [one.cells[0].activation_J_mol for one in bank.batteries]
    ),
    Field.HEAT_CAPACITY: _heat("capacity_J_K"),
    Field.HEAT_LOSS: _heat("loss_W_K"),
    Field.THRESHOLD: _per_rule(lambda rule: rule.threshold),
    Field.DELAY: _per_rule(lambda rule: rule.delay_s),
    Field.LET_GO: _per_rule(_let_go),
    Field.LET_GO_DELAY: _per_rule(_let_go_delay),
    Field.LINK: lambda bank: np.array([bank.wiring.link_ohm]),
    Field.MAIN: lambda bank: np.array([bank.wiring.main_ohm]),
    Field.TEMPERATURE: lambda bank: np.array([bank.temperature_K]),
    Field.LOAD: lambda bank: np.ones(len(bank.loads)),
    Field.CHARGER: lambda bank: np.ones(len(bank.chargers)),
    Field.HOLD: _per_stage("hold_V"),
    Field.TAIL: _per_stage("tail_A"),
}

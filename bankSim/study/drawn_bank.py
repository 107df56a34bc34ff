"""The bank of one draw, as the model's own objects."""

from dataclasses import replace

from bankSim.model.bank import Bank
from bankSim.model.battery import Battery
from bankSim.model.cell import MOST_PAIRS, Cell, RelaxationPair
from bankSim.model.charger import Charger
from bankSim.model.curve import Floats
from bankSim.model.rule import Rule
from bankSim.study.fields import Columns, Field, cell_places, rule_places, stage_places


def drawn_bank(bank: Bank, columns: Columns, draw: int) -> Bank:
    """Return a bank with the numbers of one draw in place of its own.

    Parameters
    ----------
    bank : Bank
    columns : mapping of Field to array (draws, numbers)
        Fields that are missing stay as they are.
    draw : int
        Row.
    """
    row = {field: values[draw] for field, values in columns.items()}
    return replace(
        bank,
        batteries=tuple(_battery(bank, number, row) for number in range(len(bank.batteries))),
        wiring=replace(
            bank.wiring,
            link_ohm=_one(row, Field.LINK, 0, bank.wiring.link_ohm),
            main_ohm=_one(row, Field.MAIN, 0, bank.wiring.main_ohm),
        ),
        loads=tuple(
            replace(load, profile_amount=load.profile_amount * _one(row, Field.LOAD, number, 1.0))
            for number, load in enumerate(bank.loads)
        ),
        temperature_K=_one(row, Field.TEMPERATURE, 0, bank.temperature_K),
        chargers=tuple(_charger(bank, number, row) for number in range(len(bank.chargers))),
    )


Row = dict[Field, Floats]


def _one(row: Row, field: Field, place: int, otherwise: float) -> float:
    return float(row[field][place]) if field in row else otherwise


def _battery(bank: Bank, number: int, row: Row) -> Battery:
    battery = bank.batteries[number]
    activation = battery.cells[0].activation_J_mol
    activation = _one(row, Field.ACTIVATION, number, activation)
    thermal = battery.thermal
    if thermal is not None:
        thermal = replace(
            thermal,
            capacity_J_K=_one(row, Field.HEAT_CAPACITY, number, thermal.capacity_J_K),
            loss_W_K=_one(row, Field.HEAT_LOSS, number, thermal.loss_W_K),
        )
    return replace(
        battery,
        cells=tuple(
            _cell(cell, place, activation, row)
            for cell, place in zip(battery.cells, cell_places(bank, number), strict=True)
        ),
        rules=tuple(
            _rule(rule, place, row)
            for rule, place in zip(battery.rules, rule_places(bank, number), strict=True)
        ),
        internal_ohm=_one(row, Field.INTERNAL, number, battery.internal_ohm),
        lead_ohm=_one(row, Field.LEAD, number, battery.lead_ohm),
        diode_drop_V=_one(row, Field.DROP, number, battery.diode_drop_V),
        thermal=thermal,
    )


def _cell(cell: Cell, place: int, activation_J_mol: float, row: Row) -> Cell:
    pairs = tuple(
        RelaxationPair(
            _one(row, Field.PAIR_OHM, MOST_PAIRS * place + j, pair.resistance_ohm),
            _one(row, Field.PAIR_TIME, MOST_PAIRS * place + j, pair.time_constant_s),
        )
        for j, pair in enumerate(cell.relaxation)
    )
    ohmic = _one(row, Field.OHMIC, place, 1.0)
    return replace(
        cell,
        charge_C=_one(row, Field.CHARGE, place, cell.charge_C),
        state_of_charge=_one(row, Field.SOC, place, cell.state_of_charge),
        ohmic_ohm=cell.ohmic_ohm if ohmic == 1.0 else cell.ohmic_ohm.scaled(ohmic),
        relaxation=pairs,
        charge_lag=replace(
            cell.charge_lag, full_ohm=_one(row, Field.LAG, place, cell.charge_lag.full_ohm)
        ),
        hysteresis_V=_one(row, Field.HYSTERESIS, place, cell.hysteresis_V),
        standing_A=_one(row, Field.STANDING, place, cell.standing_A),
        available_fraction=_one(row, Field.AVAILABLE, place, cell.available_fraction),
        well_rate_per_s=_one(row, Field.WELL_RATE, place, cell.well_rate_per_s),
        activation_J_mol=activation_J_mol,
    )


def _rule(rule: Rule, place: int, row: Row) -> Rule:
    release = rule.release
    if release is not None:
        release = replace(
            release,
            threshold=_one(row, Field.LET_GO, place, release.threshold),
            delay_s=_one(row, Field.LET_GO_DELAY, place, release.delay_s),
        )
    return replace(
        rule,
        threshold=_one(row, Field.THRESHOLD, place, rule.threshold),
        delay_s=_one(row, Field.DELAY, place, rule.delay_s),
        release=release,
    )


def _charger(bank: Bank, number: int, row: Row) -> Charger:
    charger = bank.chargers[number]
    scale = _one(row, Field.CHARGER, number, 1.0)
    stages = tuple(
        replace(
            stage,
            hold_V=_one(row, Field.HOLD, place, stage.hold_V),
            tail_A=None if stage.tail_A is None else _one(row, Field.TAIL, place, stage.tail_A),
        )
        for stage, place in zip(charger.stages, stage_places(bank, number), strict=True)
    )
    return replace(
        charger,
        stages=stages,
        limit_A=None if charger.limit_A is None else charger.limit_A * scale,
        limit_W=None if charger.limit_W is None else charger.limit_W * scale,
        sun=None
        if charger.sun is None
        else replace(charger.sun, peak_W=charger.sun.peak_W * scale),
    )

"""From random numbers to values of unknowns, and from those to numbers of banks."""

from collections.abc import Mapping, Sequence

import numpy as np

from bankSim.kernels.arrays import Floats
from bankSim.model.bank import Bank
from bankSim.study.fields import Field, base_column
from bankSim.study.unknown import Effect, Kind, Op, Unknown

SMALLEST_CHANCE = 2.0**-53


def drawn_values(unknowns: Sequence[Unknown], chances: Floats) -> Floats:
    """Return the value of every unknown in every draw.

    Parameters
    ----------
    unknowns : sequence of Unknown
    chances : array (draws, unknowns)
        Independent, in (0, 1). What follows another unknown gets its correlation here.

    Returns
    -------
    values : array (draws, unknowns)
        In the unit of each unknown.

    Source
    ------
    docs/theory.md, eq. 21.2.
    """
    from scipy.special import ndtr, ndtri

    column = {unknown.label: number for number, unknown in enumerate(unknowns)}
    values = np.empty_like(chances)
    for number, unknown in enumerate(unknowns):
        chance = chances[:, number]
        if unknown.follows is not None:
            rho = unknown.correlation
            leader = ndtri(chances[:, column[unknown.follows]])
            chance = ndtr(rho * leader + np.sqrt(1.0 - rho * rho) * ndtri(chance))
            chance = np.clip(chance, SMALLEST_CHANCE, 1.0 - SMALLEST_CHANCE)
        values[:, number] = unknown.spread.at(chance)
    return _pin(unknowns, values)


def _pin(unknowns: Sequence[Unknown], values: Floats) -> Floats:
    """Divide the factors that belong together by the smallest of them."""
    groups: dict[tuple[Kind, str], list[int]] = {}
    for number, unknown in enumerate(unknowns):
        if unknown.pinned:
            groups.setdefault((unknown.kind, unknown.subject), []).append(number)
    for members in groups.values():
        values[:, members] /= values[:, members].min(axis=1, keepdims=True)
    return values


def columns_of(bank: Bank, unknowns: Sequence[Unknown], values: Floats) -> Mapping[Field, Floats]:
    """Return the numbers of the bank that differ between draws, in SI.

    Parameters
    ----------
    bank : Bank
        With the central values.
    unknowns : sequence of Unknown
    values : array (draws, unknowns)
        In the unit of each unknown.

    Returns
    -------
    columns : mapping of Field to array (draws, numbers)
        Only fields that some unknown touches. States of charge stay within 0 to 1. Values that
        must keep an order do, because their spreads are cut (`scenario.cut_spreads`). In SI.
    """
    fields = {effect.field for unknown in unknowns for effect in unknown.effects}
    columns = {
        field: np.repeat(base_column(bank, field), len(values), axis=0)
        for field in Field
        if field in fields
    }
    for number, unknown in enumerate(unknowns):
        for effect in unknown.effects:
            _apply(columns[effect.field], effect, values[:, [number]], unknown.spread.value)
    return _sound(columns)


def _apply(table: Floats, effect: Effect, value: Floats, middle: float) -> None:
    """Change numbers of the bank as a drawn value says.

    Source: docs/theory.md, eq. 21.3.
    """
    places = list(effect.places)
    if effect.op is Op.FACTOR:
        table[:, places] *= value
    elif effect.op is Op.SET:
        table[:, places] = value * effect.per_unit + effect.zero
    elif effect.op is Op.SCALE:
        table[:, places] *= value / middle
    elif effect.op is Op.DIVIDE:
        table[:, places] *= middle / value
    else:
        table[:, places] += effect.per_unit * (value - middle)


def _sound(columns: dict[Field, Floats]) -> Mapping[Field, Floats]:
    if Field.SOC in columns:
        np.clip(columns[Field.SOC], 0.0, 1.0, out=columns[Field.SOC])
    if Field.AVAILABLE in columns:
        np.clip(columns[Field.AVAILABLE], 0.01, 1.0, out=columns[Field.AVAILABLE])
    return columns

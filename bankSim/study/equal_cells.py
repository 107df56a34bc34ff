"""The cells of a battery made equal: each has the mean of all."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from bankSim.kernels.arrays import Floats
from bankSim.model.cell import Cell, RelaxationPair
from bankSim.model.curve import Curve

MEANS = (
    "hysteresis_V",
    "hysteresis_rate",
    "coulombic_efficiency",
    "standing_A",
    "available_fraction",
    "well_rate_per_s",
    "gassing_A",
)


def made_equal(cells: Sequence[Cell]) -> tuple[Cell, ...]:
    """Return as many cells, all with the mean capacity, charge held, voltage and resistances.

    Parameters
    ----------
    cells : sequence of Cell
        Of one battery, 1 or more.

    Returns
    -------
    cells : tuple of Cell
        In series they have the capacity, the charge and the resistances of the others in sum.
    """
    charge = float(np.mean([cell.charge_C for cell in cells]))
    held = float(np.mean([cell.charge_C * cell.state_of_charge for cell in cells]))
    means: dict[str, Any] = {
        name: float(np.mean([getattr(cell, name) for cell in cells])) for name in MEANS
    }
    one = replace(
        cells[0],
        ocv_V=mean_curve([cell.ocv_V for cell in cells]),
        ohmic_ohm=mean_curve([cell.ohmic_ohm for cell in cells]),
        charge_C=charge,
        state_of_charge=min(held / charge, 1.0),
        relaxation=_mean_pairs([cell.relaxation for cell in cells]),
        charge_lag=replace(
            cells[0].charge_lag,
            full_ohm=float(np.mean([cell.charge_lag.full_ohm for cell in cells])),
        ),
        **means,
    )
    return (one,) * len(cells)


def _mean_pairs(every: Sequence[tuple[RelaxationPair, ...]]) -> tuple[RelaxationPair, ...]:
    """Return the mean of first, second and third pairs; a missing one counts as 0 ohm."""
    found = []
    for place in range(max(len(pairs) for pairs in every)):
        there = [pairs[place] for pairs in every if place < len(pairs)]
        ohm = sum(pair.resistance_ohm for pair in there) / len(every)
        found.append(RelaxationPair(ohm, float(np.mean([p.time_constant_s for p in there]))))
    return tuple(found)


def mean_curve(curves: Sequence[Curve]) -> Curve:
    """Return the mean of curves, exact between and beyond all their knots.

    Parameters
    ----------
    curves : sequence of Curve
        1 or more.
    """
    first = curves[0]
    if all(curve.same_as(first) for curve in curves):
        return first
    knots = np.unique(np.concatenate([curve.knots for curve in curves]))
    return Curve(
        knots,
        np.mean([_pieces(curve, knots[:-1]) for curve in curves], axis=0),
        float(np.mean([curve(knots[-1]) for curve in curves])),
        float(np.mean([curve.slope_below for curve in curves])),
        float(np.mean([curve.slope_above for curve in curves])),
    )


def _pieces(curve: Curve, starts: Floats) -> Floats:
    """Return the cubic pieces of a curve from other places on; (starts, 4).

    A cubic in s, written in s - t: value, slope, half the second and a sixth of the third
    derivative at t (Taylor).
    """
    last = curve.knots.size - 2
    index = np.clip(np.searchsorted(curve.knots, starts, side="right") - 1, 0, last)
    c0, c1, c2, c3 = curve.coefficients[index].T
    t = starts - curve.knots[index]
    value = c0 + t * (c1 + t * (c2 + t * c3))
    slope = c1 + t * (2.0 * c2 + 3.0 * t * c3)
    moved = np.column_stack([value, slope, c2 + 3.0 * t * c3, c3])
    below, above = starts < curve.knots[0], starts >= curve.knots[-1]
    for beyond, slope in ((below, curve.slope_below), (above, curve.slope_above)):
        straight = np.column_stack([curve(starts), np.full(starts.size, slope)])
        moved[beyond] = np.pad(straight, ((0, 0), (0, 2)))[beyond]
    return moved

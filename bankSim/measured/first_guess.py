"""How much charge a battery holds, before its logs are fitted."""

from collections.abc import Sequence

import numpy as np

from bankSim.measured.ends import MOSTLY, drawn_Ah, end_of, usual_A
from bankSim.measured.label import Label
from bankSim.measured.log import Log
from bankSim.model.cell import ZERO_C_K, Cell
from bankSim.model.chemistry import Chemistry
from bankSim.model.peukert import part_given

HEADS = (-0.05, 0.5, 1101)  # of the available well, where a discharge may end
ROOM_C = 25.0  # of the air where nobody tells it


def first_guess_Ah(  # noqa: N802 - the unit as printed
    logs: Sequence[Log],
    starts: Sequence[float],
    label: Label,
    chemistry: Chemistry,
    room_C: float = ROOM_C,
) -> float:
    """Return a first guess of the whole charge: what the logs gave, each at its rate and start.

    Where no log ends at the knee, they give less than the battery holds, and the label counts.

    Parameters
    ----------
    logs : sequence of Log
    starts : sequence of float
        State of charge at the start of each. [1]
    label : Label
    chemistry : Chemistry
    room_C : float
        Temperature where a log has none. [degC]
    """
    guesses = []
    for log, start in zip(logs, starts, strict=True):
        drawn = drawn_Ah(log)
        hours = drawn / usual_A(log)
        # a log that mostly charges does not draw what it started with
        part = start if log.counted_Ah().max() > MOSTLY * drawn else 1.0
        guesses.append(
            whole_charge_Ah(drawn, hours, chemistry.available_fraction,
                            chemistry.well_rate_per_h)
            / max(part, 0.05) / usable_part(log, chemistry, room_C)
        )  # fmt: skip
    guess = max(guesses)
    knee = any(end_of(log) is not None for log in logs)
    return guess if knee or label.rated_guessed else max(guess, label.rated_Ah)


def usable_part(log: Log, chemistry: Chemistry, room_C: float) -> float:
    """Return the part of the charge that its temperature lets a log draw from two wells. [1]

    It is f of `Cell`: heads fall in proportion to the charge drawn, so it divides what was drawn.
    """
    if chemistry.usable_part is None or chemistry.available_fraction == 1.0:
        return 1.0
    own = log.temperature_C
    known = own is not None and np.isfinite(own).any()
    mean_C = float(np.nanmean(own)) if own is not None and known else room_C
    return float(chemistry.usable_part(mean_C + ZERO_C_K))


def whole_charge_Ah(  # noqa: N802 - the unit as printed
    given_Ah: float, hours: float, available_fraction: float, rate_per_h: float
) -> float:
    """Return the whole charge of a battery with two wells from what one discharge gave.

    q(t) = qmax k' c t / (1 - E + c (k' t - 1 + E)), E = exp(-k' t), solved for qmax.

    Parameters
    ----------
    given_Ah : float
        At constant current, from full to empty. [Ah]
    hours : float
        How long it took, > 0. [h]
    available_fraction : float
        c; with 1 the whole charge is given. [1]
    rate_per_h : float
        k'. [1/h]

    Source
    ------
    Kinetic battery model, Manwell & McGowan, Solar Energy 50 (1993) 399.
    """
    return given_Ah / given_part(hours, available_fraction, rate_per_h)


def given_Ah(cell: Cell, hours: float, end_V: float) -> float:  # noqa: N802 - the unit as printed
    """Return what a steady discharge from full gives that ends after so many hours. [Ah]

    Parameters
    ----------
    cell : Cell
        At 25 degC.
    hours : float
        [h]
    end_V : float
        Where it ends. [V]

    Source
    ------
    docs/theory.md, eq. 25.12.
    """
    at_once_Ah = cell.charge_C / 3600.0 * given_part(
        hours, cell.available_fraction, 3600.0 * cell.well_rate_per_s
    )  # fmt: skip
    head = np.linspace(*HEADS)
    current_A = at_once_Ah * (1.0 - head) / hours
    ohm = cell.ohmic_ohm(head) + sum(pair.resistance_ohm for pair in cell.relaxation)
    volts = cell.ocv_V(head) - current_A * ohm
    volts = np.minimum.accumulate(volts[::-1])[::-1]  # it ends where it is first reached from full
    return at_once_Ah * (1.0 - float(np.interp(end_V, volts, head)))


def given_part(hours: float, available_fraction: float, rate_per_h: float) -> float:
    """Return the part of the whole charge that a discharge gives. `hours` [h], rate [1/h]; [1].

    Source: docs/theory.md, eq. 25.11 (kinetic battery model, Manwell & McGowan, Solar Energy 50
    (1993) 399).
    """
    if available_fraction == 1.0:
        return 1.0
    if rate_per_h * hours == 0.0:
        return available_fraction
    return part_given(available_fraction, rate_per_h, hours)

"""Lead-acid whose electrolyte freezes, and charge that is put into it while it is frozen."""

from collections.abc import Iterator

import numpy as np

from bankSim.model.cell import ZERO_C_K
from bankSim.model.chemistry import is_lead
from bankSim.model.curve import Floats
from bankSim.model.load import Flags
from bankSim.sim.numbers import after, named, number, quoted
from bankSim.sim.result import Caution, Result
from bankSim.sim.returns import chargers_A, column

# Freezing of lead-acid electrolyte against state of charge, rough, from memory. [1], [degC]
FREEZES_AT_SOC = (0.0, 0.2, 0.5, 1.0)
FREEZES_C = (-8.0, -8.0, -25.0, -50.0)
FROZEN_SHARE = 1e-3  # of the label: less charge while frozen is not worth a word; own choice
FED_A = 0.01  # of a charger, before it is named


def of_freezing(result: Result, number_of: int) -> Iterator[Caution]:
    """Warn of a lead-acid battery that freezes, first of charge that it gets while frozen.

    Parameters
    ----------
    result : Result
    number_of : int
        Place of the battery, from 0.
    """
    battery = result.scenario.bank.batteries[number_of]
    if not is_lead(battery.chemistry):
        return
    cold_C = column(result.trace, number_of, 3) - ZERO_C_K
    level = column(result.trace, number_of, 2)
    freezes_C = np.interp(level, FREEZES_AT_SOC, FREEZES_C)
    row = int(np.argmax(freezes_C - cold_C))
    if cold_C[row] >= freezes_C[row]:
        return
    yield from _charged(result, number_of, is_frozen(cold_C, freezes_C))
    yield Caution(
        "lead-acid may freeze",
        "danger",
        float(cold_C[row]),
        float(freezes_C[row]),
        "degC",
        f"{quoted(battery.name)} is at {number(float(cold_C[row]))} degrees C with "
        f"{number(100.0 * float(level[row]), 2)} % of its charge; its electrolyte then freezes at "
        f"about {number(float(freezes_C[row]), 2)} degrees C (rough figure, from memory), which "
        "bursts cells.",
        "Keep it charged in the cold, or warm; never charge a battery that is frozen.",
    )


def is_frozen(cold_C: Floats, freezes_C: Floats) -> Flags:
    """Tell in which rows a battery is frozen; what has frozen thaws only where it froze.

    Charge that a run puts into frozen cells thins no electrolyte, so it thaws nothing.

    Parameters
    ----------
    cold_C, freezes_C : array (rows,)
        Its temperature, and where an electrolyte of its charge freezes. [degC]
    """
    frozen, thaws_C = np.zeros(cold_C.size, dtype=bool), -np.inf
    for row, (own_C, limit_C) in enumerate(zip(cold_C.tolist(), freezes_C.tolist(), strict=True)):
        if own_C < limit_C or own_C < thaws_C:
            frozen[row], thaws_C = True, max(thaws_C, limit_C)
        else:
            thaws_C = -np.inf
    return frozen


def _charged(result: Result, number_of: int, frozen: Flags) -> Iterator[Caution]:
    """Tell of charge that goes into a frozen battery."""
    trace, outcome = result.trace, result.batteries[number_of]
    spans = frozen[1:] & frozen[:-1]
    into_A = np.maximum(-column(trace, number_of, 0), 0.0)
    steps_h = np.where(spans, np.diff(trace[:, 0]), 0.0) / 3600.0
    taken_Ah = float(0.5 * (into_A[1:] + into_A[:-1]) @ steps_h)
    if taken_Ah <= FROZEN_SHARE * outcome.rated_Ah:
        return
    row = int(np.argmax(frozen & (into_A > FED_A)))
    cold_C, level = (float(column(trace, number_of, place)[row]) for place in (3, 2))
    cold_C -= ZERO_C_K
    yield Caution(
        "charged while frozen",
        "danger",
        taken_Ah,
        0.0,
        "Ah",
        f"{_who(result, frozen & (into_A > FED_A), row)} {number(taken_Ah)} Ah into "
        f"{quoted(outcome.name)} while it is frozen, first {after(float(trace[row, 0]))}, at "
        f"{number(cold_C)} degrees C with {number(100.0 * level, 2)} % of its charge. Charge can "
        "burst a frozen battery, and in truth it takes next to none of it.",
        "Thaw it slowly and look for cracks before anything charges it; let no charger switch on "
        "by itself in such a cold.",
    )


def _who(result: Result, rows: Flags, first: int) -> str:
    """Say which chargers give in these rows, with the verb; other batteries where none does.

    Other batteries are named beside them where it is they that begin, in the first of the rows.
    """
    chargers = result.scenario.bank.chargers
    all_A = chargers_A(result.trace, len(chargers))
    given_A = all_A[rows]
    names = [
        charger.name
        for charger, most_A in zip(chargers, given_A.max(axis=0, initial=0.0), strict=True)
        if most_A > FED_A
    ]
    if not names:
        return "The other batteries put"
    if not np.any(all_A[first] > FED_A):
        return f"The other batteries and {named(names)} put"
    return f"{named(names)} {'puts' if len(names) == 1 else 'put'}"

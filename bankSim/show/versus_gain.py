"""Ah that are no gain: more of them out of the bank, but no more energy for the loads."""

import numpy as np

from bankSim.show.versus_names import Side
from bankSim.show.versus_numbers import is_slight, middle_of_both, more_on_average
from bankSim.study.answers import BANK
from bankSim.study.versus import VersusResult

OF_THEIR_PART = 0.25  # energy that grows by less than this part of the growth in Ah; own choice


def gives_in_vain(result: VersusResult) -> int | None:
    """Return the side that gives more Ah although its loads get no more energy; None if neither.

    By the energy of the loads in the draws run in full, of the same draws on both sides.

    Parameters
    ----------
    result : VersusResult
    """
    Ah = next((one for one in result.differences if one.answer == BANK), None)
    one, other = (traced.happenings.loads_Wh for traced in result.traced)
    if Ah is None or is_slight(Ah) or one.size == 0 or one.size != other.size:
        return None
    place = more_on_average(Ah)
    if place is None or middle_of_both(Ah) == 0.0:
        return None
    gained_Wh = float(np.mean(other - one if place == 1 else one - other))
    most_Wh = max(float(np.median(one)), float(np.median(other)))
    part = abs(Ah.mean.value) / middle_of_both(Ah)
    return place if gained_Wh <= OF_THEIR_PART * part * most_Wh else None


def in_vain(result: VersusResult, sides: tuple[Side, Side]) -> list[str]:
    """Say that more Ah are no gain, where the loads get no more energy with them.

    Parameters
    ----------
    result : VersusResult
    sides : (Side, Side)
    """
    place = gives_in_vain(result)
    if place is None:
        return []
    told = f"The loads get no more energy with {sides[place].said}"
    charged = any(draws.plan.scenario.bank.chargers for draws in (result.one, result.other))
    if charged:
        return [f"{told}: more Ah out of the bank are no gain then."]
    return [
        f"{told}: what it delivers more is lost in cables or makes up for a lower voltage, and is "
        "no gain."
    ]

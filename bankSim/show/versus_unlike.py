"""What differs between two scenarios beside their batteries."""

from dataclasses import replace

import numpy as np

from bankSim.model.bank import Bank
from bankSim.model.load import Load
from bankSim.sim.numbers import listing
from bankSim.study.versus import VersusResult


def unlike(result: VersusResult) -> list[str]:
    """Say that loads or chargers differ, which no sentence on the batteries would tell."""
    one, other = (draws.plan.scenario.bank for draws in (result.one, result.other))
    differ = [
        what
        for what, same in (
            ("loads", _same_loads(one, other)),
            ("chargers", _same_chargers(one, other)),
        )
        if not same
    ]
    if not differ:
        return []
    return [f"Their {listing(differ)} differ, too: that is part of every difference told here."]


def _same_loads(one: Bank, other: Bank) -> bool:
    """Tell whether the loads are the same, whatever they are called."""
    return len(one.loads) == len(other.loads) and all(
        _is_same_load(*both) for both in zip(one.loads, other.loads, strict=True)
    )


def _is_same_load(one: Load, other: Load) -> bool:
    return (
        (one.exponent, one.schedule, one.cut_off) == (other.exponent, other.schedule, other.cut_off)
        and np.array_equal(one.profile_s, other.profile_s)
        and np.array_equal(one.profile_amount, other.profile_amount)
    )


def _same_chargers(one: Bank, other: Bank) -> bool:
    """Tell whether the chargers are the same, whatever they are called."""
    nameless = ([replace(each, name="") for each in bank.chargers] for bank in (one, other))
    first, second = nameless
    return first == second

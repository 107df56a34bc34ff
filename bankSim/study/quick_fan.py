"""A band for a screen: a few dozen draws over time, in less than a tenth of a second."""

import threading
from dataclasses import dataclass

from bankSim.kernels.arrays import Floats
from bankSim.scenario.record import Scenario
from bankSim.study.plan import DEFAULT_SEED
from bankSim.study.traced import Fan

QUICK_DRAWS, QUICK_POINTS = 64, 240
TABLE_DRAWS = 200
BUDGET_S = 0.4


@dataclass(frozen=True, eq=False)
class QuickSpread:
    """A band and the chances beside it, from the first draws of a study of the same seed.

    Parameters
    ----------
    fan : Fan
    bank_Ah : array (3,)
        Delivered by the bank at 5, 50 and 95 % of the draws; taken in where it has no load. [Ah]
    first : tuple of (str, float)
        Name and chance to cut out before all others, likeliest first; batteries that never do
        are left out. [1]
    nobody, together : float
        Chance that none cuts out, and that several are the first at once. [1]
    cut_out_h : dict of str to array (3,)
        Each battery's first cut-out at 5, 50 and 95 % of the draws in which it cuts out; no entry
        where there is none. [h]
    cuts_out : dict of str to float
        Chance of each battery to cut out at all. [1]
    delivered_Ah, stranded_Ah : dict of str to array (3,)
        Of each battery at 5, 50 and 95 %. [Ah]
    runtime_h : array (3,)
        Until the loads cannot be fed, or the end. [h]
    draws : int
        So many draws stand behind the chances; `fan.draws` behind the band.
    """

    fan: Fan
    bank_Ah: Floats
    first: tuple[tuple[str, float], ...]
    nobody: float
    together: float
    cut_out_h: dict[str, Floats]
    cuts_out: dict[str, float]
    delivered_Ah: dict[str, Floats]
    stranded_Ah: dict[str, Floats]
    runtime_h: Floats
    draws: int


def quick_fan(
    scenario: Scenario,
    *,
    draws: int = QUICK_DRAWS,
    seed: int = DEFAULT_SEED,
    points: int = QUICK_POINTS,
    budget_s: float = BUDGET_S,
    stop: threading.Event | None = None,
) -> Fan:
    """Return the band of the first draws of a scenario.

    Parameters
    ----------
    scenario : Scenario
    draws : int
        Wanted; `Fan.draws` tells how many were made.
    seed : int
        As of a study.
    points : int
        About so many steps of time.
    budget_s : float
        After this long no further draws are begun (8 are made in any case); the draws that are
        made do not depend on it. [s]
    stop : threading.Event, optional
        Ends the work early in the same way.
    """
    raise NotImplementedError


def quick_spread(
    scenario: Scenario,
    *,
    draws: int = QUICK_DRAWS,
    table_draws: int = TABLE_DRAWS,
    seed: int = DEFAULT_SEED,
    points: int = QUICK_POINTS,
    budget_s: float = BUDGET_S,
    stop: threading.Event | None = None,
) -> QuickSpread:
    """Return the band and, from more draws without a timeline, the chances beside it.

    Parameters
    ----------
    scenario, draws, seed, points, budget_s, stop
        As in `quick_fan`; the budget is of all work together.
    table_draws : int
        Wanted for the chances.
    """
    raise NotImplementedError

"""The protection rules that the electronics of a lithium battery usually have.

Common practice, no single source; public specifications without a name show over-voltage release
0.05 to 0.3 V under the trip, delays of 0.5 to 2 s, under-voltage delays of 4 to 6 s, over-current
at 2 to 3 times the continuous limit for 0.5 to 1.5 s, over-temperature 65 released at 50 degC.

Why under-voltage waits for charging: a cell that is cut out under load recovers by several
tenths of a volt at rest, past any sensible threshold. With a threshold alone the battery would
come back, sag, and cut out again, over and over; waiting for charge keeps it out until somebody
gives it some. Over-voltage has no such need: a full battery gives charge away through the diode,
or rests, its voltage falls below the threshold, and it comes back on its own.
"""

from bankSim.model.cell import ZERO_C_K
from bankSim.model.rule import Blocks, Needs, Release, Rule, Watch

FREEZING_K, THAWED_K = ZERO_C_K, ZERO_C_K + 3.0
HOT_K, COOLED_K = ZERO_C_K + 65.0, ZERO_C_K + 50.0
OVER_CURRENT = 2.5  # x continuous limit


def lithium_rules(
    lowest_V: float,
    recovered_V: float,
    highest_V: float,
    settled_V: float,
    continuous_discharge_A: float,
) -> tuple[Rule, ...]:
    """Return the usual rules with their releases.

    Parameters
    ----------
    lowest_V, recovered_V : float
        Lowest cell: trips below, releases above, while charging. [V]
    highest_V, settled_V : float
        Highest cell: trips above, releases below. [V]
    continuous_discharge_A : float
        Label limit. [A]
    """
    limit_A = continuous_discharge_A
    under = Release(recovered_V, 30.0, Needs.CHARGING)
    over = Release(settled_V, 1.0)
    unloaded = Release(limit_A, 5.0, Needs.LOAD_REMOVED)
    cell, discharge, charge = Watch.LOWEST_CELL, Blocks.DISCHARGE, Blocks.CHARGE
    return (
        Rule(cell, True, lowest_V, 5.0, discharge, under),
        Rule(Watch.HIGHEST_CELL, False, highest_V, 1.0, charge, over),
        Rule(Watch.DISCHARGE_CURRENT, False, OVER_CURRENT * limit_A, 1.0, discharge, unloaded),
        Rule(Watch.TEMPERATURE, True, FREEZING_K, 1.0, charge, Release(THAWED_K, 1.0)),
        Rule(Watch.TEMPERATURE, False, HOT_K, 1.0, discharge, Release(COOLED_K, 1.0)),
    )

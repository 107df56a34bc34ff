"""Label limits: how much, in whose words, and how bad it is to be above."""

import math
from dataclasses import dataclass

from bankSim.model.battery import Battery
from bankSim.sim.numbers import number

# Motors and inverters start with seconds of more than what is allowed all the time, and a label
# that names a peak usually grants that for 3 to 30 s (from memory); twice the limit is no start.
SHORT_S = 10.0
FAR_ABOVE = 2.0
# Labels of one kind of battery differ, seldom by more than this: beyond it is too much for any,
# if it lasts longer than a start or is twice that again; own choice.
BEYOND_ANY = 3.0
SLIGHTLY_ABOVE = 1.2  # less than labels of one make differ by; own choice
# An assumed limit is known no better than that: so little above it, for so short, is within it.
AS_GOOD_AS, AN_INSTANT_S = 1.1, 1.0  # times the limit, [s]; own choice


@dataclass(frozen=True, slots=True)
class Limit:
    """What a label allows all the time.

    Parameters
    ----------
    amperes : float
        [A]
    text : str
        Such as "its label allows 100 A".
    severity : str
        Of being above it: "danger", or "warning" where the limit itself is assumed, unless it is
        more than `BEYOND_ANY` times that.
    """

    amperes: float
    text: str
    severity: str

    def severity_of(self, current_A: float, above_s: float) -> str:
        """Return how bad that much is, for that long: a little, or for moments, is a warning.

        Unit: [A], [s]
        """
        ratio = abs(current_A) / self.amperes if self.amperes > 0.0 else math.inf
        lasts_or_worse = above_s >= SHORT_S or ratio >= FAR_ABOVE * BEYOND_ANY
        if self.severity == "warning" and ratio >= BEYOND_ANY and lasts_or_worse:
            return "danger"
        brief = above_s < SHORT_S and abs(current_A) < FAR_ABOVE * self.amperes
        slight = abs(current_A) <= SLIGHTLY_ABOVE * self.amperes
        return "warning" if brief or slight else self.severity

    def is_met(self, current_A: float, above_s: float) -> bool:
        """Tell whether nothing is worth a word: within the limit, or within what is assumed.

        Unit: [A], [s]
        """
        slack = AS_GOOD_AS if self.severity == "warning" and above_s < AN_INSTANT_S else 1.0
        return abs(current_A) <= slack * self.amperes


def limit_of(battery: Battery, direction: str) -> Limit | None:
    """Return the label limit of "discharge" or "charge", None without one."""
    name = f"continuous_{direction}_A"
    amperes: float | None = getattr(battery, name)
    if amperes is None:
        return None
    if name in battery.limits_assumed:
        text = f"its label was not given, {number(amperes)} A is assumed"
        return Limit(amperes, text, "warning")
    return Limit(amperes, f"its label allows {number(amperes)} A", "danger")


def limit_for(battery: Battery, current_A: float) -> Limit | None:
    """Return the label limit in the direction of a current, discharge positive."""
    return limit_of(battery, "discharge" if current_A >= 0.0 else "charge")

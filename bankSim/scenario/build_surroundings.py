"""The temperature around the bank in SI, from its keys."""

from dataclasses import dataclass

from bankSim.model.cell import ZERO_C_K
from bankSim.scenario.keys import SurroundingsKeys, SwingKeys
from bankSim.scenario.notes import Notes

WARMEST_S = 15.0 * 3600.0  # mid-afternoon, when nothing is given


@dataclass(frozen=True, slots=True)
class Surroundings:
    """A cosine over the day; see `Bank.ambient_K`.

    Parameters
    ----------
    mean_K, swing_K : float
        [K]
    warmest_s : float
        [s after midnight]
    """

    mean_K: float
    swing_K: float = 0.0
    warmest_s: float = WARMEST_S


def build_surroundings(keys: SurroundingsKeys, notes: Notes) -> Surroundings:
    """Return mean, swing and warmest hour; what was assumed or has no effect is noted."""
    where = "surroundings.temperature_C"
    if "temperature_C" not in keys.model_fields_set:
        notes.assume(where, 25.0, "degC", "not given: where data are given")
    given = keys.temperature_C
    if not isinstance(given, SwingKeys):
        return Surroundings(given + ZERO_C_K)
    if given.swing_C == 0.0 and given.warmest_at is not None:
        notes.no_effect(f"{where}.warmest_at", "swing_C is 0")
    if given.swing_C > 0.0 and given.warmest_at is None:
        notes.assume(
            f"{where}.warmest_at", "15:00", "", "not given: mid-afternoon, common practice"
        )
    warmest_s = WARMEST_S if given.warmest_at is None else given.warmest_at
    return Surroundings(given.mean_C + ZERO_C_K, given.swing_C, warmest_s)

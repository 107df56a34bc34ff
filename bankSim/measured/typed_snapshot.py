"""What a person types beside the cell voltages of a snapshot."""

from dataclasses import dataclass

from bankSim.measured.knee_facts import chemistry_named
from bankSim.measured.log import LogError
from bankSim.measured.snapshot_answer import Given
from bankSim.measured.typed_voltages import typed_groups, typed_numbers


@dataclass(frozen=True, slots=True)
class TypedSnapshot:
    """As typed; None where nothing was.

    Parameters
    ----------
    chemistry : str
    rated_Ah, at_A, limit_V, temperature_C, after_rest_min : float or None
    meter_mV : float
    delivered_Ah, battery_V, full : str or None
        Numbers; of repeats with slashes between them.
    seed : int
    """

    chemistry: str = "LFP"
    rated_Ah: float | None = None
    at_A: float | None = None
    limit_V: float | None = None
    temperature_C: float | None = None
    after_rest_min: float | None = None
    meter_mV: float = 10.0
    delivered_Ah: str | None = None
    battery_V: str | None = None
    full: str | None = None
    seed: int = 1


def given_of(typed: TypedSnapshot) -> Given:
    """Return what was typed as numbers.

    Raises
    ------
    LogError
        One line with the option and what is allowed.
    """
    rest_min = typed.after_rest_min
    full_V = _full_V(typed.full)
    return Given(
        chemistry=chemistry_named(typed.chemistry).word,
        rated_Ah=typed.rated_Ah,
        current_A=typed.at_A,
        limit_V=typed.limit_V,
        temperature_C=typed.temperature_C,
        rest_s=None if rest_min is None else 60.0 * rest_min,
        meter_V=typed.meter_mV / 1000.0,
        delivered_Ah=typed_numbers(typed.delivered_Ah, "--delivered-Ah", 0.01, 1e5),
        battery_V=typed_numbers(typed.battery_V, "--battery-V", 0.2, 100.0),
        full_V=full_V,
        seed=typed.seed,
    )


def _full_V(text: str | None) -> tuple[float, ...]:  # noqa: N802 - the unit as printed
    groups = [] if text is None else typed_groups([text], "--full")[0]
    if len(groups) > 1:
        raise LogError(f"--full: {len(groups)} groups; expected one")
    return groups[0].voltages_V if groups else ()

"""Cells driven too far."""

from collections.abc import Iterator

from bankSim.model.battery import Battery
from bankSim.model.chemistry import chemistry_of
from bankSim.sim.numbers import number
from bankSim.sim.result import BatteryOutcome, Caution, Result

MARGIN_SOC = 0.02  # beyond empty or full, where no voltage limit is known
LEAD_LOWEST_V = 1.5  # of a cell under load: 9 V per 12 V, below any cut-off in use; own choice


def of_cells(result: Result) -> Iterator[Caution]:
    """Warn of cells below empty or beyond full."""
    for battery, outcome in zip(result.scenario.bank.batteries, result.batteries, strict=True):
        yield from _below_empty(battery, outcome)
        yield from _beyond_full(battery, outcome)


def _below_empty(battery: Battery, outcome: BatteryOutcome) -> Iterator[Caution]:
    limit_V = _lowest_safe_V(battery)
    lowest_V, lowest = outcome.lowest_cell_voltage_V, outcome.lowest_state_of_charge
    if lowest_V < limit_V if limit_V is not None else lowest < -MARGIN_SOC:
        yield Caution(
            "cell driven below empty",
            "danger",
            lowest_V,
            limit_V,
            "V",
            f"A cell of {battery.name} is driven down to {number(lowest_V)} V and "
            f"{number(100.0 * lowest)} % of its charge: deep discharge ruins cells and can make "
            "them unsafe to charge again.",
            "Give it a low-voltage cut-out that acts in time; do not charge a cell again that was "
            "this low without its maker's word.",
        )


def _lowest_safe_V(battery: Battery) -> float | None:  # noqa: N802 - the unit as printed
    """Return the cell voltage below which a cell is harmed, None where not known. [V]

    State of charge tells less: a trickle gets more out of lead-acid than its rated discharge.
    """
    chemistry = chemistry_of(battery.chemistry)
    if chemistry is None:
        return None
    return chemistry.lowest_safe_V if chemistry.is_lithium else LEAD_LOWEST_V


def _beyond_full(battery: Battery, outcome: BatteryOutcome) -> Iterator[Caution]:
    chemistry = chemistry_of(battery.chemistry)
    limit_V = None if chemistry is None else chemistry.highest_safe_V
    highest_V, most = outcome.highest_cell_voltage_V, outcome.highest_state_of_charge
    if highest_V > limit_V if limit_V is not None else most > 1.0 + MARGIN_SOC:
        lead = chemistry is not None and not chemistry.is_lithium
        harm = (
            "it loses water and gives off hydrogen" if lead else "this can end in venting or fire"
        )
        yield Caution(
            "cell charged beyond full",
            "danger",
            highest_V,
            limit_V,
            "V",
            f"A cell of {battery.name} is driven up to {number(highest_V)} V and "
            f"{number(100 * most)} % of its charge: {harm}.",
            "Lower the charge voltage, and see that something stops the charge of each battery.",
        )

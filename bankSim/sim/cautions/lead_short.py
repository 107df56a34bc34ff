"""Lead-acid that chargers do not get full for days on end, or hold below its float."""

from collections.abc import Iterator

from bankSim.model.battery import Battery
from bankSim.model.cell import REFERENCE_K
from bankSim.model.chemistry import chemistry_of, is_lead
from bankSim.model.curve import Floats
from bankSim.model.runs import longest_run
from bankSim.sim.cautions.lead_full import ABOVE_FLOAT_V, FLOAT_V, FLOAT_V_PER_K
from bankSim.sim.numbers import named, number, quoted, span
from bankSim.sim.result import Caution, Result
from bankSim.sim.returns import column

# Not full once in a few days, lead-acid sulphates (common practice, no source).
FULL_FROM, DAYS_S = 0.95, 3.0 * 86_400.0
GIVES_AH = 1e-3  # a charger that gives less has its own caution


def of_lead_short(result: Result) -> Iterator[Caution]:
    """Note lead-acid batteries that chargers leave short of full, or hold below float."""
    bank = result.scenario.bank
    for number_of, battery in enumerate(bank.batteries):
        if bank.chargers and is_lead(battery.chemistry):
            level = column(result.trace, number_of, 2)
            first, last = longest_run(result.trace[:, 0], level < FULL_FROM)
            short_s = float(result.trace[last, 0] - result.trace[first, 0])
            low = _too_low(result, number_of)
            if short_s >= DAYS_S:
                yield _caution(battery.name, short_s, level[first : last + 1], low)
            elif low:
                yield _low(result, battery, low)


def _too_low(result: Result, number_of: int) -> str:
    """Say what to set where no charger ever holds as much as float; "" where one does."""
    bank, battery = result.scenario.bank, result.scenario.bank.batteries[number_of]
    warmest_K = float(column(result.trace, number_of, 3).max())
    low_V, high_V = FLOAT_V[str(battery.chemistry)]
    least_V = low_V - ABOVE_FLOAT_V + FLOAT_V_PER_K * max(warmest_K - REFERENCE_K, 0.0)
    cells, chemistry = len(battery.cells), chemistry_of(battery.chemistry)
    gives_Ah = sum(one.delivered_Ah for one in result.chargers)
    if chemistry is None or gives_Ah < GIVES_AH or _highest_V(result) >= cells * least_V:
        return ""
    usual = f"{number(cells * low_V, 3)} to {number(cells * high_V, 3)} V"
    most = number(cells * chemistry.highest_charge_V, 4)
    return (
        f"Set {named([one.name for one in bank.chargers])} higher, as the battery's maker says: "
        f"for {cells} cells at 25 degrees C {usual} are usual as float, and more to fill it, up to "
        f"{most} V, until the current has tapered off."
    )


def _highest_V(result: Result) -> float:  # noqa: N802 - the unit as printed
    """Return the most that any charger holds in any stage. [V]"""
    return max(one.highest_hold_V for one in result.scenario.bank.chargers)


def _low(result: Result, battery: Battery, advice: str) -> Caution:
    hold_V = _highest_V(result)
    least_V = len(battery.cells) * FLOAT_V[str(battery.chemistry)][0]
    return Caution(
        "charge voltage too low for lead-acid",
        "note",
        hold_V,
        least_V,
        "V",
        f"No charger holds more than {number(hold_V, 4)} V, which is below the float of "
        f"{quoted(battery.name)}: lead-acid that is never charged above that sulphates, and holds "
        "less and less, whatever charge is told here.",
        advice,
    )


def _caution(name: str, short_s: float, level: Floats, low: str) -> Caution:
    ends = (max(float(one), 0.0) for one in (level.min(), level.max()))  # just below empty is empty
    least, most = (number(100.0 * one, 2) for one in ends)
    return Caution(
        "lead-acid not full for days",
        "note",
        short_s / 86_400.0,
        DAYS_S / 86_400.0,
        "days",
        f"{quoted(name)} is short of full for {span(short_s)} on end ({least} to {most} % of its "
        "charge), though the bank has a charger: lead-acid that is not full at least once in a few "
        "days sulphates, and holds less and less.",
        low
        or "Charge it longer or with more, until the current has tapered off, at least once a "
        "week; use less, or take a larger charger.",
    )

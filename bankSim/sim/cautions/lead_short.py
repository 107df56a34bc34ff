"""Lead-acid that chargers do not get full for days on end."""

from collections.abc import Iterator

from bankSim.model.chemistry import is_lead
from bankSim.model.curve import Floats
from bankSim.model.runs import longest_run
from bankSim.sim.numbers import number, quoted, span
from bankSim.sim.result import Caution, Result
from bankSim.sim.returns import column

# Not full once in a few days, lead-acid sulphates (common practice, no source).
FULL_FROM, DAYS_S = 0.95, 3.0 * 86_400.0


def of_lead_short(result: Result) -> Iterator[Caution]:
    """Note lead-acid batteries that stay short of full for days although a charger is there."""
    bank = result.scenario.bank
    for number_of, battery in enumerate(bank.batteries):
        if bank.chargers and is_lead(battery.chemistry):
            level = column(result.trace, number_of, 2)
            first, last = longest_run(result.trace[:, 0], level < FULL_FROM)
            short_s = float(result.trace[last, 0] - result.trace[first, 0])
            if short_s >= DAYS_S:
                yield _caution(battery.name, short_s, level[first : last + 1])


def _caution(name: str, short_s: float, level: Floats) -> Caution:
    ends = (max(float(one), 0.0) for one in (level.min(), level.max()))  # just below empty is empty
    low, high = (number(100.0 * one, 2) for one in ends)
    return Caution(
        "lead-acid not full for days",
        "note",
        short_s / 86_400.0,
        DAYS_S / 86_400.0,
        "days",
        f"{quoted(name)} is short of full for {span(short_s)} on end ({low} to {high} % of its "
        "charge), though the bank has a charger: lead-acid that is not full at least once in a few "
        "days sulphates, and holds less and less.",
        "Charge it longer or with more, until the current has tapered off, at least once a week; "
        "use less, or take a larger charger.",
    )

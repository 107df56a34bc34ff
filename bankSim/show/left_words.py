"""What can still be drawn of the charge that is left in cells of two wells."""

from bankSim.measured.first_guess import given_part
from bankSim.model.battery import Battery
from bankSim.model.cell import Cell
from bankSim.sim.numbers import listing, number, quoted
from bankSim.sim.result import BatteryOutcome, Result

OVER_H = 20.0  # as the labels of lead-acid batteries have it
MOST_NAMED = 6
NEXT_TO_NOTHING_AH = 0.05
S_PER_H = 3600.0


def left_lines(result: Result) -> list[str]:
    """Say beside "left" what a slow discharge would still give, where that is less.

    Parameters
    ----------
    result : Result
    """
    pairs = zip(result.scenario.bank.batteries, result.batteries, strict=True)
    slow = [(battery, outcome) for battery, outcome in pairs if has_two_wells(battery)]
    if not slow:
        return []
    told = [f"{quoted(battery.name)} {_amount(battery, outcome)}" for battery, outcome in slow]
    return [
        "Left is more than can be drawn where a part of the charge is bound (lead-acid): over "
        f"{OVER_H:.0f} h at 25 degrees C this could give {listing(told, MOST_NAMED)}."
    ]


def has_two_wells(battery: Battery) -> bool:
    """Tell whether a part of the charge of its cells is bound."""
    return any(cell.available_fraction < 1.0 for cell in battery.cells)


def drawable_Ah(battery: Battery, outcome: BatteryOutcome) -> float:  # noqa: N802
    """Return what it could still give over 20 h, by its weakest cell. [Ah]

    As `gauge` reckons: what is left less what such a discharge keeps back. A cell that is charged
    beyond full gives what it does from full: the rest went into gas.

    Parameters
    ----------
    battery : Battery
    outcome : BatteryOutcome
        Of that battery.
    """
    kept_Ah = max(_kept_C(cell) for cell in battery.cells) / S_PER_H
    full_Ah = min(cell.charge_C for cell in battery.cells) / S_PER_H
    return max(min(outcome.remaining_Ah, full_Ah) - kept_Ah, 0.0)


def _kept_C(cell: Cell) -> float:  # noqa: N802
    """What stays bound at the end of a discharge from full over 20 h. [C]"""
    part = given_part(OVER_H, cell.available_fraction, cell.well_rate_per_s * S_PER_H)
    return cell.charge_C * (1.0 - part)


def _amount(battery: Battery, outcome: BatteryOutcome) -> str:
    amount_Ah = drawable_Ah(battery, outcome)
    if amount_Ah < NEXT_TO_NOTHING_AH:
        return "next to nothing"
    return f"{number(amount_Ah)} Ah"

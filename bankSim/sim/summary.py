"""A result as plain dictionaries: the contract of ``run --json``."""

import math
from typing import Any

from bankSim.sim.joining_result import Joining, Return
from bankSim.sim.result import BatteryOutcome, Event, Result
from bankSim.version import __version__

SAFETY_TEXT = (
    "A prediction is not a permission. Batteries can deliver thousands of amperes into a fault: "
    "burns, fire and toxic smoke are possible. Follow the battery maker's instructions on parallel "
    "connection first; fuse every battery at its own terminal, match voltages before joining, and "
    "have the work done or checked by a licensed person where local codes ask for it. Usual codes: "
    "ABYC E-11 and E-13 and ISO 13297 (formerly ISO 10133) on boats, IEC 60364-7-721, EN 1648 and "
    "AS/NZS 3001.2 in caravans, IEC 60364-5-57 and national wiring rules in buildings."
)


def summarise(result: Result) -> dict[str, Any]:
    """Return the run as plain dictionaries and lists; keys carry their unit."""
    return {
        "title": result.scenario.title,
        "duration_h": result.end_time_s / 3600.0,
        "end_reason": result.end_reason,
        "bank": _bank(result),
        "batteries": [_battery(outcome) for outcome in result.batteries],
        "events": [_event(event) for event in result.events],
        "chargers": [_fields(charger) for charger in result.chargers],
        "joining": None if result.joining is None else _joining(result.joining),
        "returns": [_return(back) for back in result.returns],
        "balancing": None if result.balancing is None else _fields(result.balancing),
        "cautions": [_fields(caution) for caution in result.cautions],
        "assumed": [_fields(item) for item in result.scenario.assumed],
        "remarks": list(result.scenario.remarks),
        "numerics": _fields(result.numerics),
        "version": program_version(),
        "safety": SAFETY_TEXT,
    }


def program_version() -> str:
    """Return the version of this package."""
    return __version__


def cut_out_order(result: Result) -> list[str]:
    """Names of the batteries in the order in which their discharge was first blocked."""
    order: list[str] = []
    for event in result.events:
        for outcome in result.batteries:
            if outcome.first_cut_out is event:
                order.append(outcome.name)
    return order


def _fields(record: Any) -> dict[str, Any]:
    return {name: _plain(getattr(record, name)) for name in record.__slots__}


def _plain(value: Any) -> Any:
    if isinstance(value, tuple):
        return [_plain(item) for item in value]
    if isinstance(value, float) and not math.isfinite(value):
        return None
    return value


def _bank(result: Result) -> dict[str, Any]:
    bank = result.bank
    return {
        "delivered_Ah": bank.delivered_Ah,
        "delivered_Wh": bank.delivered_Wh,
        "charged_Ah": bank.charged_Ah,
        "runtime_h": bank.runtime_s / 3600.0,
        "cut_out_order": cut_out_order(result),
        "rated_Ah": sum(outcome.rated_Ah for outcome in result.batteries),
        "lead_loss_Wh": bank.lead_loss_Wh,
        "peak_A": bank.peak_A,
        "ledger_residual_Ah": bank.ledger_residual_Ah,
        "efficiency": bank.efficiency,
        "energy": None if bank.energy is None else _fields(bank.energy),
    }


def _battery(outcome: BatteryOutcome) -> dict[str, Any]:
    row = _fields(outcome)
    cut = outcome.first_cut_out
    row["first_cut_out"] = None if cut is None else _cut_out(cut)
    return row


def _cut_out(event: Event) -> dict[str, Any]:
    row = _event(event)
    del row["battery"], row["what"], row["text"]
    return row


def _joining(joining: Joining) -> dict[str, Any]:
    quiet_s = joining.quiet_after_s
    return {
        "looked_at_h": joining.looked_at_s / 3600.0,
        "quiet_after_h": None if quiet_s is None else quiet_s / 3600.0,
        "batteries": [_fields(one) for one in joining.batteries],
        "pairs": [_fields(pair) for pair in joining.pairs],
    }


def _return(back: Return) -> dict[str, Any]:
    row = _fields(back)
    return {"time_h": row.pop("time_s") / 3600.0, **row}


def _event(event: Event) -> dict[str, Any]:
    row = _fields(event)
    return {"time_h": row.pop("time_s") / 3600.0, **row}

"""Where the energy went, how much of what was put in came out again, and how warm it got."""

from bankSim.show.blocks import Section
from bankSim.show.words import percent
from bankSim.sim.numbers import listing, number, quoted, span
from bankSim.sim.result import BatteryOutcome, EnergyLedger, Result

MOVED_K = 3.0
SHOWN_WH = 0.05
MOST_NAMED = 4
WON_OF_LABELS = 1e-3
NEXT_TO_NOTHING_AH = 1e-3


def energy_section(result: Result) -> Section | None:
    """Two or three lines of ledger, then efficiency and temperatures where there is any to tell."""
    ledger = result.bank.energy
    lines = [] if ledger is None else _ledger(result, ledger)
    lines += [*_balancing(result), *_efficiency(result), *temperatures(result)]
    return Section("Where the energy went", tuple(lines)) if lines else None


def _standing(result: Result) -> str:
    """Name what the cells lose by themselves: where they can gas, that too."""
    cells = (cell for battery in result.scenario.bank.batteries for cell in battery.cells)
    return "self-discharge" + (
        " and gassing" if any(cell.gassing_A > 0.0 for cell in cells) else ""
    )


def _used(result: Result) -> str:
    """Name what uses energy: heaters only where there is one."""
    heated = any(battery.heater is not None for battery in result.scenario.bank.batteries)
    return "loads and heaters" if heated else "loads"


def _ledger(result: Result, ledger: EnergyLedger) -> list[str]:
    stored = ledger.cells_Wh < 0.0
    sources = {
        "the cells": max(ledger.cells_Wh, 0.0),
        "chargers": ledger.chargers_Wh,
        "loads that feed back": ledger.fed_back_Wh,
    }
    sinks = {
        _used(result): ledger.loads_Wh,
        "stored in the cells": max(-ledger.cells_Wh, 0.0),
    }
    losses = {
        "resistance inside the batteries": ledger.ohmic_Wh,
        "relaxation and hysteresis of the cells": ledger.polarisation_Wh,
        "charge that is not stored": ledger.charging_Wh,
        _standing(result): ledger.self_discharge_Wh,
        "balancers": ledger.balancers_Wh,
        "body diodes": ledger.diodes_Wh,
        "leads": ledger.leads_Wh,
    }
    lost = sum(losses.values())
    into = sum(sources.values())
    if into < SHOWN_WH:
        return []
    loss = f"; losses {_energy(lost)} ({_share(lost / into)})"
    return [
        f"From {_amounts(sources)}: {_amounts(sinks) or 'nothing used'}{loss}.",
        *([f"The losses: {_amounts(losses)}."] if _amounts(losses) else []),
    ][: 2 if lost > SHOWN_WH or stored else 1]


def _amounts(parts: dict[str, float]) -> str:
    told = sorted(
        ((amount, name) for name, amount in parts.items() if amount > SHOWN_WH), reverse=True
    )
    return listing([f"{name} {_energy(amount)}" for amount, name in told])


def _share(part: float) -> str:
    return f"{number(100.0 * part, 2)} %"


def _energy(amount_Wh: float) -> str:
    return f"{number(amount_Wh / 1000.0)} kWh" if amount_Wh >= 1e4 else f"{number(amount_Wh)} Wh"


def _balancing(result: Result) -> list[str]:
    """Say what the balancers win, from the same run without them."""
    gain = result.balancing
    if gain is None or max(gain.delivered_Ah, gain.without_Ah or 0.0) < NEXT_TO_NOTHING_AH:
        return []  # where nothing is drawn there is nothing to win
    names = listing([quoted(name) for name in gain.names])
    who = f"the balancer{'s' if len(gain.names) > 1 else ''} of {names}"
    if gain.without_Ah is None or gain.without_runtime_s is None:
        win = "win" if len(gain.names) > 1 else "wins"
        return [f"What {who} {win} is not known: the same run without was {gain.given_up}."]
    won_Ah = gain.delivered_Ah - gain.without_Ah
    if abs(won_Ah) < WON_OF_LABELS * sum(one.rated_Ah for one in result.batteries):
        return [f"Without {who} the bank delivers as much."]
    change = "less" if won_Ah > 0.0 else "more"
    longer_h = (gain.runtime_s - gain.without_runtime_s) / 3600.0
    text = f"Without {who} the bank delivers {number(abs(won_Ah))} Ah {change}"
    if abs(longer_h) >= 1.0 / 60.0:
        text += f" and feeds its loads for {span(abs(longer_h) * 3600.0)} "
        text += "less" if longer_h > 0.0 else "more"
    return [f"{text}."]


def _efficiency(result: Result) -> list[str]:
    if result.bank.efficiency is None or not any(_charged(one) for one in result.batteries):
        return []
    each = [
        f"{quoted(one.name)} {percent(one.efficiency)}"
        for one in result.batteries
        if _charged(one) and one.efficiency is not None
    ]
    return [
        "Of the energy put into the batteries, counting what their cells hold more or less at the "
        f"end, {percent(result.bank.efficiency)} is given back or still in them"
        + (f" ({listing(each, MOST_NAMED)})." if len(each) > 1 else ".")
    ]


def _charged(battery: BatteryOutcome) -> bool:
    return battery.charged_Ah > 0.01 * battery.rated_Ah


def temperatures(result: Result) -> list[str]:
    """Name the batteries whose temperature moves by more than 3 K."""
    moved = [one for one in result.batteries if one.warmest_C - one.coldest_C > MOVED_K]
    if not moved:
        return []
    each = [f"{quoted(b.name)} {number(b.coldest_C)} to {number(b.warmest_C)} degC" for b in moved]
    return [f"Temperatures: {listing(each, MOST_NAMED)}."]

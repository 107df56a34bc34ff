"""A scenario in, a result out."""

from collections.abc import Callable

import numpy as np

from bankSim.kernels import arrays as k
from bankSim.model.bank import Bank
from bankSim.model.curve import Floats
from bankSim.scenario.record import Scenario
from bankSim.sim.cautions import find_cautions
from bankSim.sim.engine import RELATIVE_TOLERANCE, Engine
from bankSim.sim.events import read_events
from bankSim.sim.result import (
    ALL_OVER,
    COLLAPSE,
    EMPTY,
    BankOutcome,
    BatteryOutcome,
    Event,
    Numerics,
    Result,
)

END_REASON = {k.EMPTY: EMPTY, k.SHORTFALL: COLLAPSE, k.DURATION: ALL_OVER}
C_PER_AH = 3600.0
J_PER_WH = 3600.0


def simulate(
    scenario: Scenario,
    *,
    relative_tolerance: float = RELATIVE_TOLERANCE,
    absolute_tolerance_A: float | None = None,
    progress: Callable[[float], None] | None = None,
) -> Result:
    """Predict what a bank delivers.

    Parameters
    ----------
    scenario : Scenario
        From `bankSim.scenario.read.read_scenario`.
    relative_tolerance : float
        Allowed error of each battery's Ah, relative to what went through it, 1e-12 to 0.1. [1]
    absolute_tolerance_A : float, optional
        Allowed error of each battery's Ah per hour beside the relative one, 1e-12 to 1; a
        millionth of the smallest label capacity per hour when left out. [A]
    progress : callable, optional
        Called now and then with the part of the duration that is done, 0 to 1.

    Returns
    -------
    result : Result

    Raises
    ------
    ParameterError
        For a tolerance out of range.
    """
    engine = Engine(scenario.bank, relative_tolerance, absolute_tolerance_A)
    engine.finish(progress)
    events = read_events(scenario.bank, engine.events)
    batteries = tuple(
        _battery(scenario.bank, engine, events, number)
        for number in range(len(scenario.bank.batteries))
    )
    bank = _bank(engine)
    clock = engine.run.clock[0]
    return Result(
        scenario=scenario,
        end_time_s=float(clock["time"]),
        end_reason=END_REASON[engine.status],
        bank=bank,
        batteries=batteries,
        events=events,
        cautions=find_cautions(scenario.bank, bank, batteries, events),
        numerics=Numerics(
            relative_tolerance=relative_tolerance,
            absolute_tolerance_A=float(engine.packed.setting[k.ABSOLUTE]),
            steps=int(clock["steps"]),
            rejected_steps=int(clock["rejected"]),
            forced_steps=int(clock["forced"]),
        ),
        trace=engine.trace(),
    )


def _battery(bank: Bank, engine: Engine, events: tuple[Event, ...], number: int) -> BatteryOutcome:
    battery, tally = bank.batteries[number], engine.run.tally[number]
    cells = slice(*(int(engine.packed.battery[number][end]) for end in ("first", "end")))
    soc = engine.run.moment[cells, k.SOC]
    held_Ah = soc * engine.packed.cell["charge"][cells] / C_PER_AH
    extreme = engine.run.extreme[number]
    share = float(tally["share"])
    cut_outs = (e for e in events if e.battery == battery.name and e.cuts_out)
    return BatteryOutcome(
        name=battery.name,
        rated_Ah=battery.rated_C / C_PER_AH,
        delivered_Ah=float(tally["out"]) / C_PER_AH,
        charged_Ah=float(tally["into"]) / C_PER_AH,
        delivered_Wh=float(tally["energy"]) / J_PER_WH,
        peak_discharge_A=float(tally["peak_out"]),
        peak_charge_A=float(tally["peak_into"]),
        share_at_start=share if np.isfinite(share) else None,
        stranded_Ah=float(held_Ah.mean() - held_Ah.min()),
        remaining_Ah=float(held_Ah.min()),
        final_state_of_charge=tuple(soc.tolist()),
        first_cut_out=next(cut_outs, None),
        lowest_cell_voltage_V=float(extreme[k.LOWEST_V]),
        highest_cell_voltage_V=float(extreme[k.HIGHEST_V]),
        lowest_state_of_charge=float(extreme[k.LOWEST_SOC]),
        highest_state_of_charge=float(extreme[k.HIGHEST_SOC]),
    )


def _bank(engine: Engine) -> BankOutcome:
    clock = engine.run.clock[0]
    return BankOutcome(
        delivered_Ah=float(clock["bank_out"]) / C_PER_AH,
        delivered_Wh=float(clock["bank_energy"]) / J_PER_WH,
        charged_Ah=float(clock["bank_into"]) / C_PER_AH,
        lead_loss_Wh=float(clock["lead_energy"]) / J_PER_WH,
        ledger_residual_Ah=float(np.abs(ledger_gap(engine)).max()) / C_PER_AH,
        runtime_s=float(min(clock["fed_until"], clock["time"])),
        peak_A=float(clock["bank_peak"]),
    )


def ledger_gap(engine: Engine) -> Floats:
    """Return, per cell, the charge it lost less what its battery's current accounts for. [C]"""
    cell = engine.packed.cell
    start = [one.state_of_charge for battery in engine.bank.batteries for one in battery.cells]
    lost = (np.array(start) - engine.run.moment[:, k.SOC]) * cell["charge"]
    counts = engine.packed.battery["end"] - engine.packed.battery["first"]
    out, into = (np.repeat(engine.run.tally[name], counts) for name in ("out", "into"))
    standing = cell["standing"] * engine.run.clock["time"][0]
    gap: Floats = lost - (out - cell["efficiency"] * into + standing)
    return gap

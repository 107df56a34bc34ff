"""A scenario in, a result out."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from bankSim.kernels import arrays as k
from bankSim.model.bank import Bank
from bankSim.model.battery import Battery
from bankSim.model.cell import ZERO_C_K
from bankSim.model.curve import Floats
from bankSim.model.rule import Blocks
from bankSim.scenario.record import Scenario
from bankSim.sim.balancing import balancer_gain, has_balancers
from bankSim.sim.cautions import find_cautions
from bankSim.sim.engine import RELATIVE_TOLERANCE, Engine
from bankSim.sim.events import BLOCK_WORD, read_events
from bankSim.sim.giving_up import GivenUpError
from bankSim.sim.hiccups import with_hiccups
from bankSim.sim.joining import join
from bankSim.sim.result import (
    ALL_OVER,
    COLLAPSE,
    EMPTY,
    BankOutcome,
    BatteryOutcome,
    ChargerOutcome,
    EnergyLedger,
    Event,
    Numerics,
    Result,
)
from bankSim.sim.returns import find_returns
from bankSim.sim.runtime import runtime_s

END_REASON = {k.EMPTY: EMPTY, k.SHORTFALL: COLLAPSE, k.DURATION: ALL_OVER}
C_PER_AH = 3600.0
J_PER_WH = 3600.0
Progress = Callable[[float], None]


def simulate(
    scenario: Scenario,
    *,
    relative_tolerance: float = RELATIVE_TOLERANCE,
    absolute_tolerance_A: float | None = None,
    progress: Progress | None = None,
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
        Called now and then with the part of the work that is done, 0 to 1.

    Returns
    -------
    result : Result

    Raises
    ------
    ParameterError
        For a tolerance out of range.
    GivenUpError
        For a run that takes too many steps or makes too many events to be worth an answer.
    """
    engine = Engine(scenario.bank, relative_tolerance, absolute_tolerance_A)
    first, second = parts_of(scenario.bank, progress)
    try:
        return result_of(scenario, engine.finish(first), second)
    except GivenUpError as error:
        raise error.within(scenario.file) from error


def parts_of(bank: Bank, progress: Progress | None) -> tuple[Progress | None, Progress | None]:
    """Return whom the run tells how far it is, and whom `result_of` tells.

    Parameters
    ----------
    bank : Bank
    progress : callable or None
        Told the part of all the work that is done, 0 to 1: half of it is the run without
        balancers, where there are any.
    """
    if progress is None:
        return None, None
    told = progress
    if not has_balancers(bank):
        return progress, lambda part: told(1.0)
    return lambda part: told(0.5 * part), lambda part: told(0.5 + 0.5 * part)


def result_of(scenario: Scenario, engine: Engine, progress: Progress | None = None) -> Result:
    """Return the result of a scenario whose bank was marched to its end.

    Parameters
    ----------
    scenario : Scenario
    engine : Engine
        Finished, with its trace.
    progress : callable, optional
        Told how far the run without balancers is, 0 to 1, where there is one; and 0 as a sign
        of life while it is looked at what flows on joining. What it raises ends the work.
    """

    def alive(part: float) -> None:
        if progress is not None:
            progress(0.0)

    events = read_events(scenario.bank, engine.events)
    batteries = tuple(
        _battery(scenario.bank, engine, events, number)
        for number in range(len(scenario.bank.batteries))
    )
    bank = _bank(engine)
    clock = engine.run.clock[0]
    trace, end_s = engine.trace(), float(clock["time"])
    result = Result(
        scenario=scenario,
        end_time_s=end_s,
        end_reason=END_REASON[engine.status],
        bank=bank,
        batteries=batteries,
        events=events,
        cautions=(),
        numerics=Numerics(
            relative_tolerance=engine.relative_tolerance,
            absolute_tolerance_A=float(engine.packed.setting[k.ABSOLUTE]),
            steps=int(clock["steps"]),
            rejected_steps=int(clock["rejected"]),
            forced_steps=int(clock["forced"]),
        ),
        trace=trace,
        chargers=_chargers(engine),
        joining=join(scenario.bank, progress=alive),
        returns=find_returns(scenario.bank, events, trace, end_s),
        balancing=balancer_gain(scenario.bank, engine, progress),
    )
    told = with_hiccups(result)
    return replace(told, cautions=find_cautions(told))


def _battery(bank: Bank, engine: Engine, events: tuple[Event, ...], number: int) -> BatteryOutcome:
    """Return the totals of one battery.

    Source: docs/theory.md, eq. 19.1.
    """
    battery, tally = bank.batteries[number], engine.run.tally[number]
    cells = slice(*(int(engine.packed.battery[number][end]) for end in ("first", "end")))
    moment, energy = engine.run.moment[cells], engine.run.ledger[2, number] / J_PER_WH
    coldest_K, warmest_K = (
        float(tally[word]) if np.isfinite(tally[word]) else bank.ambient_K(0.0)
        for word in ("coldest", "warmest")
    )
    held_Ah = moment[:, k.SOC] * engine.packed.cell["charge"][cells] / C_PER_AH
    extreme = _extremes(battery, engine.run.extreme[number])
    share, mode = float(tally["share"]), int(tally["mode"])
    cut_outs = (e for e in events if e.battery == battery.name and e.cuts_out)
    return BatteryOutcome(
        name=battery.name,
        rated_Ah=battery.rated_C / C_PER_AH,
        delivered_Ah=float(tally["out"]) / C_PER_AH,
        charged_Ah=float(tally["into"]) / C_PER_AH,
        delivered_Wh=float(energy[k.GIVEN]),
        charged_Wh=float(energy[k.TAKEN]),
        peak_discharge_A=float(tally["peak_out"]),
        peak_charge_A=float(tally["peak_into"]),
        share_at_start=share if np.isfinite(share) else None,
        stranded_Ah=float(held_Ah.mean() - held_Ah.min()),
        remaining_Ah=float(held_Ah.min()),
        final_state_of_charge=tuple(moment[:, k.SOC].tolist()),
        first_cut_out=next(cut_outs, None),
        lowest_cell_voltage_V=float(extreme[k.LOWEST_V]),
        highest_cell_voltage_V=float(extreme[k.HIGHEST_V]),
        lowest_state_of_charge=float(extreme[k.LOWEST_SOC]),
        highest_state_of_charge=float(extreme[k.HIGHEST_SOC]),
        hiccups=int(tally["hiccups"]),
        above_discharge_label_s=float(tally["above_out"]),
        above_charge_label_s=float(tally["above_into"]),
        coldest_C=coldest_K - ZERO_C_K,
        warmest_C=warmest_K - ZERO_C_K,
        charged_below_freezing_Ah=float(tally["cold_into"]) / C_PER_AH,
        lead_loss_Wh=float(energy[k.IN_LEAD]),
        self_discharge_Ah=float(moment[:, k.LEAKED].mean()) / C_PER_AH,
        balanced_Ah=float(moment[:, k.MOVED].mean()) / C_PER_AH,
        efficiency=_efficiency(energy[k.GIVEN], energy[k.TAKEN], energy[k.CHEMICAL]),
        blocked=BLOCK_WORD[Blocks(mode)] if mode else None,
    )


def _extremes(battery: Battery, seen: Floats) -> Floats:
    """Return what was seen of cells; of a run that ended before it began, the cells at rest."""
    if np.isfinite(seen).all():
        return seen
    held = [cell.state_of_charge for cell in battery.cells]
    volts = [float(cell.ocv_V(cell.state_of_charge)) for cell in battery.cells]
    rest = {k.LOWEST_SOC: min(held), k.HIGHEST_SOC: max(held),
            k.LOWEST_V: min(volts), k.HIGHEST_V: max(volts)}  # fmt: skip
    return np.array([seen[n] if np.isfinite(seen[n]) else rest[n] for n in range(len(rest))])


def _efficiency(given_Wh: float, taken_Wh: float, from_cells_Wh: float) -> float | None:
    """Energy given over energy put in; cells that hold less in the end have put that in.

    Source: docs/theory.md, eq. 18.4.
    """
    given_Wh += max(-from_cells_Wh, 0.0)
    put_in_Wh = taken_Wh + max(from_cells_Wh, 0.0)
    if taken_Wh <= 0.0 or put_in_Wh <= 0.0:
        return None
    return float(given_Wh / put_in_Wh)


def _bank(engine: Engine) -> BankOutcome:
    clock, energy = engine.run.clock[0], energy_ledger(engine)
    ledger = engine.run.ledger[2] / J_PER_WH
    given, taken, cells = (ledger[:-1, column].sum() for column in (k.GIVEN, k.TAKEN, k.CHEMICAL))
    return BankOutcome(
        delivered_Ah=float(clock["bank_out"]) / C_PER_AH,
        delivered_Wh=float(ledger[-1, k.FROM_BANK]),
        charged_Ah=float(clock["bank_into"]) / C_PER_AH,
        lead_loss_Wh=energy.leads_Wh,
        ledger_residual_Ah=float(np.abs(ledger_gap(engine)).max()) / C_PER_AH,
        runtime_s=runtime_s(engine),
        peak_A=float(clock["bank_peak"]),
        energy=energy,
        efficiency=_efficiency(given, taken, cells),
    )


def energy_ledger(engine: Engine) -> EnergyLedger:
    """Read the energy ledger; what batteries pass to each other cancels out.

    Source: docs/theory.md, eq. 18.3.
    """
    ledger = engine.run.ledger[2] / J_PER_WH
    inside, bank = ledger[:-1].sum(axis=0), ledger[-1]
    columns = (k.OHMIC, k.POLAR, k.COULOMBIC, k.LOST, k.BALANCED)
    ohmic, polar, coulombic, lost, balanced = (float(inside[column]) for column in columns)
    leads = inside[k.IN_LEAD] + bank[k.IN_RAILS]
    given = inside[k.CHEMICAL] + bank[k.FROM_CHARGERS] + bank[k.FROM_LOADS]
    gone = bank[k.TO_LOADS] + inside[list(columns)].sum() + inside[k.IN_DIODE] + leads
    return EnergyLedger(
        float(inside[k.CHEMICAL]),
        float(bank[k.FROM_CHARGERS]),
        float(bank[k.FROM_LOADS]),
        float(bank[k.TO_LOADS]),
        ohmic,
        polar,
        coulombic,
        lost,
        balanced,
        float(inside[k.IN_DIODE]),
        float(leads),
        float(given - gone),
    )


def _chargers(engine: Engine) -> tuple[ChargerOutcome, ...]:
    return tuple(
        ChargerOutcome(
            charger.name,
            float(source["out"]) / C_PER_AH,
            float(source["energy"]) / J_PER_WH,
            float(source["peak"]),
        )
        for charger, source in zip(engine.bank.chargers, engine.run.source, strict=True)
    )


def ledger_gap(engine: Engine) -> Floats:
    """Return, per cell, the charge it lost less what its currents account for. [C]

    Source: docs/theory.md, eq. 18.1.
    """
    cell, moment = engine.packed.cell, engine.run.moment
    start = [one.state_of_charge for battery in engine.bank.batteries for one in battery.cells]
    lost = (np.array(start) - moment[:, k.SOC]) * cell["charge"]
    counts = engine.packed.battery["end"] - engine.packed.battery["first"]
    out, into = (np.repeat(engine.run.tally[name], counts) for name in ("out", "into"))
    aside = moment[:, k.LEAKED] + moment[:, k.MOVED]
    gap: Floats = lost - (out - cell["efficiency"] * into + aside)
    return gap

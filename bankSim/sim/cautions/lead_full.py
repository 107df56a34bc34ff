"""Lead-acid that is held above float although nothing is left to charge: all of it is gas."""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from bankSim.model.bank import Bank
from bankSim.model.battery import Battery
from bankSim.model.cell import REFERENCE_K, ZERO_C_K
from bankSim.model.chemistry import is_lead
from bankSim.model.curve import Floats
from bankSim.model.load import Flags
from bankSim.sim.numbers import named, number, quoted, span
from bankSim.sim.result import Caution, Result
from bankSim.sim.returns import column

# Usual float of a cell at 25 degC, and how it falls with every K (from memory). [V], [V/K]
FLOAT_V = {"AGM": (2.25, 2.30), "gel": (2.25, 2.30), "flooded": (2.20, 2.27)}
FLOAT_V_PER_K = -0.004
ABOVE_FLOAT_V = 0.02  # a cell; chargers differ by less: own choice
FULL_FROM = 0.98  # state of charge of both wells; own choice
# What a usual full charge takes beyond full, of the label: charge factors of 1.05 to 1.1 for sealed
# and 1.1 to 1.2 for flooded batteries (from memory).
USUAL_PART = {"AGM": 0.05, "gel": 0.05, "flooded": 0.10}
# Beyond that, of the label in one hold: own choice.
WARNING_PART, DANGER_PART = 0.02, 0.20
GASSES_V = 2.35  # a cell gasses briskly from about here on; less is no danger: from memory
# Many short holds add up to a warning from here on, of the label, if they are also more than twice
# the usual part of all that was charged; own choice.
ADDED_UP_PART, OF_CHARGED = 0.20, 2.0
BRIDGED_S = 2.0 * 3600.0  # a break shorter than this does not end a hold; own choice
FARADAY_C_MOL, WATER_G_MOL, GAS_L_MOL = 96_485.332, 18.015, 22.414


@dataclass(frozen=True, slots=True)
class Held:
    """Charge that a lead-acid battery takes while it is full and above float.

    Parameters
    ----------
    hours, gassed_Ah : float
        In all. [h], [Ah]
    worst_hours, worst_Ah : float
        Of the hold that takes most. [h], [Ah]
    brisk_Ah : float
        The most that a hold takes at voltages at which cells gas briskly. [Ah]
    most_V : float
        Highest voltage of the battery then. [V]
    warm_hours : float
        So long it is above float for its warmth alone: at 25 degC that voltage would do. [h]
    most_K : float
        Highest temperature of the battery then. [K]
    """

    hours: float
    gassed_Ah: float
    worst_hours: float
    worst_Ah: float
    brisk_Ah: float
    most_V: float
    warm_hours: float
    most_K: float


def of_lead_full(result: Result) -> Iterator[Caution]:
    """Warn of lead-acid batteries that are held at gassing voltages long after they are full."""
    for number_of, battery in enumerate(result.scenario.bank.batteries):
        if is_lead(battery.chemistry):
            held = held_full(result, number_of)
            severity = _severity(result, number_of, held)
            if severity:
                yield _caution(result.scenario.bank, battery, held, severity)


def held_full(result: Result, number_of: int) -> Held:
    """Return what a lead-acid battery takes while it is full and above float.

    All that enters then and does not raise its charge is gas: integral of the charge current less
    the rise of the charge.

    Parameters
    ----------
    result : Result
    number_of : int
        Place of the battery, from 0.

    Source
    ------
    docs/theory.md, eq. 17.9.
    """
    battery, trace = result.scenario.bank.batteries[number_of], result.trace
    current_A, volts, level, kelvin = (column(trace, number_of, k) for k in range(4))
    full = (level >= FULL_FROM) & (volts > _float_V(battery, kelvin)[1])
    mild = volts <= _float_V(battery, np.full(volts.shape, REFERENCE_K))[1]
    spans = full[1:] & full[:-1]
    steps_h = np.diff(trace[:, 0]) / 3600.0
    held_Ah = float(np.mean([cell.charge_C for cell in battery.cells])) / 3600.0
    gassed_Ah = -0.5 * (current_A[1:] + current_A[:-1]) * steps_h - np.diff(level) * held_Ah
    gassed_Ah, hours = np.where(spans, gassed_Ah, 0.0), np.where(spans, steps_h, 0.0)
    holds = _holds(trace[:, 0], spans)
    parts = [(float(gassed_Ah[one].sum()), float(hours[one].sum())) for one in holds]
    worst_Ah, worst_h = max(parts, default=(0.0, 0.0))
    brisk = volts >= GASSES_V * len(battery.cells)
    brisk_Ah = np.where(brisk[1:] & brisk[:-1], gassed_Ah, 0.0)
    return Held(
        float(hours.sum()),
        float(gassed_Ah.sum()),
        worst_h,
        worst_Ah,
        max((float(brisk_Ah[one].sum()) for one in holds), default=0.0),
        float(volts[full].max(initial=0.0)),
        float(hours[mild[1:] & mild[:-1]].sum()),
        float(kelvin[full].max(initial=0.0)),
    )


def gas_of(gassed_Ah: float) -> tuple[float, float]:
    """Return the water that a cell loses and the hydrogen that it gives, nothing recombined.

    Units: [g], [l at 0 degC and 101.3 kPa]

    Parameters
    ----------
    gassed_Ah : float
        [Ah]

    Source
    ------
    docs/theory.md, eq. 17.10.
    """
    mol = gassed_Ah * 3600.0 / (2.0 * FARADAY_C_MOL)
    return WATER_G_MOL * mol, GAS_L_MOL * mol


def _float_V(battery: Battery, kelvin: Floats) -> tuple[float, Floats]:  # noqa: N802 - the unit
    """Return the most that is usual as float at 25 degC, and what counts as above at others. [V]"""
    cells, most_V = len(battery.cells), FLOAT_V[str(battery.chemistry)][1]
    above_V = most_V + ABOVE_FLOAT_V + FLOAT_V_PER_K * (kelvin - REFERENCE_K)
    return cells * most_V, cells * above_V


def _holds(time_s: Floats, spans: Flags) -> list[slice]:
    """Return the spans of every hold, short breaks bridged."""
    marked = np.flatnonzero(spans)
    breaks = time_s[marked[1:]] - time_s[marked[:-1] + 1] > BRIDGED_S
    edges = [0, *(np.flatnonzero(breaks) + 1).tolist(), marked.size]
    return [
        slice(int(marked[first]), int(marked[last - 1]) + 1)
        for first, last in pairwise(edges)
        if last > first
    ]


def _severity(result: Result, number_of: int, held: Held) -> str:
    """Return how bad that is; "" for what a usual full charge takes."""
    outcome, battery = result.batteries[number_of], result.scenario.bank.batteries[number_of]
    usual = USUAL_PART[str(battery.chemistry)]
    beyond = held.worst_Ah / outcome.rated_Ah - usual
    if held.brisk_Ah / outcome.rated_Ah - usual > DANGER_PART:
        return "danger"
    stored_Ah = outcome.charged_Ah - held.gassed_Ah
    added_up = held.gassed_Ah > max(
        ADDED_UP_PART * outcome.rated_Ah, OF_CHARGED * usual * stored_Ah
    )
    return "warning" if beyond > WARNING_PART or added_up else ""


def _caution(bank: Bank, battery: Battery, held: Held, severity: str) -> Caution:
    cells = len(battery.cells)
    low_V, high_V = (cells * volts for volts in FLOAT_V[str(battery.chemistry)])
    usual = f"{number(low_V, 3)} to {number(high_V, 3)} V for {cells} cells at 25 degrees C"
    water_g, hydrogen_l = gas_of(held.gassed_Ah)
    all_cells = "it" if cells == 1 else f"all {cells}"
    ends = (
        f"{_charge_ends(bank, high_V)} to float ({usual}) when the current has tapered off, to 1 "
        "to 2 % of the label."
    )
    because = ""
    if held.warm_hours > 0.5 * held.hours:
        most_K = held.most_K - REFERENCE_K
        because = (
            f", {span(3600.0 * held.warm_hours)} of it only because float is lower for its warmth, "
            f"up to {number(held.most_K - ZERO_C_K, 3)} degrees C"
        )
        ends = (
            f"Float is {usual} and about {number(-FLOAT_V_PER_K * cells * most_K, 2)} V less at "
            "its warmest: use a charger that measures the battery's temperature, or keep it cooler."
        )
    return Caution(
        "lead-acid held at gassing voltage",
        severity,
        held.gassed_Ah,
        USUAL_PART[str(battery.chemistry)] * battery.rated_C / 3600.0,
        "Ah",
        f"{quoted(battery.name)} is full and still held above float, at up to "
        f"{number(held.most_V, 4)} V, for {span(3600.0 * held.hours)} in "
        f"all{because}: {number(held.gassed_Ah)} Ah go into gas and heat. If nothing "
        f"recombines, that is {number(water_g)} g of water from each cell and "
        f"{number(cells * hydrogen_l)} l of hydrogen from {all_cells} (Faraday: "
        "0.336 g and 0.42 l at 0 degrees C for each Ah and cell).",
        f"{ends} {_water(battery)} Air the room: hydrogen is explosive from 4 % on.",
    )


def _charge_ends(bank: Bank, float_V: float) -> str:
    high = [charger.name for charger in bank.chargers if charger.highest_hold_V > float_V]
    return f"Let {named(high)} drop" if high else "Let whatever charges it drop"


def _water(battery: Battery) -> str:
    if battery.chemistry == "flooded":
        return "Top up its water, once it is charged."
    return (
        "Sealed cells recombine most of it while the current is small, get warm, and dry out: "
        "what is lost cannot be put back."
    )

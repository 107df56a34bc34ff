"""The lines of a comparison: charge, cut-outs and come-backs, bus voltage."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bankSim.crosscheck.deck_load import bent_below_V
from bankSim.crosscheck.spice import LET_GO, SHUT, SpiceResult
from bankSim.model.curve import Floats
from bankSim.model.rule import Blocks
from bankSim.sim.result import EMPTY, RELEASE, TRIP, Result

Flags = NDArray[np.bool_]

CHARGE_LIMIT_PERCENT = 0.1
VOLTAGE_LIMIT_MV = 2.0
TIME_LIMIT_SHARE = 1e-3
TIME_LIMIT_STEPS = 3.0
RETURN_LIMIT_SHARE = 5e-3  # voltages at rest drift slowly past the threshold of a release
SMALL_SHARE = 1e-3
BLOCKS_BY_WORD = {one.name.lower(): one for one in Blocks}


@dataclass(frozen=True, slots=True)
class Line:
    """One quantity both ways.

    Parameters
    ----------
    quantity : str
    unit : str
        Of the two values.
    predicted, spice : float, str or None
        None when it did not happen, or when only the difference has a meaning. In `unit`.
    difference : float or None
        In `difference_unit`.
    difference_unit : str
    limit : float or None
        Largest difference that passes. In `difference_unit`.
    agrees : bool
    """

    quantity: str
    unit: str
    predicted: float | str | None
    spice: float | str | None
    difference: float | None
    difference_unit: str
    limit: float | None
    agrees: bool


def charge_lines(result: Result, found: SpiceResult) -> list[Line]:
    """Ah of every battery and of the bank, judged against what went through each, both ways."""
    spice_end_s = _end_in_spice_s(result, found)
    throughput_Ah = sum(b.delivered_Ah + b.charged_Ah for b in result.batteries)
    small_Ah = SMALL_SHARE * throughput_Ah
    lines = []
    for index, battery in enumerate(result.batteries):
        given, taken = (
            float(np.interp(spice_end_s, found.time_s, counter[:, index]))
            for counter in (found.delivered_Ah, found.charged_Ah)
        )
        name, through_Ah = battery.name, battery.delivered_Ah + battery.charged_Ah
        scale_Ah = max(through_Ah, small_Ah)
        lines.append(_charge_line(f"{name} delivered", battery.delivered_Ah, given, scale_Ah))
        if max(taken, battery.charged_Ah) > small_Ah:
            lines.append(_charge_line(f"{name} charged", battery.charged_Ah, taken, scale_Ah))
    inside = found.time_s <= spice_end_s
    total_A = np.maximum(found.current_A[inside].sum(axis=1), 0.0)
    given = float(np.trapezoid(total_A, found.time_s[inside])) / 3600.0
    scale_Ah = max(result.bank.delivered_Ah + result.bank.charged_Ah, small_Ah)
    lines.append(_charge_line("bank delivered", result.bank.delivered_Ah, given, scale_Ah))
    return lines


def _end_in_spice_s(result: Result, found: SpiceResult) -> float:
    """Return when the run ends in SPICE: where it ends empty, at the last cut-out there."""
    if result.end_reason != EMPTY:
        return result.end_time_s
    cuts_s = [found.switchings[k, Blocks.DISCHARGE, SHUT] for k in range(len(result.batteries))]
    times_s = np.concatenate(cuts_s)
    if times_s.size == 0:
        return float(found.time_s[-1])
    nearest_s = float(times_s[np.argmin(np.abs(times_s - result.end_time_s))])
    return min(nearest_s + 2.0 * found.max_step_s, float(found.time_s[-1]))


def _charge_line(quantity: str, predicted: float, spice: float, scale: float) -> Line:
    percent = 100.0 * (predicted - spice) / max(scale, 1e-12)
    agrees = abs(percent) <= CHARGE_LIMIT_PERCENT
    return Line(quantity, "Ah", predicted, spice, percent, "%", CHARGE_LIMIT_PERCENT, agrees)


def cut_out_lines(result: Result, found: SpiceResult) -> list[Line]:
    """When each battery cut out, and in which order."""
    names = [battery.name for battery in result.batteries]
    predicted = _predicted_cut_outs_s(result)
    lines = []
    for name, ours, theirs in zip(names, predicted, found.cut_out_s, strict=True):
        lines += _time_lines(f"{name} cuts out", ours, theirs, found)
    orders = [_order(times, names) for times in (predicted, found.cut_out_s)]
    agrees = _same_order(predicted, found)
    order = Line("cut-out order", "", orders[0], orders[1], None, "", None, agrees)
    return [*lines, order] if orders[0] or orders[1] else lines


def return_lines(result: Result, found: SpiceResult) -> list[Line]:
    """When charge of each battery was first blocked, and when discharge was first let go again."""
    lines = []
    for index, battery in enumerate(result.batteries):
        for words, way, step in (
            ("first blocks charge", Blocks.CHARGE, SHUT),
            ("first comes back", Blocks.DISCHARGE, LET_GO),
            ("first takes charge again", Blocks.CHARGE, LET_GO),
        ):
            ours = _changes_s(result, battery.name, way, step)
            share = TIME_LIMIT_SHARE if step == SHUT else RETURN_LIMIT_SHARE
            theirs = found.switchings[index, way, step]
            # what ends the run may come a little later in SPICE
            late_s = _time_limit_s(float(ours[0]), found, share) if ours.size else 0.0
            theirs = theirs[theirs <= result.end_time_s + late_s]
            firsts = (_first(ours), _first(theirs))
            lines += _time_lines(f"{battery.name} {words}", *firsts, found, share)
    return lines


def _first(times_s: Floats) -> float | None:
    return float(times_s[0]) if times_s.size else None


def _changes_s(result: Result, name: str, way: Blocks, step: int) -> Floats:
    """Return when a direction of a battery was blocked, or let go by its last rule. [s]"""
    tripped, found = 0, []
    for event in result.events:
        if event.battery != name or BLOCKS_BY_WORD.get(event.blocks or "", 0) & way == 0:
            continue
        change = {TRIP: SHUT, RELEASE: LET_GO}.get(event.what, 0)
        tripped += change
        if change == step and tripped == (1 if step == SHUT else 0):
            found.append(event.time_s)
    return np.array(found)


def _time_lines(
    quantity: str,
    ours: float | None,
    theirs: float | None,
    found: SpiceResult,
    share: float = TIME_LIMIT_SHARE,
) -> list[Line]:
    """Return one line about an instant, or none where it happened neither way."""
    if ours is None and theirs is None:
        return []
    limit_s = _time_limit_s(ours or 0.0, found, share)
    late_s = ours - theirs if ours is not None and theirs is not None else None
    agrees = late_s is not None and abs(late_s) <= limit_s
    return [Line(quantity, "s", ours, theirs, late_s, "s", limit_s, agrees)]


def _time_limit_s(ours: float, found: SpiceResult, share: float) -> float:
    """Return how far apart an instant may lie both ways. [s]"""
    return max(share * ours, TIME_LIMIT_STEPS * found.max_step_s)


def _predicted_cut_outs_s(result: Result) -> tuple[float | None, ...]:
    cuts = [battery.first_cut_out for battery in result.batteries]
    return tuple(None if cut is None else cut.time_s for cut in cuts)


def _order(times: tuple[float | None, ...], names: list[str]) -> str:
    """Return the names in the order of their times, those without a time left out."""
    timed = [
        (time_s, name) for time_s, name in zip(times, names, strict=True) if time_s is not None
    ]
    return ", ".join(name for _, name in sorted(timed, key=lambda pair: pair[0]))


def _same_order(predicted: tuple[float | None, ...], found: SpiceResult) -> bool:
    """Tell whether no two batteries cut out the other way round; ties within a step are equal."""
    if [t is None for t in predicted] != [t is None for t in found.cut_out_s]:
        return False
    ours = np.array([t for t in predicted if t is not None])
    theirs = np.array([t for t in found.cut_out_s if t is not None])
    gap_ours, gap_theirs = (np.subtract.outer(t, t) for t in (ours, theirs))
    tie_s = TIME_LIMIT_STEPS * found.max_step_s
    swapped = (gap_ours * gap_theirs < 0.0) & (np.abs(gap_ours) > tie_s)
    return not bool(swapped.any())


def voltage_lines(result: Result, found: SpiceResult, *, to_first_only: bool = False) -> list[Line]:
    """Rms difference of the bus voltage up to the first cut-out, and after it.

    With `to_first_only`, up to the first time that anything of a battery switches, and no further.
    A dark bus, on either side, is left out: the netlist's loads become resistances there.
    """
    timeline = result.timeline()
    time_s = timeline["time_s"].to_numpy(dtype=float)
    ours_V = timeline["bank.voltage_V"].to_numpy(dtype=float)
    theirs_V = found.voltage_V(time_s)
    fed = (ours_V > 0.0) & (theirs_V > bent_below_V(result.scenario.bank))
    quiet = _quiet(time_s, result, found) & fed
    difference_mV = 1e3 * (ours_V - theirs_V)
    if to_first_only:
        first_s = min((event.time_s for event in result.events if event.battery), default=np.inf)
        spans = [("bus voltage to the first event, rms", time_s < first_s)]
    else:
        spans = _spans(time_s, [t for t in _predicted_cut_outs_s(result) if t is not None])
    return [
        _voltage_line(quantity, difference_mV[span & quiet])
        for quantity, span in spans
        if (span & quiet).any()
    ]


def _spans(time_s: Floats, cuts_s: list[float]) -> list[tuple[str, Flags]]:
    """Return the spans over which the bus voltage is compared, by name."""
    if not cuts_s:
        return [("bus voltage, rms", np.ones(time_s.size, dtype=bool))]
    before = time_s < min(cuts_s)
    return [
        ("bus voltage to the first cut-out, rms", before),
        ("bus voltage after it, rms", ~before),
    ]


def _voltage_line(quantity: str, difference_mV: Floats) -> Line:
    rms_mV = float(np.sqrt(np.mean(difference_mV**2)))
    agrees = rms_mV <= VOLTAGE_LIMIT_MV
    return Line(quantity, "mV", None, None, rms_mV, "mV", VOLTAGE_LIMIT_MV, agrees)


def _quiet(time_s: Floats, result: Result, found: SpiceResult) -> Flags:
    """Tell which instants lie away from the start and everything that switches."""
    step_s = found.max_step_s
    times_s = [event.time_s for event in result.events]
    quiet = _distance(time_s, edges_s(result)) > step_s
    both_s = np.unique(np.concatenate([[0.0], times_s, *found.switchings.values()]))
    quiet &= _distance(time_s, both_s) > TIME_LIMIT_STEPS * step_s
    for (index, way, step), theirs_s in found.switchings.items():
        ours_s = _changes_s(result, result.batteries[index].name, way, step)
        for ours, theirs in zip(ours_s, theirs_s, strict=False):
            quiet &= (time_s < min(ours, theirs)) | (time_s > max(ours, theirs))
    return np.asarray(quiet & (time_s < result.end_time_s) & (time_s >= found.time_s[0]))


def edges_s(result: Result) -> Floats:
    """Return every instant at which something switches in the prediction, 0 among them. [s]"""
    bank = result.scenario.bank
    edges = [load.edges_s(bank.duration_s, bank.starts_at_s) for load in bank.loads]
    edges += [charger.edges_s(bank.duration_s, bank.starts_at_s) for charger in bank.chargers]
    edges.append(np.array([event.time_s for event in result.events]))
    return np.unique(np.concatenate([np.zeros(1), *edges]))


def _distance(time_s: Floats, marks_s: Floats) -> Floats:
    """Return the distance of each time to the nearest mark."""
    right = np.clip(np.searchsorted(marks_s, time_s), 0, marks_s.size - 1)
    left = np.maximum(right - 1, 0)
    return np.asarray(np.minimum(np.abs(time_s - marks_s[left]), np.abs(time_s - marks_s[right])))

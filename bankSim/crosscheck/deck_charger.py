"""Chargers as a netlist: constant current or power up to a hold, stage by stage."""

import math

import numpy as np

from bankSim.crosscheck.deck_latch import latch_lines, margin_lines
from bankSim.crosscheck.deck_load import steps_line
from bankSim.crosscheck.deck_words import comment, nested, number
from bankSim.model.bank import Bank
from bankSim.model.charger import Charger, Stage
from bankSim.model.load import DAY_S

DROOP_V = 1e-5  # the hold falls by this much over the whole range of current
HELD_V = 1e-3  # within this of the hold it counts as held
TAIL_STEPS = 1.5  # the tail must last this many longest steps: while a battery is cut off, Newton's
# method passes through voltages at which nothing flows, which must not end a stage
LEAST_V = 1.0


def charger_lines(bank: Bank, node: str, max_step_s: float) -> list[str]:
    """Return all chargers between the minus take-off and `node`, where the loads are.

    Charger j gives its limit times chs<j>, kept within 0 and 1. That number is whatever makes the
    voltage right: within 0 and 1 the voltage is held, below 0 it is higher, above 1 lower. So
    Newton's method always sees a slope, on the flat limits and on the steep hold alike.
    """
    lines: list[str] = []
    for index, charger in enumerate(bank.chargers, start=1):
        lines += [comment(f"charger {index} {charger.name}"), *_on_lines(charger, index, bank)]
        lines += _stage_lines(charger, index, node, max_step_s)
        part = f"V(chs{index})"
        beyond = f"{part} - {number(1.0 - DROOP_V)} * {_within(part)}"
        lines += [
            f"Bchl{index} chl{index} 0 V = {_limit(charger, index, node, bank)}",
            f"Bchs{index} 0 chs{index} I = V({node}) - V(chh{index}) + {beyond}",
            f"Bch{index} 0 {node} I = {_amps(index)}",
        ]
    return lines


def _within(part: str) -> str:
    return f"min(max({part}, 0), 1)"


def _amps(index: int) -> str:
    """Return the current of charger `index`."""
    return f"V(chl{index}) * {_within(f'V(chs{index})')}"


def _on_lines(charger: Charger, index: int, bank: Bank) -> list[str]:
    """Return the source that is 1 while the charger is switched on."""
    edges = np.append(0.0, charger.edges_s(bank.duration_s, bank.starts_at_s))
    middles = 0.5 * (edges + np.append(edges[1:], bank.duration_s))
    on = charger.is_on(middles, bank.starts_at_s).astype(float)
    changed = np.concatenate([[True], np.diff(on) != 0.0])
    return [steps_line(f"cho{index}", edges[changed], on[changed])]


def charger_works(charger: Charger, index: int) -> str:
    """Return what is 1 while a charger is switched on and not past its last stage."""
    return f"V(cho{index}) * (1 - {_ended(charger, index)})"


def _limit(charger: Charger, index: int, node: str, bank: Bank) -> str:
    """Return the largest current that the charger gives now."""
    amps = charger_works(charger, index)
    if charger.limit_A is not None:
        amps = f"{number(charger.limit_A)} * {amps}"
    else:
        amps = f"{_watts(charger, bank)} * {amps} / max(V({node}), {number(LEAST_V)})"
    return amps


def _watts(charger: Charger, bank: Bank) -> str:
    """Return the power of the limit: constant, or half a sine over the day."""
    sun = charger.sun
    if sun is None:
        return number(charger.limit_W or 0.0)
    since = f"(time + {number(bank.starts_at_s - sun.rise_s)})"
    today = f"({since} - {number(DAY_S)} * floor({since} / {number(DAY_S)}))"
    rate = number(math.pi / (sun.set_s - sun.rise_s))
    return f"{number(sun.peak_W)} * max(sin({rate} * {today}), 0)"


def _ended(charger: Charger, index: int) -> str:
    """Return what is 1 once the last stage has ended."""
    return _done(charger.stages[-1], index, len(charger.stages))


def _done(stage: Stage, index: int, place: int) -> str:
    """Return what is 1 once a stage has ended: at its tail or after its time."""
    names = [
        f"V(lch{index}{letter}{place})"
        for letter, limit in (("s", stage.tail_A), ("m", stage.most_s))
        if limit is not None
    ]
    return nested("max", names) if names else "0"


def _stage_lines(charger: Charger, index: int, node: str, max_step_s: float) -> list[str]:
    """Return the hold of the present stage, and the latches that end one stage after another."""
    hold = number(charger.stages[-1].hold_V)
    for place in range(len(charger.stages) - 1, 0, -1):
        stage = charger.stages[place - 1]
        hold = f"({_done(stage, index, place)} > 0.5 ? {hold} : {number(stage.hold_V)})"
    lines = [f"Bchh{index} chh{index} 0 V = {hold}"]
    begun = f"(V(cho{index}) > 0.5)"
    off = f"(V(cho{index}) < 0.5)"
    for place, stage in enumerate(charger.stages, start=1):
        if stage.tail_A is not None:
            name = f"ch{index}s{place}"
            lines += margin_lines(f"m{name}", f"{_amps(index)} - {number(stage.tail_A)}", "A")
            held = f"(V({node}) > {number(stage.hold_V - HELD_V)})"
            tail = f"{begun} && {held} && (V(m{name}) < 0)"
            lines += latch_lines(name, tail, TAIL_STEPS * max_step_s, max_step_s, off)
        if stage.most_s is not None:
            lines += latch_lines(f"ch{index}m{place}", begun, stage.most_s, max_step_s, off)
        begun = f"(V(cho{index}) > 0.5) && ({_done(stage, index, place)} > 0.5)"
    return lines

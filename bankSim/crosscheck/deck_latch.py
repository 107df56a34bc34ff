"""Memory for a netlist: a condition held for a time sets a latch, another one resets it."""

from bankSim.crosscheck.deck_words import number

SWITCH_ON_OHM = 1e-5  # less, and the rounding of a voltage at 13 V is a current above abstol
SWITCH_OFF_OHM = 1e9
GATE = "gate"
ONE = "one"
# Counters, timers and hysteresis are computed with capacitors and currents this small, below
# ngspice's abstol: their jumps must not drive its control of the step towards zero.
COUNTER_SCALE = 1e-10
MARGIN_GAIN = {"V": 1e3, "A": 1e2, "degC": 1.0}  # 0.05 V at a switch: 0.05 mV or 0.5 mA
LEAST_DELAY_S = 1e-3
SURE_SHARE = 0.999
LAG_S = 0.1
BACK_STEPS = 0.25  # an unfinished delay is forgotten within this many longest steps


def common_lines() -> list[str]:
    """Return what all latches and switches share: their model and a source of 1 V."""
    ohms = f"ron={number(SWITCH_ON_OHM)} roff={number(SWITCH_OFF_OHM)}"
    return [f".model {GATE} SW(vt=0 vh=0 {ohms})", f"Vone {ONE} 0 1"]


def latch_lines(
    name: str,
    set_if: str,
    set_s: float,
    max_step_s: float,
    reset_if: str | None = None,
    reset_s: float = 0.0,
) -> list[str]:
    """Return a latch: V(l<name>) is 1 once `set_if` has held for `set_s`, until it is reset.

    The timer t<name> rises from 0 to 1 while the latch is open and `set_if` holds, falls from 1
    to 0 while it is closed and `reset_if` holds, and is drawn back otherwise. Shortly before its
    end it goes on for ever: what the latch switches must not decide whether it switches. A
    switch with hysteresis is the memory; its control is the timer in seconds, because ngspice
    meets the control of a switch to 0.05 V.

    Parameters
    ----------
    name : str
        Letters and digits.
    set_if, reset_if : str
        Conditions as expressions; without `reset_if` it stays set.
    set_s, reset_s : float
        How long each must hold without a break. [s]
    max_step_s : float
        Longest time step of the run. [s]
    """
    timer, gate, latch = f"t{name}", f"g{name}", f"l{name}"
    back = number(1.0 / (BACK_STEPS * max_step_s))
    scale, share = number(COUNTER_SCALE), number(SURE_SHARE)
    rise = number(1.0 / max(set_s, LEAST_DELAY_S))
    held = f"{back} * (1 - V({timer}))"
    if reset_if is not None:
        rise = f"min({rise}, {back} * (2 - V({timer})))"
        fall = f"-min({number(1.0 / max(reset_s, LEAST_DELAY_S))}, {back} * (1 + V({timer})))"
        held = f"(({reset_if}) || (V({timer}) < {number(1.0 - SURE_SHARE)}) ? {fall} : {held})"
    opened = f"(({set_if}) || (V({timer}) > {share}) ? {rise} : -{back} * V({timer}))"
    seconds = max(set_s, reset_s, 1.0)
    half = number(0.5 * seconds)
    return [
        f"C{timer} {timer} 0 {scale}",
        f"B{timer} 0 {timer} I = {scale} * (V({latch}) > 0.5 ? {held} : {opened})",
        f"B{gate} {gate} 0 V = {number(seconds)} * V({timer})",
        f"S{name} {ONE} {latch} {gate} 0 m{name} OFF",
        f"R{latch} {latch} 0 1",
        f".model m{name} SW(vt={half} vh={half} ron=1e-6 roff={number(SWITCH_OFF_OHM)})",
    ]


def margin_lines(margin: str, apart: str, unit: str) -> list[str]:
    """Return a node with `apart`, magnified: how far something is from its condition.

    ngspice shortens its steps where the control of a switch nears its threshold, so the margin
    controls an idle switch and the beginning of the condition is met sharply. It sees the
    margin through a short lag: a jump that ends just before the threshold would otherwise be cut
    into ever shorter steps.
    """
    return [
        f"B{margin} {margin} 0 V = {number(MARGIN_GAIN[unit])} * ({apart})",
        f"R{margin} {margin} {margin}f {number(1.0 / COUNTER_SCALE)}",
        f"C{margin} {margin}f 0 {number(LAG_S * COUNTER_SCALE)}",
        f"S{margin} {ONE} {margin}i {margin}f 0 {GATE} ON",
        f"R{margin}i {margin}i 0 1",
    ]

"""One battery as a netlist: cells, relaxation, hysteresis, counters, protection."""

from bankSim.crosscheck.deck_words import comment, nested, number, pwl
from bankSim.errors import SimulationError
from bankSim.model.battery import Battery
from bankSim.model.cell import Cell, RelaxationPair, arrhenius_factor
from bankSim.model.rule import Blocks, Rule, Watch

SWITCH_ON_OHM = 1e-7
SWITCH_OFF_OHM = 1e9
LEAST_DELAY_S = 1e-3
LATCH_SHARE = 0.999
LAG_S = 0.1
# Counters, timers and hysteresis are computed with capacitors and currents this small, below
# ngspice's abstol: their jumps must not drive its control of the step towards zero.
COUNTER_SCALE = 1e-10
HYSTERESIS_SCALE = 1e-6
MARGIN_GAIN = {"V": 1e3, "A": 1e2}  # 0.05 V at a switch is 0.05 mV or 0.5 mA of the margin


class DeckError(SimulationError):
    """The bank holds something that the netlist cannot express."""


def battery_lines(
    battery: Battery, index: int, plus: str, minus: str, temperature_K: float, max_step_s: float
) -> list[str]:
    """Return the lines of battery `index` (from 1) between two rail nodes.

    The ammeter vb<k> carries the discharge current; d<k> and e<k> count the charge given and
    taken in Ah; t<k>r<j> are the timers of the rules. Nodes are named by numbers only.
    """
    name = f"b{index}"
    lines = [comment(f"battery {index} {battery.name}"), f"V{name} {minus} {name}c0 0"]
    for place, cell in enumerate(battery.cells, start=1):
        factor = arrhenius_factor(cell.activation_J_mol, temperature_K)
        lines += _cell_lines(cell, index, place, factor)
    inside = f"{name}c{len(battery.cells)}"
    acting, left_out = _acting_rules(battery, temperature_K)
    ends = [(battery.internal_ohm, f"{name}t"), (battery.lead_ohm, f"{name}s" if acting else plus)]
    for part, (ohm, node) in zip(("i", "l"), ends, strict=True):
        lines.append(_resistor(f"{name}{part}", inside, node, ohm))
        inside = node
    lines += _counters(index)
    return lines + left_out + _rule_lines(battery, index, plus, acting, max_step_s)


def timers(battery: Battery, index: int, temperature_K: float) -> dict[str, float]:
    """Return the timer node of every rule in the netlist and the delay at which it acts. [s]"""
    acting, _ = _acting_rules(battery, temperature_K)
    return {f"t{index}r{place}": _delay_s(rule) for place, rule in acting.items()}


def _resistor(name: str, first: str, second: str, ohm: float) -> str:
    """Return a resistor, or a source of 0 V where there is none."""
    if ohm > 0.0:
        return f"R{name} {first} {second} {number(ohm)}"
    return f"V{name} {first} {second} 0"


def _cell_lines(cell: Cell, index: int, place: int, factor: float) -> list[str]:
    """Return one cell: its charge as a capacitor, its voltage as a source, R and C as they are."""
    current, node, below = f"I(Vb{index})", f"b{index}c{place}", f"b{index}c{place - 1}"
    volts = pwl(cell.ocv_V, f"V({node}z)")
    ohm = pwl(cell.ohmic_ohm, f"V({node}z)", factor)
    lines = [
        f"C{node}z {node}z ref {number(cell.charge_C)}",
        f".ic V({node}z)={number(cell.state_of_charge)}",
        f"B{node}z {node}z 0 I = {_stored(cell, current)} + {number(cell.standing_A)}",
    ]
    if cell.hysteresis_V > 0.0:
        rate = number(HYSTERESIS_SCALE * cell.hysteresis_rate / cell.charge_C)
        volts += f" + {number(cell.hysteresis_V)} * V({node}h)"
        lines += [
            f"C{node}h {node}h 0 {number(HYSTERESIS_SCALE)}",
            f"B{node}h {node}h 0 I = {rate} * (abs({current}) * V({node}h) + {current})",
        ]
    pairs = [pair for pair in cell.relaxation if pair.resistance_ohm > 0.0]
    for letter, pair in zip("uvw", pairs, strict=False):
        lines += _pair_lines(pair, f"{node}{letter}", current, factor)
        volts += f" - V({node}{letter})"
    return [*lines, f"B{node} {node} {below} V = {volts} - {current} * {ohm}"]


def _pair_lines(pair: RelaxationPair, node: str, current: str, factor: float) -> list[str]:
    """Return a resistor and a capacitor that the battery's current flows through.

    They stand beside the string of cells, at ground: among the cells the large capacitor's
    conductance over a short step would drown the current in rounding.
    """
    resistance = pair.resistance_ohm * factor
    return [
        f"B{node} 0 {node} I = {current}",
        f"R{node} {node} 0 {number(resistance)}",
        f"C{node} {node} ref {number(pair.time_constant_s / resistance)}",
        f".ic V({node})=0",
    ]


def _stored(cell: Cell, current: str) -> str:
    """Return the current that leaves the cell's charge; charging is stored with a loss."""
    if cell.coulombic_efficiency == 1.0:
        return current
    return f"{current} * ({current} < 0 ? {number(cell.coulombic_efficiency)} : 1)"


def _counters(index: int) -> list[str]:
    """Return the capacitors that count the charge given (d) and taken (e), 1 V = 1 Ah."""
    current, scale = f"I(Vb{index})", number(COUNTER_SCALE)
    lines = []
    for node, way in ((f"d{index}", current), (f"e{index}", f"-{current}")):
        lines.append(f"C{node} {node} 0 {number(3600.0 * COUNTER_SCALE)}")
        lines.append(f"B{node} 0 {node} I = {scale} * max({way}, 0)")
    return lines


def _acting_rules(battery: Battery, temperature_K: float) -> tuple[dict[int, Rule], list[str]]:
    """Return the rules that go into the netlist by number, and remarks on the others."""
    acting: dict[int, Rule] = {}
    remarks = []
    for place, rule in enumerate(battery.rules, start=1):
        if rule.blocks == Blocks.CHARGE:
            remarks.append(comment(f"rule {place} blocks charge only and is left out"))
        elif rule.watches is not Watch.TEMPERATURE:
            acting[place] = rule
        elif (temperature_K < rule.threshold) is rule.below:
            raise DeckError(
                f"battery {battery.name!r}: rule {place} acts on the temperature of the bank, "
                "which the netlist does not carry; not supported yet"
            )
        else:
            remarks.append(comment(f"rule {place} on temperature does not act and is left out"))
    return acting, remarks


def _delay_s(rule: Rule) -> float:
    return max(rule.delay_s, LEAST_DELAY_S)


def _rule_lines(
    battery: Battery, index: int, plus: str, acting: dict[int, Rule], max_step_s: float
) -> list[str]:
    """Return timers and the latching switch between the lead and the plus rail.

    A timer runs at 1 V/s while its condition holds, runs back at 2 / (longest step) otherwise,
    and for ever shortly before it reaches its delay: the switch must not decide, through the
    voltages that jump when it opens, whether it opens. ngspice shortens its steps where the
    control of a switch nears its threshold, to 0.05 V: the margin, magnified, controls an idle
    switch so that the beginning of the condition is met as sharply.
    """
    if not acting:
        return []
    lines, left_V = [], []
    for place, rule in acting.items():
        timer, margin, delay_s = f"t{index}r{place}", f"m{index}r{place}", _delay_s(rule)
        lines += _margin_lines(battery, index, rule, margin)
        back = f"-{number(2.0 / max_step_s)} * V({timer})"
        rise = f"((V({timer}) > {number(LATCH_SHARE * delay_s)}) || (V({margin}) < 0) ? 1 : {back})"
        scale = number(COUNTER_SCALE)
        lines += [f"C{timer} {timer} 0 {scale}", f"B{timer} 0 {timer} I = {scale} * {rise}"]
        left_V.append(f"{number(delay_s)} - V({timer})")
    lines.append(f"Bg{index} g{index} 0 V = {nested('min', left_V)}")
    lines.append(f"S{index} b{index}s {plus} g{index} 0 gate ON")
    return lines


def _margin_lines(battery: Battery, index: int, rule: Rule, margin: str) -> list[str]:
    """Return how far a rule is from its condition, magnified, and the idle switch it controls.

    The idle switch sees it through a short lag: a jump that ends just before the threshold
    would otherwise be cut into ever shorter steps.
    """
    value, limit = _watched(battery, index, rule.watches), number(rule.threshold)
    apart = f"({value}) - ({limit})" if rule.below else f"({limit}) - ({value})"
    gain = number(MARGIN_GAIN[rule.watches.unit])
    return [
        f"B{margin} {margin} 0 V = {gain} * ({apart})",
        f"R{margin} {margin} {margin}f {number(1.0 / COUNTER_SCALE)}",
        f"C{margin} {margin}f 0 {number(LAG_S * COUNTER_SCALE)}",
        f"S{margin} ref {margin}i {margin}f 0 gate ON",
        f"R{margin}i {margin}i 0 1",
    ]


def _watched(battery: Battery, index: int, watch: Watch) -> str:
    """Return the watched quantity as an expression."""
    name, count = f"b{index}", len(battery.cells)
    if watch is Watch.BATTERY_VOLTAGE:
        return f"V({name}t, {name}c0)"
    if watch is Watch.DISCHARGE_CURRENT:
        return f"I(V{name})"
    if watch is Watch.CHARGE_CURRENT:
        return f"-I(V{name})"
    cells = [f"V({name}c{place}, {name}c{place - 1})" for place in range(1, count + 1)]
    return nested("min" if watch is Watch.LOWEST_CELL else "max", cells)

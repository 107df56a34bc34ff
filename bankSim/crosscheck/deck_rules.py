"""Protection as a netlist: rules as latches, two switches with their diodes."""

from bankSim.crosscheck.deck_extremes import WATCHED, extreme
from bankSim.crosscheck.deck_latch import GATE, latch_lines, margin_lines
from bankSim.crosscheck.deck_words import nested, number
from bankSim.model.bank import Bank
from bankSim.model.battery import Battery
from bankSim.model.load import Load
from bankSim.model.rule import Blocks, Needs, Release, Rule, Watch

DIODE_SIEMENS = 1e5
KNEE_V = 1e-4
CHARGING_A = 1e-3
WAYS = {Blocks.DISCHARGE: "bd", Blocks.CHARGE: "bc"}


def rule_latches(battery: Battery, index: int) -> list[str]:
    """Return the names of the rules' latches, in file order."""
    return [f"{index}r{place}" for place in range(1, len(battery.rules) + 1)]


def blocked_nodes(battery: Battery, index: int) -> dict[Blocks, str]:
    """Return, for each direction that a rule may block, the node that is 1 while it is blocked."""
    blocks = [rule.blocks for rule in battery.rules]
    return {way: f"{node}{index}" for way, node in WAYS.items() if any(way & one for one in blocks)}


def rule_lines(
    battery: Battery, index: int, rails: tuple[str, str], bank: Bank, max_step_s: float
) -> list[str]:
    """Return latches, margins and switches between node b<k>s and the plus rail."""
    lines = []
    for name, rule in zip(rule_latches(battery, index), battery.rules, strict=True):
        if never_trips(rule, bank.temperature_K):
            lines.append(f"Rl{name} l{name} 0 1")
            continue
        value = _watched(battery, index, rule.watches, bank.temperature_K)
        lines += margin_lines(f"m{name}", _apart(value, rule.threshold, rule.below), _unit(rule))
        release = rule.release
        if release is None or release.needs is Needs.HAND:
            lines += latch_lines(name, f"V(m{name}) < 0", rule.delay_s, max_step_s)
            continue
        lines += margin_lines(f"n{name}", _apart(value, release.threshold, rule.below), _unit(rule))
        released = " && ".join(
            [f"(V(n{name}) > 0)", *_needed(release, battery, index, rails, bank)]
        )
        lines += latch_lines(
            name, f"V(m{name}) < 0", rule.delay_s, max_step_s, released, release.delay_s
        )
    return lines + _switch_lines(battery, index, rails[0], bank.temperature_K)


def never_trips(rule: Rule, temperature_K: float) -> bool:
    """Tell whether a rule watches a temperature, which stands still in a netlist, out of reach."""
    if rule.watches is not Watch.TEMPERATURE:
        return False
    apart_K = temperature_K - rule.threshold
    return apart_K >= 0.0 if rule.below else apart_K <= 0.0


def _unit(rule: Rule) -> str:
    return rule.watches.unit


def _apart(value: str, threshold: float, below: bool) -> str:
    """Return how far a value is on the safe side of a threshold."""
    limit = number(threshold)
    return f"({value}) - ({limit})" if below else f"({limit}) - ({value})"


def _needed(
    release: Release, battery: Battery, index: int, rails: tuple[str, str], bank: Bank
) -> list[str]:
    """Return what else must hold for a release."""
    if release.needs is Needs.CHARGING:
        plus, _ = rails
        flowing = f"(I(Vb{index}) < -{number(CHARGING_A)})"
        blocked = blocked_nodes(battery, index).get(Blocks.CHARGE)
        if blocked is None:
            return [flowing]
        return [f"({flowing} || ((V({blocked}) > 0.5) && (V({plus}) > V(b{index}s))))"]
    if release.needs is Needs.LOAD_REMOVED:
        return [_removed(place, load) for place, load in enumerate(bank.loads, start=1)]
    return []


def _removed(place: int, load: Load) -> str:
    """Return whether a load draws nothing: it is off, gives, or has cut itself off."""
    off = f"(V(a{place}) <= 0)"
    return off if load.cut_off is None else f"({off} || (V(lcut{place}) > 0.5))"


def _switch_lines(battery: Battery, index: int, plus: str, temperature_K: float) -> list[str]:
    """Return a switch with a body diode for every direction that may be blocked, in series.

    The diode of the discharge switch lets charge in, that of the charge switch lets it out: a
    constant drop and a straight line of 10 micro-ohm, joined by a bend: at a sharp edge the least
    current would be decided by the rounding of voltages.
    """
    lines, here = [], f"b{index}s"
    nodes = blocked_nodes(battery, index)
    for place, (way, node) in enumerate(nodes.items(), start=1):
        there = plus if place == len(nodes) else f"b{index}x"
        names = zip(rule_latches(battery, index), battery.rules, strict=True)
        latched = [
            f"V(l{name})"
            for name, rule in names
            if rule.blocks & way and not never_trips(rule, temperature_K)
        ]
        forward = (here, there) if way is Blocks.CHARGE else (there, here)
        beyond = f"(V({forward[0]}, {forward[1]}) - {number(battery.diode_drop_V)})"
        law = f"{number(DIODE_SIEMENS)} * {beyond} * {beyond} / ({beyond} + {number(KNEE_V)})"
        law = f"({beyond} > 0 ? {law} : 0)"
        lines += [
            f"B{node} {node} 0 V = {nested('max', latched or ['0'])}",
            f"B{node}g {node}g 0 V = 0.5 - V({node})",
            f"S{node} {here} {there} {node}g 0 {GATE} ON",
            f"B{node}d {forward[0]} {forward[1]} I = {law}",
        ]
        here = there
    return lines


def _watched(battery: Battery, index: int, watch: Watch, temperature_K: float) -> str:
    """Return the watched quantity as an expression."""
    name = f"b{index}"
    if watch is Watch.TEMPERATURE:
        return number(temperature_K)
    if watch is Watch.BATTERY_VOLTAGE:
        return f"V({name}t, {name}c0)"
    if watch is Watch.DISCHARGE_CURRENT:
        return f"I(V{name})"
    if watch is Watch.CHARGE_CURRENT:
        return f"-I(V{name})"
    return extreme(battery, index, WATCHED[watch])

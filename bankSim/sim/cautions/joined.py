"""What flows when batteries are first connected."""

from collections.abc import Iterator

from bankSim.model.bank import Bank
from bankSim.sim.at_rest import rest_voltage
from bankSim.sim.cautions.limits import Limit, limit_for
from bankSim.sim.joining_all import least_spread_V, rounded_down_V, safe_spreads
from bankSim.sim.joining_result import JoinedBattery, Joining
from bankSim.sim.numbers import listing, number, quoted, span
from bankSim.sim.result import Caution, Result

DO_NOT_MATCH = "voltages do not match"
MISMATCH_SHARE = 0.1  # rest voltages further apart than this do not belong in parallel
BRIEF_S = 0.1
TWO = 2
HALF = 0.5  # state of charge
MUCH_SHORTER = 0.5  # times the time above a label at joining, before that of the run is told
DO_NOT = "Do not connect them: they differ in number of cells or in chemistry."
RISE_MATTERS = 1.2  # times the first current, before another one is told
WORTH_MOVED = 0.01  # of the most that any battery gives or takes, to be told of another one
WORTH_PER_H = 0.2  # of the label capacity, as an exchange between batteries worth a word; a choice


def of_joining(result: Result) -> Iterator[Caution]:
    """Warn of voltages that do not match, and of what flows because of that."""
    bank = result.scenario.bank
    first = [] if result.joining is None else list(_of_first_connection(result, result.joining))
    yield from first
    for caution in _of_voltages(bank):
        if caution.severity == "danger" or not first:
            yield caution


def _of_voltages(bank: Bank) -> Iterator[Caution]:
    """Rest voltages far apart: a wrong battery if so when half charged, else a flat one."""
    ranked = sorted(bank.batteries, key=rest_voltage)
    low, high = rest_voltage(ranked[0]), rest_voltage(ranked[-1])
    if high <= low * (1.0 + MISMATCH_SHARE):
        return
    wrong = is_wrong(bank)
    advice = (
        DO_NOT if wrong else "Charge each battery by itself first; one that stays low is faulty."
    )
    yield Caution(
        DO_NOT_MATCH,
        "danger" if wrong else "warning",
        high - low,
        MISMATCH_SHARE * low,
        "V",
        f"At rest {quoted(ranked[-1].name)} has {number(high, 4)} V and {quoted(ranked[0].name)} "
        f"{number(low, 4)} V. Batteries this far apart do not belong in parallel"
        f"{'' if wrong else ' as they are'}.",
        advice,
    )


def is_wrong(bank: Bank) -> bool:
    """Tell whether voltages are far apart at half charge, too: other cells or another chemistry.

    Parameters
    ----------
    bank : Bank
    """
    half = sorted(rest_voltage(battery, HALF) for battery in bank.batteries)
    return half[-1] > half[0] * (1.0 + MISMATCH_SHARE)


def _of_first_connection(result: Result, joining: Joining) -> Iterator[Caution]:
    """Tell who carries too much when the bank is first bolted together, the worst first."""
    bank = result.scenario.bank
    above: list[tuple[JoinedBattery, Limit]] = []
    perhaps: list[tuple[JoinedBattery, Limit]] = []
    large: list[tuple[JoinedBattery, float]] = []
    for battery, one in zip(bank.batteries, joining.batteries, strict=True):
        limit, worth_A = limit_for(battery, one.first_A), WORTH_PER_H * battery.rated_C / 3600.0
        if limit is not None and abs(one.first_A) > limit.amperes:
            above.append((one, limit))
        elif limit is not None and _at_most_A(one) > limit.amperes:
            perhaps.append((one, limit))
        elif min(one.first_A, one.most_A) < -worth_A:
            large.append((one, worth_A))
    above.sort(key=lambda pair: -abs(pair[0].first_A) / pair[1].amperes)
    severities = {limit.severity_of(one.first_A, one.above_label_s) for one, limit in above}
    if above:
        worst, limit_A = above[0][0], above[0][1].amperes
    elif perhaps:
        worst, limit = max(perhaps, key=lambda pair: _at_most_A(pair[0]) / pair[1].amperes)
        limit_A = limit.amperes
    elif large:
        worst, limit_A = max(large, key=lambda pair: -pair[0].most_A / pair[1])
    else:
        return
    yield Caution(
        "current when first connected",
        "danger" if "danger" in severities else "warning",
        abs(worst.first_A),
        limit_A,
        "A",
        _first_text(result, joining, worst, above, perhaps),
        DO_NOT if is_wrong(bank) else _first_advice(bank, joining, worst),
    )


def _first_text(
    result: Result,
    joining: Joining,
    worst: JoinedBattery,
    above: list[tuple[JoinedBattery, Limit]],
    perhaps: list[tuple[JoinedBattery, Limit]],
) -> str:
    givers = [one for one in joining.batteries if one.first_A * worst.first_A < 0.0]
    others = listing(
        [f"{quoted(one.name)} ({number(one.rest_voltage_V, 4)} V at rest)" for one in givers]
    )
    own = f"{quoted(worst.name)} ({number(worst.rest_voltage_V, 4)} V at rest)"
    way = f"from {others} into {own}" if worst.first_A < 0.0 else f"from {own} into {others}"
    text = f"When first connected, about {number(abs(worst.first_A))} A flow {way}, before any load"
    told = [f"{_above(result, one, limit)}" for one, limit in above]
    text = f"{'; '.join([text, *told])}.{_at_most(worst, above + perhaps)} {_moved(joining)}."
    rules = [one.first_rule for one in (worst, *joining.batteries) if one.first_rule is not None]
    return f"{text} This makes a rule act: {rules[0]}" if rules else text


def _above(result: Result, one: JoinedBattery, limit: Limit) -> str:
    """How far a battery is above its label, as part of a sentence."""
    does = "takes" if one.first_A < 0.0 else "gives"
    how_long = " for moments"
    if one.above_label_s >= BRIEF_S:
        how_long = f" for {span(one.above_label_s)}{_in_this_run(result, one)}"
    return (
        f"{quoted(one.name)} {does} {number(abs(one.first_A))} A and is above its limit{how_long} "
        f"({limit.text})"
    )


def _in_this_run(result: Result, one: JoinedBattery) -> str:
    """Say that the run itself is shorter above the label: with loads a battery may stay out."""
    (own,) = [outcome for outcome in result.batteries if outcome.name == one.name]
    above_s = own.above_charge_label_s if one.first_A < 0.0 else own.above_discharge_label_s
    if one.first_rule is None and all(j.first_rule is None for j in _others(result, one)):
        return ""
    if above_s >= MUCH_SHORTER * one.above_label_s:
        return ""
    return f" in all without loads, {span(above_s)} in this run with its loads"


def _others(result: Result, one: JoinedBattery) -> list[JoinedBattery]:
    batteries = () if result.joining is None else result.joining.batteries
    return [other for other in batteries if other.name != one.name]


def _at_most_A(one: JoinedBattery) -> float:  # noqa: N802 - the unit as printed
    """Return the larger of both first currents in the way of the first one. [A]"""
    same_way = one.most_A * one.first_A > 0.0
    return max(abs(one.first_A), abs(one.most_A) if same_way else 0.0)


def _at_most(one: JoinedBattery, limits: list[tuple[JoinedBattery, Limit]]) -> str:
    """Say how much more it may be where the model's resistance is that of an empty cell."""
    most_A = _at_most_A(one)
    if most_A <= RISE_MATTERS * abs(one.first_A):
        return ""
    beyond = [
        f"; {quoted(other.name)} is above its limit then ({limit.text})"
        for other, limit in limits
        if abs(other.first_A) <= limit.amperes < _at_most_A(other)
    ]
    return (
        f" It may be up to {number(most_A, 2)} A: how much of the resistance near empty is there "
        f"in the first instant is not known{''.join(beyond)}."
    )


def _moved(joining: Joining) -> str:
    """Who gives and who takes how much, comings and goings included."""
    acted = any(one.first_rule is not None for one in joining.batteries)
    alone = "Without loads, their rules acting" if acted else "Left alone"
    net_Ah = [(one.given_Ah - one.taken_Ah, one.name) for one in joining.batteries]
    parts = [
        f"{quoted(name)} {'gives' if amount_Ah > 0.0 else 'takes'} {number(abs(amount_Ah))} Ah"
        for amount_Ah, name in sorted(net_Ah, key=lambda pair: -abs(pair[0]))
        if abs(amount_Ah) > WORTH_MOVED * max(abs(other_Ah) for other_Ah, _ in net_Ah)
    ]
    what = listing(parts) if parts else "next to nothing passes over"
    return f"{alone}, {what} within {span(joining.looked_at_s)}"


def _first_advice(bank: Bank, joining: Joining, worst: JoinedBattery) -> str:
    """Say how far apart they may be: two, or the one with the largest current and the others."""
    spreads = safe_spreads(bank)
    if len(spreads) == TWO:
        pair = joining.pairs[0]
        limit = min(spreads, key=lambda one: one.spread_V)
        between = f"{quoted(pair.fuller)} and {quoted(pair.emptier)}"
        ohms, any_two = "the least that both have at any charge", ""
    else:
        (limit,) = [one for one in spreads if one.battery == worst.name]
        between = f"{quoted(worst.name)} and the others, all joined at once,"
        ohms, any_two = "its own and theirs beside each other, the least at any charge", ""
        if least_spread_V(spreads) < limit.spread_V:
            any_two = f", between any two {rounded_down_V(least_spread_V(spreads))} V"
    return (
        "Charge each battery by itself first and let them rest, so that voltages match. By current "
        f"alone the limit for {between} is a difference of {rounded_down_V(limit.spread_V)} V "
        f"({number(limit.limit_A)} A through {number(1e3 * limit.through_ohm)} mohm, {ohms})"
        f"{any_two}, measured at rest after hours; makers often ask for less."
    )

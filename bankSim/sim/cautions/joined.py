"""What flows when batteries are first connected, and when one comes back."""

from collections.abc import Iterator

from bankSim.model.bank import Bank
from bankSim.sim.at_rest import rest_voltage
from bankSim.sim.cautions.limits import limit_for
from bankSim.sim.joining_pairs import rounded_down_V
from bankSim.sim.joining_result import JoinedBattery, JoinedPair, Joining, Return
from bankSim.sim.numbers import listed, number, span
from bankSim.sim.result import Caution, Result

MISMATCH_SHARE = 0.1  # rest voltages further apart than this do not belong in parallel
HALF = 0.5  # state of charge
WORTH_PER_H = 0.2  # of the label capacity, as an exchange between batteries worth a word; a choice


def of_joining(result: Result) -> Iterator[Caution]:
    """Warn of voltages that do not match, and of surges between batteries."""
    bank = result.scenario.bank
    first = [] if result.joining is None else list(_of_first_connection(bank, result.joining))
    yield from first
    for caution in _of_voltages(bank):
        if caution.severity == "danger" or not first:
            yield caution
    yield from _of_returns(bank, result.returns)


def _of_voltages(bank: Bank) -> Iterator[Caution]:
    """Rest voltages far apart: a wrong battery if so when half charged, else a flat one."""
    ranked = sorted(bank.batteries, key=rest_voltage)
    low, high = rest_voltage(ranked[0]), rest_voltage(ranked[-1])
    if high <= low * (1.0 + MISMATCH_SHARE):
        return
    half = sorted(rest_voltage(battery, HALF) for battery in bank.batteries)
    wrong = half[-1] > half[0] * (1.0 + MISMATCH_SHARE)
    advice = "Charge each battery by itself first; one that stays low is faulty."
    if wrong:
        advice = "Do not connect them: they differ in number of cells or in chemistry."
    yield Caution(
        "voltages do not match",
        "danger" if wrong else "warning",
        high - low,
        MISMATCH_SHARE * low,
        "V",
        f"At rest {ranked[-1].name} has {number(high, 4)} V and {ranked[0].name} "
        f"{number(low, 4)} V. Batteries this far apart do not belong in parallel"
        f"{'' if wrong else ' as they are'}.",
        advice,
    )


def _of_first_connection(bank: Bank, joining: Joining) -> Iterator[Caution]:
    """Tell of the battery that is hit hardest when the bank is first bolted together."""
    rows = []
    for battery, one in zip(bank.batteries, joining.batteries, strict=True):
        limit, worth_A = limit_for(battery, one.first_A), WORTH_PER_H * battery.rated_C / 3600.0
        if limit is not None and abs(one.first_A) > limit.amperes:
            rows.append((abs(one.first_A) / limit.amperes, limit.severity, limit.amperes, one))
        elif one.first_A < 0.0 and -one.first_A > worth_A:
            rows.append((-one.first_A / worth_A / 1e3, "warning", worth_A, one))
    if rows:
        _, severity, limit_A, worst = max(rows, key=lambda row: row[0])
        yield Caution(
            "current when first connected",
            severity,
            abs(worst.first_A),
            limit_A,
            "A",
            _first_text(joining, worst),
            _first_advice(joining, worst),
        )


def _first_text(joining: Joining, worst: JoinedBattery) -> str:
    givers = [one for one in joining.batteries if one.first_A * worst.first_A < 0.0]
    others = listed([f"{one.name} ({number(one.rest_voltage_V, 4)} V at rest)" for one in givers])
    own = f"{worst.name} ({number(worst.rest_voltage_V, 4)} V at rest)"
    way = f"from {others} into {own}" if worst.first_A < 0.0 else f"from {own} into {others}"
    text = f"When first connected, about {number(abs(worst.first_A))} A flow {way}, before any load"
    if worst.limit_A is not None and worst.above_label_s > 0.0:
        text += f"; {worst.name} is above its limit of {number(worst.limit_A)} A for "
        text += span(worst.above_label_s)
    moved = max(worst.given_Ah, worst.taken_Ah)
    text += f". {number(moved)} Ah pass over within {span(joining.looked_at_s)}."
    return text if worst.first_rule is None else f"{text} This makes a rule act: {worst.first_rule}"


def _first_advice(joining: Joining, worst: JoinedBattery) -> str:
    advice = "Charge each battery by itself first and let them rest, so that voltages match."
    pair = _pair_of(joining, worst)
    if pair is None:
        return advice
    return (
        f"{advice} By current alone the limit for {pair.fuller} and {pair.emptier} is a difference "
        f"of {rounded_down_V(pair.safe_difference_V)} V, measured at rest after hours; makers "
        "often ask for less."
    )


def _pair_of(joining: Joining, worst: JoinedBattery) -> JoinedPair | None:
    """Return the pair of this battery that is furthest apart."""
    own = [pair for pair in joining.pairs if worst.name in (pair.fuller, pair.emptier)]
    return max(own, key=lambda pair: pair.difference_V, default=None)


def _of_returns(bank: Bank, returns: tuple[Return, ...]) -> Iterator[Caution]:
    """Tell of the worst surge at the return of each battery."""
    worst: dict[str, tuple[tuple[int, float], Caution]] = {}
    for back in returns:
        for rank, caution in _surges(bank, back):
            if back.battery not in worst or rank > worst[back.battery][0]:
                worst[back.battery] = rank, caution
    for _, caution in worst.values():
        yield caution


def _surges(bank: Bank, back: Return) -> Iterator[tuple[tuple[int, float], Caution]]:
    """Rank the surge of one return: who is pushed above a label, else what is exchanged."""
    rows: list[tuple[float, str, float, float, str]] = []
    for battery, before, after in zip(
        bank.batteries, back.currents_A, back.currents_after_A, strict=True
    ):
        limit, jump_A = limit_for(battery, after), WORTH_PER_H * battery.rated_C / 3600.0
        if limit is None or abs(after) <= limit.amperes:
            continue
        if abs(after) - abs(before) > jump_A:
            text = f"{battery.name} jumps to {number(abs(after))} A; {limit.text}."
            ratio = abs(after) / limit.amperes
            rows.append((ratio, limit.severity, abs(after), limit.amperes, text))
    if rows:
        ratio, severity, value, limit_A, text = max(rows)
        yield (2, ratio), _surge(back, severity, value, limit_A, text)
        return
    given = sum(max(amps, 0.0) for amps in back.currents_after_A)
    exchanged = min(given, given - sum(back.currents_after_A))
    worth_A = WORTH_PER_H * min(battery.rated_C for battery in bank.batteries) / 3600.0
    own = back.currents_after_A[[one.name for one in bank.batteries].index(back.battery)]
    if min(exchanged, abs(own)) > worth_A:
        text = f"{number(exchanged)} A flow from battery to battery."
        yield (1, exchanged / worth_A), _surge(back, "warning", exchanged, worth_A, text)


def _surge(back: Return, severity: str, value: float, limit: float, text: str) -> Caution:
    who = ""
    if back.gives and back.takes:
        who = f" {listed(back.gives)} {_verb(back.gives, 'give')}, "
        who += f"{listed(back.takes)} {_verb(back.takes, 'take')} charge."
    allowed = "charge and discharge" if back.direction == "both" else back.direction
    return Caution(
        "surge when one comes back",
        severity,
        value,
        limit,
        "A",
        f"When {back.battery} allows {allowed} again after {span(back.time_s)}, {text}{who} In the "
        f"next {span(back.looked_at_s)} {back.battery} {_passes(back)}.",
        "Keep the batteries' thresholds so that none drops out alone: charge to a voltage that all "
        "accept, and disconnect loads before the first one cuts out.",
    )


def _passes(back: Return) -> str:
    """What the battery that came back then did."""
    done = f"{'gives' if back.given_Ah >= 0.0 else 'takes'} {number(abs(back.given_Ah))} Ah"
    if back.above_label_s > 0.0:
        done += f" and is above its label for {span(back.above_label_s)}"
    return done


def _verb(names: tuple[str, ...], verb: str) -> str:
    return f"{verb}s" if len(names) == 1 else verb

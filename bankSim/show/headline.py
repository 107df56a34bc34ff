"""The answer in a few sentences; the text, the page and the screen all begin with it."""

from bankSim.show.causes import cause, cut_outs
from bankSim.show.words import after, counted, listing, number, quoted, span, whole_or
from bankSim.sim.result import ALL_OVER, COLLAPSE, EMPTY, REFUSED, Event, Result

FOLLOWERS_TOLD = 3
CLOSE_SHARE = 0.05
IDLE_FRACTION = 1e-6
SEVERITIES = ("danger", "warning", "note")


def headline(result: Result) -> list[str]:
    """Return 2 to 5 sentences: what the bank gives, who cuts out and why, what to beware of."""
    sentences = [_yield(result), *_ending(result), *_cut_outs(result), *_left_behind(result)]
    return [*sentences, *_beware(result)]


def delivers(result: Result) -> bool:
    """True when a charge worth naming leaves the bank through the take-off."""
    return result.bank.delivered_Ah > IDLE_FRACTION * labels_Ah(result)


def charges(result: Result) -> bool:
    """True when a charge worth naming enters the bank through the take-off."""
    return result.bank.charged_Ah > IDLE_FRACTION * labels_Ah(result)


def labels_Ah(result: Result) -> float:  # noqa: N802 - the unit as printed
    """Sum of the labels. [Ah]"""
    return sum(battery.rated_Ah for battery in result.batteries)


def _yield(result: Result) -> str:
    """Say what came out (and went in), of how much, and how long it took."""
    given = f"{number(result.bank.delivered_Ah)} Ah of the {whole_or(labels_Ah(result))} Ah"
    taken = f"takes in {number(result.bank.charged_Ah)} Ah"
    time = span(result.bank.runtime_s)
    if delivers(result) and charges(result):
        return f"The bank delivers {given} on the labels and {taken} in {time}."
    if delivers(result):
        return f"The bank delivers {given} on the labels in {time}."
    if charges(result):
        return f"The bank {taken} in {span(result.end_time_s)}."
    return _nothing_drawn(result)


def _nothing_drawn(result: Result) -> str:
    """Say what the batteries do among themselves."""
    if result.end_reason == COLLAPSE or (cut_outs(result) and result.end_reason == EMPTY):
        return "The bank delivers nothing."
    moved = sum(battery.delivered_Ah for battery in result.batteries)
    peak = max(battery.peak_discharge_A for battery in result.batteries)
    if moved <= IDLE_FRACTION * labels_Ah(result):
        return f"Nothing flows during the {span(result.end_time_s)}."
    return (
        f"Nothing is drawn from the bank; {number(moved)} Ah flow between its batteries in "
        f"{span(result.end_time_s)}, {number(peak)} A at most."
    )


def _ending(result: Result) -> list[str]:
    if result.end_reason == COLLAPSE or any(event.what == COLLAPSE for event in result.events):
        return ["It ends because the load asks for more power than the bank can give."]
    if any(event.what == REFUSED for event in result.events):
        return ["It ends because the bank cannot take the charging current any more."]
    fed = result.bank.runtime_s >= result.end_time_s * (1.0 - 1e-9)
    if result.end_reason == ALL_OVER and fed and delivers(result):
        return ["At the end of that time the loads are still fed."]
    return []


def _cut_outs(result: Result) -> list[str]:
    """Say who goes first and why, then the others in order."""
    order = cut_outs(result)
    if not order:
        return ["No battery cuts out."]
    first, others = order[0], order[1:]
    sentence = f"{_who(first)} cuts out first, " if others else f"{_who(first)} cuts out "
    sentences = [f"{sentence}{after(first.time_s)}, because {cause(result, first)}."]
    for before, event in zip(order, others[:FOLLOWERS_TOLD], strict=False):
        sentences.append(f"{_who(event)} follows {_then(before, event)}: {cause(result, event)}.")
    rest = others[FOLLOWERS_TOLD:]
    if rest:
        names = [_who(event) for event in rest]
        sentences.append(f"Then {listing(names, 3)}, the last {after(rest[-1].time_s)}.")
    return sentences


def _then(before: Event, event: Event) -> str:
    """Say when, from the one before where the two are close together."""
    gap_s = event.time_s - before.time_s
    if gap_s < 0.5e-3:
        return "at the same instant"
    close = gap_s < CLOSE_SHARE * event.time_s
    return f"{span(gap_s)} later" if close else after(event.time_s)


def _who(event: Event) -> str:
    return quoted(event.battery or "")


def _left_behind(result: Result) -> list[str]:
    """Name the charge that unequal cells lock in, when it is worth a sentence."""
    stranded = sum(battery.stranded_Ah for battery in result.batteries)
    if not cut_outs(result) or stranded < 0.005 * labels_Ah(result):
        return []
    return [f"{number(stranded)} Ah stay locked in cells that are fuller than their weakest one."]


def _beware(result: Result) -> list[str]:
    """Count the cautions, worst first."""
    counts = [(sum(c.severity == kind for c in result.cautions), kind) for kind in SEVERITIES]
    named = [counted(count, kind) for count, kind in counts if count]
    return [f"Look at the cautions below: {listing(named)}."] if named else []

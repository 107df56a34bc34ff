"""What came out differently, in words: charge, hours, who cuts out first, dangers."""

from bankSim.show.causes import cause, cut_outs, first_names
from bankSim.show.loads_off import loads_off
from bankSim.sim.numbers import after, clean, listing, quoted, sentence, span
from bankSim.sim.result import ALL_OVER, Result

SLIGHT = 5e-4  # of the larger number: closer ones are told as the same
STRANDED_PART = 0.002  # of the labels: less locked-in charge is not told
MOST_LOADS = 3
SEVERITIES = ("danger", "warning")


def differences(before: Result, after_it: Result) -> list[str]:
    """Say what changed from one run to another, the answer first.

    Parameters
    ----------
    before, after_it : Result
        Of the same batteries.

    Returns
    -------
    lines : list of str
        Sentences; names in them are as people wrote them.
    """
    return [
        charge_line(before, after_it),
        *hours_line(before, after_it),
        *load_lines(before, after_it),
        *first_line(before, after_it),
        *stranded_line(before, after_it),
        *caution_lines(before, after_it),
    ]


def charge_line(before: Result, now: Result) -> str:
    """Compare what the bank delivers; what it takes in where it has no loads."""
    if before.scenario.bank.loads or now.scenario.bank.loads:
        return (
            f"The bank delivers {compared(before.bank.delivered_Ah, now.bank.delivered_Ah, 'Ah')}."
        )
    return f"The bank takes in {compared(before.bank.charged_Ah, now.bank.charged_Ah, 'Ah')}."


def compared(was: float, now: float, unit: str, more: str = "more", less: str = "less") -> str:
    """Say a number beside a former one: "168.2 Ah, 6.4 Ah less (174.6 Ah before)".

    Both in the unit of the answer.
    """
    scale = max(abs(was), abs(now))
    old, new = digits(was, scale), digits(now, scale)
    if old == new or abs(now - was) <= SLIGHT * scale:
        return f"{new} {unit}, as before" if scale else "nothing, as before"
    gap = digits(abs(float(new) - float(old)), scale)
    return f"{new} {unit}, {gap} {unit} {more if now > was else less} ({old} {unit} before)"


def digits(value: float, scale: float) -> str:
    """Round a number beside others as large as `scale`: one decimal from 10 on. [any unit]"""
    return f"{value:.{1 if scale >= 10.0 else 2 if scale >= 1.0 else 3}f}"


def hours_line(before: Result, now: Result) -> list[str]:
    """Compare how long the loads are fed."""
    if not now.scenario.bank.loads:
        return []
    ends = [fed_to_the_end(result) for result in (before, now)]
    was_h, now_h = (result.bank.runtime_s / 3600.0 for result in (before, now))
    but = ", except those that cut themselves off" if loads_off(now) else ""
    if all(ends):
        return [f"The loads are fed to the end of the {span(now.end_time_s)}{but}, as before."]
    if ends[1]:
        return [
            f"The loads are now fed to the end of the {span(now.end_time_s)}{but}; "
            f"before, for {span(before.bank.runtime_s)}."
        ]
    if ends[0]:
        return [
            f"The loads are fed for {span(now.bank.runtime_s)} only; before, to the end of the "
            f"{span(before.end_time_s)}."
        ]
    return [f"The loads are fed for {compared(was_h, now_h, 'h', 'longer', 'shorter')}."]


def fed_to_the_end(result: Result) -> bool:
    """Tell whether the loads are fed for the whole duration."""
    whole = result.bank.runtime_s >= result.end_time_s * (1.0 - 1e-9)
    return result.end_reason == ALL_OVER and whole


def load_lines(before: Result, now: Result) -> list[str]:
    """Say when loads cut themselves off, and when they did before."""
    old, new = (
        {name: times[0] for name, times in loads_off(result).items()} for result in (before, now)
    )
    lines = []
    for name in list(dict.fromkeys([*new, *old]))[:MOST_LOADS]:
        was = f"before, {after(old[name])}" if name in old else "before, it did not"
        if name in new:
            lines.append(f"The load {quoted(name)} cuts itself off {after(new[name])}; {was}.")
        else:
            lines.append(f"The load {quoted(name)} no longer cuts itself off; {was}.")
    return lines


def first_line(before: Result, now: Result) -> list[str]:
    """Say who cuts out first, when and why, and who did before."""
    old, new = first_names(before), first_names(now)
    if not old and not new:
        return ["No battery cuts out, as before."]
    if not new:
        return [f"No battery cuts out any more; before, {_named(old)} did {_when(before)}."]
    told, cut = _why(now, new), "cuts out first" if len(new) == 1 else "cut out first"
    if not old:
        return [f"Now {_named(new)} {cut}, {_when(now)}: {told}. Before, none did."]
    if set(old) != set(new):
        return [
            f"Now {_named(new)} {cut}, {_when(now)}: {told}. Before, "
            f"{'it was' if len(old) == 1 else 'these were'} {_named(old)}, {_when(before)}."
        ]
    return [f"{sentence(_named(new))} still {cut}, {_when(now)} ({_when(before)} before): {told}."]


def _named(names: list[str]) -> str:
    return listing([quoted(name) for name in names], 3)


def _when(result: Result) -> str:
    return after(cut_outs(result)[0].time_s)


def _why(result: Result, names: list[str]) -> str:
    """Say why; of several at once, why one of them does."""
    event = cut_outs(result)[0]
    why = clean(cause(result, event, readings=False))
    return why if len(names) == 1 else f"of {quoted(event.battery or '')} {why}"


def stranded_Ah(result: Result) -> float:  # noqa: N802 - the unit as printed
    """Return the charge that unequal cells lock in at the end, of all batteries. [Ah]"""
    return sum(battery.stranded_Ah for battery in result.batteries)


def stranded_line(before: Result, now: Result) -> list[str]:
    """Compare what stays locked in fuller cells; nothing where it is little both times."""
    was, is_now = stranded_Ah(before), stranded_Ah(now)
    labels = sum(battery.rated_Ah for battery in now.batteries)
    if max(was, is_now) < STRANDED_PART * labels:
        return []
    told = compared(was, is_now, "Ah")
    return [f"Locked in cells that are fuller than their weakest one: {told}."]


def caution_lines(before: Result, now: Result) -> list[str]:
    """Name dangers and warnings that came or went, the dangers first."""
    old, new = worst_of(before), worst_of(now)
    lines = []
    for severity in SEVERITIES:
        came = [topic for topic, own in new.items() if own == severity and old.get(topic) != own]
        gone = [topic for topic, own in old.items() if own == severity and new.get(topic) != own]
        word = severity.upper() if severity == "danger" else severity
        if came:
            lines.append(f"New {word}: {listing([clean(one) for one in came])}.")
        if gone:
            told = [f"{clean(one)}{_instead(new.get(one))}" for one in gone]
            lines.append(f"No longer a {severity}: {listing(told)}.")
    return lines


def _instead(severity: str | None) -> str:
    return f" (now a {severity})" if severity else ""


def worst_of(result: Result) -> dict[str, str]:
    """Return the worst severity of every caution's topic."""
    order = (*SEVERITIES, "note")
    found: dict[str, str] = {}
    for one in sorted(result.cautions, key=lambda caution: order.index(caution.severity)):
        found.setdefault(one.topic, one.severity)
    return found

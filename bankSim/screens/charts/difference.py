"""Before and after a change: Ah, hours and locked-in charge."""

from dataclasses import dataclass

from bankSim.screens.charts.bars import Bar, Group, Part, draw_groups, hatched
from bankSim.screens.charts.frame import Spec
from bankSim.screens.charts.look import LIGHT, Look
from bankSim.screens.charts.text import safe_text
from bankSim.sim.numbers import number, quoted
from bankSim.sim.result import BatteryOutcome, Result

BEFORE, NOW = "before", "now"
BAR_PX = 13.0
QUANTITIES = ("Ah", "hours")
LEAST = 5e-4  # a change
WORTH = 0.02  # Ah: of less there is no bar to see


@dataclass(frozen=True, slots=True)
class Change:
    """One number before and now; None where there is none.

    Parameters
    ----------
    what : str
    unit : str
    before, now : float or None
        In `unit`.
    """

    what: str
    unit: str
    before: float | None
    now: float | None

    @property
    def counts(self) -> bool:
        """Tell whether there is anything before or now; a cut-out counts however early."""
        known = [one for one in (self.before, self.now) if one is not None]
        return any(self.unit == "h" or abs(one) > WORTH for one in known)

    @property
    def words(self) -> str:
        """As in "bank delivers: 163 Ah, now 171 (+8.10)"."""
        if self.before is None or self.now is None:
            known = self.now if self.before is None else self.before
            which = "only now" if self.before is None else "only before"
            return f"{self.what}: {number(known)} {self.unit}, {which}"
        gap = self.now - self.before
        told = f"{self.what}: {number(self.before)} {self.unit}"
        if abs(gap) < LEAST:
            return f"{told}, unchanged"
        sign = "+" if gap > 0.0 else "-"
        return f"{told}, now {number(self.now)} ({sign}{number(abs(gap))})"


def changes(before: Result, after: Result, quantity: str) -> list[Change]:
    """Return what is compared: of the bank first, then of every battery by its name.

    Parameters
    ----------
    before, after : Result
    quantity : str
        "Ah" or "hours".
    """
    if quantity == "hours":
        found = [
            Change(
                "loads are fed", "h", before.bank.runtime_s / 3600.0, after.bank.runtime_s / 3600.0
            )
        ]
    else:
        found = [Change("bank delivers", "Ah", before.bank.delivered_Ah, after.bank.delivered_Ah)]
    then, now = ({one.name: one for one in run.batteries} for run in (before, after))
    for name in dict.fromkeys([*then, *now]):
        found += _of_battery(quoted(name), then.get(name), now.get(name), quantity)
    return found[:1] + [one for one in found[1:] if one.counts]


def _of_battery(
    name: str, then: BatteryOutcome | None, now: BatteryOutcome | None, quantity: str
) -> list[Change]:
    if quantity == "hours":
        return [Change(f"{name} cuts out at", "h", _out_h(then), _out_h(now))]
    return [
        Change(f"{name} delivers", "Ah", *_each(then, now, "delivered_Ah")),
        Change(f"{name}: locked in", "Ah", *_each(then, now, "stranded_Ah")),
    ]


def _each(
    then: BatteryOutcome | None, now: BatteryOutcome | None, what: str
) -> tuple[float | None, float | None]:
    return (
        None if then is None else float(getattr(then, what)),
        None if now is None else float(getattr(now, what)),
    )


def _out_h(battery: BatteryOutcome | None) -> float | None:
    event = None if battery is None else battery.first_cut_out
    return None if event is None else event.time_s / 3600.0


def difference_bars(
    before: Result, after: Result, look: Look = LIGHT, quantity: str = "Ah"
) -> Spec:
    """Draw what the bank and each battery did before and do now, in pairs of bars.

    Parameters
    ----------
    before, after : Result
        Batteries are matched by name; one that only one of them has is shown alone.
    look : Look
    quantity : str
        "Ah" (delivered and locked in) or "hours" (loads fed, cut-outs).
    """
    looks = {BEFORE: hatched(look, look.quiet, "/"), NOW: hatched(look, look.colour(0), "")}
    groups = [_group(change) for change in changes(before, after, quantity)]
    title = "charge [Ah]" if quantity == "Ah" else "time from the start [h]"
    return draw_groups(groups, looks, title, look)


def _group(change: Change) -> Group:
    bars = tuple(
        Bar(BAR_PX, (Part(0.0, value, which, f"{which} {number(value)} {change.unit}"),))
        for which, value in ((BEFORE, change.before), (NOW, change.now))
        if value is not None
    )
    return Group((safe_text(change.words, 60),), bars)


def difference_words(before: Result, after: Result, quantity: str = "Ah") -> str:
    """Return what `difference_bars` shows, in a sentence or two."""
    told = [change.words for change in changes(before, after, quantity)]
    return f"Before and after the change: {'; '.join(told)}."

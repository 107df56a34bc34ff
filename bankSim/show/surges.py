"""What flows at the instant at which batteries come back."""

from bankSim.show.episodes import Episode
from bankSim.sim.numbers import listing, number, quoted
from bankSim.sim.result import Result

SURGE_PER_H = 0.01
FROM_SHARE = 0.2
MOST_TOLD = 3
SHOWN_A = 5e-3


def surges(result: Result, group: list[Episode]) -> str:
    """Say what those that come back at one instant give or take at once, the largest first."""
    sized = sorted(group, key=lambda one: -one.jump_A())
    loud = [one for one in sized if is_loud(result, one)]
    if not loud:
        return "the currents hardly change at once"
    lone = len(group) == 1
    texts = [
        f"{'it' if lone else quoted(result.batteries[one.battery].name)} {jump(one)}"
        for one in loud[:MOST_TOLD]
    ]
    return listing(texts) + (_other_side(result, loud[0]) if lone else "")


def jump(one: Episode) -> str:
    """As in "gives 38.5 A at once (3.91 A before)"."""
    after, before = one.surge_A(), one.before_A()
    same_way = before * after > 0.0 and abs(before) >= SHOWN_A
    verb = "gives" if after > 0.0 else "takes"
    return f"{verb} {number(abs(after))} A at once" + (
        f" ({number(abs(before))} A before)" if same_way else ""
    )


def is_loud(result: Result, one: Episode) -> bool:
    """Tell whether the current jumps by more than a hundredth of the label per hour."""
    return one.jump_A() > SURGE_PER_H * result.batteries[one.battery].rated_Ah


def _other_side(result: Result, one: Episode) -> str:
    """Name the battery on the other side of the surge, if it has a good part of it."""
    assert one.opened is not None
    sign = -1.0 if one.surge_A() > 0.0 else 1.0
    others = [
        (sign * amps, place)
        for place, amps in enumerate(one.opened.currents_after_A)
        if place != one.battery
    ]
    amps, other = max(others, default=(0.0, 0))
    if amps < FROM_SHARE * abs(one.surge_A()):
        return ""
    name = quoted(result.batteries[other].name)
    verb = "takes" if one.surge_A() > 0.0 else "gives"
    return f", {name} {verb} {number(amps)} A"

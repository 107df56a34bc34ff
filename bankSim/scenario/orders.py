"""Which values of the file must keep an order or a range beside that of their own key.

The checks of one scenario look at single values (`*_checks.py`); these are the same rules, written
so that all values of a spread can be held against them.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from bankSim.model.rule import Watch
from bankSim.scenario.glossary import QUANTITIES
from bankSim.scenario.keys import ScenarioKeys, SwingKeys
from bankSim.scenario.keys_battery import BatteryKeys, RuleKeys
from bankSim.scenario.lines import Path
from bankSim.scenario.plausible import highest_limit, plausible_bank_voltage
from bankSim.scenario.rule_checks import plausible_limit

Range = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Order:
    """Two values of which a sum must stay at or below a limit.

    Parameters
    ----------
    paths : (path, path)
        The keys.
    signs : (int, int)
        1 or -1: the sum is signs[0] x one + signs[1] x other. "Less than" is (1, -1).
    most : float
        The limit, in the unit of the keys.
    trouble : str
        What one would do beside the other, `{}`, without the order.
    """

    paths: tuple[Path, Path]
    signs: tuple[int, int] = (1, -1)
    most: float = 0.0
    trouble: str = "would pass {}"


def orders_of(keys: ScenarioKeys) -> Iterator[Order]:
    """Yield what must stay in order; also for keys that are not given."""
    for number, battery in enumerate(keys.battery):
        where: Path = ("battery", number)
        for place in range(len(battery.protection or ())):
            rule = (*where, "protection", place)
            yield _less(rule, "trips_below", "releases_above")
            yield _less(rule, "releases_below", "trips_above")
        yield _less((*where, "heater"), "on_below_C", "off_above_C")
    for number, _ in enumerate(keys.load):
        yield _less(("load", number), "cut_off_V", "restart_V")
    for number, charger in enumerate(keys.charger):
        for place in range(len(charger.stages or ())):
            tail: Path = ("charger", number, "stages", place, "until_tail_A")
            yield Order((tail, ("charger", number, "limit_A")))
    if isinstance(keys.surroundings.temperature_C, SwingKeys):
        here: Path = ("surroundings", "temperature_C")
        both = (*here, "mean_C"), (*here, "swing_C")
        quantity = QUANTITIES["temperature_C"]
        trouble = f"with {{}} would leave {quantity.allowed}"
        yield Order(both, (1, 1), quantity.highest, trouble)
        yield Order(both, (-1, 1), -quantity.lowest, trouble)


def ranges_of(keys: ScenarioKeys) -> Iterator[tuple[Path, Range]]:
    """Yield the plausible range of keys for which it is narrower than that of their quantity."""
    for number, battery in enumerate(keys.battery):
        yield from _of_battery(battery, ("battery", number))
    bank_V = plausible_bank_voltage(keys.battery)
    if bank_V is None:
        return
    for number, _ in enumerate(keys.load):
        for name in ("cut_off_V", "restart_V"):
            yield ("load", number, name), bank_V
    for number, charger in enumerate(keys.charger):
        yield ("charger", number, "hold_V"), bank_V
        for place in range(len(charger.stages or ())):
            yield ("charger", number, "stages", place, "hold_V"), bank_V


def _of_battery(battery: BatteryKeys, path: Path) -> Iterator[tuple[Path, Range]]:
    cells = battery.cells_in_series or 1
    for place, rule in enumerate(battery.protection or ()):
        low, high, _ = plausible_limit(Watch(rule.watches), cells)
        for name in RuleKeys.model_fields:
            if name.startswith(("trips_", "releases_")):
                yield (*path, "protection", place, name), (low, high)
    yield (*path, "balancer", "starts_above_V"), (0.0, highest_limit(cells))


def _less(path: Path, lower: str, upper: str) -> Order:
    return Order(((*path, lower), (*path, upper)))

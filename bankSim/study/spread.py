"""``study spread``: what the bank will do when nobody knows its cells exactly."""

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from bankSim.errors import ParameterError
from bankSim.kernels.arrays import Floats
from bankSim.model.load import Flags
from bankSim.sim.run import END_REASON
from bankSim.study.answers import BANK, CHARGED, RUNTIME, main_answer
from bankSim.study.blocks import Draws, Workers, run_draws
from bankSim.study.outcomes import END, FIRST, NOBODY, TOGETHER, battery_column
from bankSim.study.plan import Plan, ready
from bankSim.study.statistics import Estimate, chance, percentile
from bankSim.study.store import Store
from bankSim.study.traced import Traced, trace_draws

PERCENTS = (5.0, 25.0, 50.0, 75.0, 95.0)
MOST_DRAWS, TRACED_DRAWS = 10_000, 100
LEAST_DRAWS = 400  # before precision is judged
PRECISION_AH, PRECISION_CHANCE = 0.005, 0.03  # of the median; as a part
LOOK_AGAIN = 1.2  # precision is judged each time the draws have grown by this
MOST_ORDERS = 6


@dataclass(frozen=True, slots=True)
class Precision:
    """When enough draws have been made.

    Parameters
    ----------
    Ah : float
        Of the 5, 50 and 95 % points of the bank's Ah (without a load: of those it takes in), as a
        part of the median.
    chance : float
        Of the chance of each battery to cut out first.
    """

    Ah: float = PRECISION_AH
    chance: float = PRECISION_CHANCE


@dataclass(frozen=True, slots=True)
class Band:
    """One number of all draws.

    Parameters
    ----------
    text, unit : str
    central : float or None
        Of the single run with all values in the middle; None when it has none. In `unit`.
    percentiles : tuple of Estimate
        At `PERCENTS`.
    count : int
        Draws that have such a number.
    """

    text: str
    unit: str
    central: float | None
    percentiles: tuple[Estimate, ...]
    count: int


@dataclass(frozen=True, slots=True)
class BatteryChances:
    """How one battery fares.

    Parameters
    ----------
    name : str
    delivered, charged : Band
        Ah out of it and into it.
    cut_out_h : Band or None
        Hours until it first cuts out, of the draws in which it does.
    voltage : Band or None
        At its terminals when it first cuts out.
    stranded : Band
        Ah locked in behind its weakest cell at the end.
    first, at_all : Estimate
        Chance to cut out before all others, and to cut out at all.
    cells : tuple of Estimate
        Chance of each cell to be the one that decided, of all draws.
    """

    name: str
    delivered: Band
    charged: Band
    cut_out_h: Band | None
    voltage: Band | None
    stranded: Band
    first: Estimate
    at_all: Estimate
    cells: tuple[Estimate, ...]


@dataclass(frozen=True, slots=True)
class OrderChance:
    """How often the batteries cut out in one order.

    Parameters
    ----------
    names : tuple of (tuple of str)
        First to last, those that cut out at once together; those that never cut out
        are left out.
    chance : Estimate
    """

    names: tuple[tuple[str, ...], ...]
    chance: Estimate


@dataclass(frozen=True, eq=False)
class SpreadResult:
    """All that `study spread` finds.

    Parameters
    ----------
    draws : Draws
    asked : Precision
    reached : bool
        False: the most draws allowed were made before the precision was there.
    bank, charged, runtime : Band
        Ah out of the bank and into it, hours until the loads are fed no longer.
    batteries : tuple of BatteryChances
    nobody, together : Estimate
        Chance that no battery cuts out, and that several are the first, all at once.
    fed : Estimate
        Chance that the loads are fed to the end of the run.
    orders : tuple of OrderChance
        The most frequent ones.
    ends : tuple of (str, Estimate)
        Why a run ends.
    traced : Traced
    """

    draws: Draws
    asked: Precision
    reached: bool
    bank: Band
    charged: Band
    runtime: Band
    batteries: tuple[BatteryChances, ...]
    nobody: Estimate
    together: Estimate
    fed: Estimate
    orders: tuple[OrderChance, ...]
    ends: tuple[tuple[str, Estimate], ...]
    traced: Traced

    @property
    def main(self) -> Band:
        """What the bank is there for: Ah delivered; where it has no load, Ah taken in."""
        is_charged = main_answer(self.draws.plan.scenario.bank) == CHARGED
        return self.charged if is_charged else self.bank


def study_spread(
    plan: Plan,
    workers: Workers,
    *,
    store: Store | None = None,
    most: int = MOST_DRAWS,
    precision: Precision = Precision(),
    traced: int = TRACED_DRAWS,
    progress: Callable[[str, int, int], None] | None = None,
) -> SpreadResult:
    """March draws until the answer is precise enough, and sum them up.

    Parameters
    ----------
    plan : Plan
    workers : Workers
    store : Store, optional
        Keeps finished blocks.
    most : int
        Draws at most.
    precision : Precision
    traced : int
        Draws that are run again in full, for cautions and timelines.
    progress : callable, optional
        Told what is being done, how many are finished, and how many there are at most.
    """

    def tell(what: str, total: int) -> Callable[[int], None] | None:
        return None if progress is None else lambda done: progress(what, done, total)

    if traced < 1:
        raise ParameterError("traced", traced, "1 or more")
    judge = _Judge(precision)
    draws = run_draws(plan, most, workers, store, enough=judge, progress=tell("draws", most))
    full = min(traced, draws.count)
    told = trace_draws(plan, full, workers, tell("stories", full))
    return _summed_up(draws, precision, told)


class _Judge:
    """Tells when there are enough draws; looks less and less often."""

    def __init__(self, precision: Precision) -> None:
        self.precision, self.next = precision, LEAST_DRAWS

    def __call__(self, draws: Draws) -> bool:
        if draws.count < self.next:
            return False
        self.next = math.ceil(draws.count * LOOK_AGAIN)
        return is_precise(draws, self.precision)


def is_precise(draws: Draws, precision: Precision) -> bool:
    """Tell whether the bank's Ah and who is first are known well enough."""
    values = main_answer(draws.plan.scenario.bank).of(draws)
    points = [percentile(values, percent) for percent in (5.0, 50.0, 95.0)]
    if max(point.half_width for point in points) > precision.Ah * abs(points[1].value):
        return False
    first = draws.column(FIRST)
    counts = np.unique_counts(first).counts
    return all(chance(int(n), draws.count).half_width <= precision.chance for n in counts)


def _summed_up(draws: Draws, asked: Precision, traced: Traced) -> SpreadResult:
    central = central_outcome(draws.plan)
    first = draws.column(FIRST).astype(int)
    batteries = tuple(
        _battery(draws, number, central, first)
        for number in range(len(draws.plan.scenario.bank.batteries))
    )
    ends, counts = np.unique(draws.column(END), return_counts=True)
    return SpreadResult(
        draws=draws,
        asked=asked,
        reached=is_precise(draws, asked),
        bank=band(BANK.text, BANK.unit, BANK.of(draws), central[BANK.column]),
        charged=band("takes in", "Ah", CHARGED.of(draws), central[CHARGED.column]),
        runtime=band(RUNTIME.text, RUNTIME.unit, RUNTIME.of(draws), central[RUNTIME.column]),
        batteries=batteries,
        nobody=chance(int((first == NOBODY).sum()), draws.count),
        together=chance(int((first == TOGETHER).sum()), draws.count),
        fed=fed_to_the_end(draws),
        orders=_orders(draws),
        ends=tuple(
            (END_REASON[int(end)], chance(int(count), draws.count))
            for end, count in zip(ends, counts, strict=True)
        ),
        traced=traced,
    )


def fed_to_the_end(draws: Draws) -> Estimate:
    """Return the chance that the run goes on to its end with its loads fed all the time."""
    return chance(int(are_fed(draws).sum()), draws.count)


def are_fed(draws: Draws) -> Flags:
    """Tell in which draws the loads are fed to the end of the run; (draws,)."""
    whole_h = draws.plan.scenario.bank.duration_s / 3600.0
    return np.asarray(RUNTIME.of(draws) >= whole_h * (1.0 - 1e-9))


def central_outcome(plan: Plan) -> dict[str, float]:
    """Return the outcomes of the run with every value in the middle, at the study's tolerance.

    In the units of the table.
    """
    table = ready(plan).evaluate(plan.middle)
    return {name: float(column[0]) for name, column in table.items()}


def band(text: str, unit: str, values: Floats, central: float | None) -> Band:
    """Return the percentiles of the values that are there. In the unit of the answer."""
    known = values[np.isfinite(values)]
    points = tuple(percentile(known, percent) for percent in PERCENTS) if known.size else ()
    own = central if central is not None and math.isfinite(central) else None
    return Band(text, unit, own, points, int(known.size))


def _battery(draws: Draws, number: int, central: dict[str, float], first: Floats) -> BatteryChances:
    battery = draws.plan.scenario.bank.batteries[number]

    def column(what: str) -> Floats:
        return draws.column(battery_column(battery.name, what)).astype(float)

    def own(what: str, text: str, unit: str) -> Band:
        middle = central[battery_column(battery.name, what)]
        return band(text, unit, column(what), middle)

    cell = column("cut_out_cell")
    out = column("cut_out_place") > 0.0
    return BatteryChances(
        name=battery.name,
        delivered=own("delivered_Ah", "delivers", "Ah"),
        charged=own("charged_Ah", "takes in", "Ah"),
        cut_out_h=own("cut_out_h", "cuts out after", "h") if out.any() else None,
        voltage=own("cut_out_voltage_V", "cuts out at", "V") if out.any() else None,
        stranded=own("stranded_Ah", "stays locked in", "Ah"),
        first=chance(int((first == number + 1).sum()), draws.count),
        at_all=chance(int(out.sum()), draws.count),
        cells=tuple(
            chance(int((cell == place + 1).sum()), draws.count)
            for place in range(len(battery.cells))
        ),
    )


def _orders(draws: Draws) -> tuple[OrderChance, ...]:
    """Return the most frequent orders of cutting out."""
    names = [battery.name for battery in draws.plan.scenario.bank.batteries]
    places = np.column_stack([draws.column(battery_column(n, "cut_out_place")) for n in names])
    orders, counts = np.unique(places, axis=0, return_counts=True)
    found = []
    for row in np.argsort(-counts, kind="stable")[:MOST_ORDERS]:
        own = orders[row]
        told = tuple(
            tuple(names[number] for number in np.flatnonzero(own == place))
            for place in np.unique(own[own > 0])
        )
        found.append(OrderChance(told, chance(int(counts[row]), draws.count)))
    return tuple(found)

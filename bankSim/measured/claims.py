"""Several tests and several units together: means, spread, what may be said of which battery."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from bankSim.errors import ParameterError
from bankSim.measured.uncertainty import (
    Budget,
    Contribution,
    Kind,
    averaged,
    pooled,
    repeated,
    tolerance_factor,
)
from bankSim.measured.verdict import Verdict, judge, withheld, within_proof
from bankSim.model.chemistry import is_lead
from bankSim.sim.numbers import quoted

Item = tuple[str, Budget, bool]  # unit, Ah of one test, whether the test was complete
Proven = tuple[str, tuple[float, float], bool]  # unit, parts of the Ah, whether it counts
TYPICAL_PERCENT, LEAD_PERCENT = 0.5, 2.0
TYPICAL_DEGREES = 8.0  # the assumed deviation is known to a quarter: JCGM 100, G.4.2
FEW_DEGREES = 3  # of freedom: fewer say too little of the deviation from test to test
MOST_OF_ALL = 0.9  # part of all units that a tolerance limit speaks of
REPEATS_LINE = "from test to test"


@dataclass(frozen=True, slots=True)
class Repeats:
    """How well a test repeats, where there are not several of one unit.

    Parameters
    ----------
    percent : float or None
        Standard deviation from test to test; None takes a typical one, which is told. [%]
    """

    percent: float | None = None

    def __post_init__(self) -> None:
        if self.percent is not None and not 0.0 <= self.percent < math.inf:
            raise ParameterError("repeatability_percent", self.percent, "0 or more")


@dataclass(frozen=True, slots=True)
class Unit:
    """One battery.

    Parameters
    ----------
    name : str
    values_Ah : tuple of float
        Of the tests that its mean stands on. [Ah]
    left_out : int
        Tests that were not complete and are left out of the mean.
    budget : Budget
        Of the mean.
    deviation_Ah : float or None
        From test to test; None for a single one. [Ah]
    verdict : Verdict
    """

    name: str
    values_Ah: tuple[float, ...]
    left_out: int
    budget: Budget
    deviation_Ah: float | None
    verdict: Verdict


@dataclass(frozen=True, slots=True)
class Product:
    """What several units say of all units like them; these must be a random choice.

    Parameters
    ----------
    deviation_Ah : float
        From unit to unit. [Ah]
    within_Ah : float or None
        From test to test of one unit, pooled; None where no unit was tested twice. [Ah]
    mean : Verdict
        Of the mean of all units like these.
    next_unit : Verdict
        Of the next unit: a prediction interval.
    most_units_Ah : float
        Nine of ten units give more than this, with the stated confidence. [Ah]
    """

    deviation_Ah: float
    within_Ah: float | None
    mean: Verdict
    next_unit: Verdict
    most_units_Ah: float


@dataclass(frozen=True, slots=True)
class Evaluation:
    """All units, each against the claim, and together.

    Parameters
    ----------
    units : tuple of Unit
    together : Verdict
        The mean of exactly these units; that of the only one where there is one.
    budget : Budget
        Of that mean.
    interval : tuple of float
        Two-sided, at the stated confidence. [Ah]
    product : Product or None
        None for a single unit, or where some unit's tests are all incomplete.
    """

    units: tuple[Unit, ...]
    together: Verdict
    budget: Budget
    interval: tuple[float, float]
    product: Product | None


def evaluate(
    items: Sequence[Item],
    claim_Ah: float | None,
    confidence: float,
    repeats: Repeats,
    chemistry: str | None,
) -> Evaluation:
    """Put tests together, by unit.

    Parameters
    ----------
    items : sequence of (unit, Budget, complete)
    claim_Ah : float or None
        [Ah]
    confidence : float
        Between 0 and 1.
    repeats : Repeats
    chemistry : str or None
        For the typical deviation from test to test.
    """
    names = list(dict.fromkeys(name for name, _, _ in items))
    chosen = {name: _usable([item for item in items if item[0] == name]) for name in names}
    deviation = pooled([[budget.value for budget in used] for used, _, _ in chosen.values()])
    units = []
    for name, (used, left_out, at_least) in chosen.items():
        line = _repeat_line(deviation, used, repeats, chemistry)
        budget = Budget(_mean(used), "Ah", (*averaged(used), line))
        values = tuple(one.value for one in used)
        spread = repeated(values).deviation if len(values) > 1 else None
        about = f"the unit {quoted(name)}" if name else "this unit"
        verdict = judge(about, budget, claim_Ah, confidence, at_least=at_least)
        units.append(Unit(name, values, left_out, budget, spread, verdict))
    return _together(tuple(units), claim_Ah, confidence, deviation)


def without_verdicts(one: Evaluation) -> Evaluation:
    """Return an evaluation whose numbers stand and whose verdicts are withheld."""
    product = one.product
    if product is not None:
        product = replace(
            product, mean=withheld(product.mean), next_unit=withheld(product.next_unit)
        )
    units = tuple(replace(unit, verdict=withheld(unit.verdict)) for unit in one.units)
    return replace(one, units=units, together=withheld(one.together), product=product)


def as_proven(one: Evaluation, items: Sequence[Proven], claim_Ah: float) -> Evaluation:
    """Return an evaluation whose verdicts go no further than what the logs prove.

    Parameters
    ----------
    one : Evaluation
    items : sequence of (unit, (least, most), counts)
        Part of the Ah of each test that its log proves, and whether the test counts. [1]
    claim_Ah : float
        [Ah]
    """
    units, spans = [], []
    for unit in one.units:
        own = [parts for name, parts, done in items if name == unit.name and done]
        own = own or [parts for name, parts, _ in items if name == unit.name]
        low, high = (sum(part[k] for part in own) / len(own) for k in (0, 1))
        spans.append((low, high))
        units.append(replace(unit, verdict=_held(unit.verdict, low, high, claim_Ah)))
    low, high = (sum(part[k] for part in spans) / len(spans) for k in (0, 1))
    product = one.product
    if product is not None:
        product = replace(
            product,
            mean=_held(product.mean, low, high, claim_Ah),
            next_unit=_held(product.next_unit, low, high, claim_Ah),
        )
    together = _held(one.together, low, high, claim_Ah)
    return replace(one, units=tuple(units), together=together, product=product)


def _held(one: Verdict, low: float, high: float, claim_Ah: float) -> Verdict:
    return within_proof(one, low * one.value, high * one.value, claim_Ah)


def _usable(items: Sequence[Item]) -> tuple[list[Budget], int, bool]:
    """Complete tests; if there is none, the largest incomplete one, as a lower bound."""
    complete = [budget for _, budget, done in items if done]
    if complete:
        return complete, len(items) - len(complete), False
    best = max((budget for _, budget, _ in items), key=lambda budget: budget.value)
    return [best], len(items) - 1, True


def _mean(budgets: Sequence[Budget]) -> float:
    return repeated([one.value for one in budgets]).mean


def _repeat_line(
    deviation: tuple[float, int], used: Sequence[Budget], repeats: Repeats, chemistry: str | None
) -> Contribution:
    """From test to test: what the repeats say; with few of them not below what is usual.

    Two tests agree by luck often enough that their interval would hold the truth in less than 90
    of 100 cases instead of 95 (tried by random numbers).
    """
    per_root, usual = 1.0 / math.sqrt(len(used)), _usual(used, repeats, chemistry)
    width, degrees = deviation
    if not degrees:
        return replace(usual, sensitivity=per_root)
    if degrees < FEW_DEGREES and width < usual.width:
        told = f"few repeats that agree, so {usual.source}"
        return replace(usual, sensitivity=per_root, source=told)
    return Contribution(
        REPEATS_LINE, width, "Ah", per_root, kind=Kind.A, degrees=degrees,
        source="standard deviation of the repeats, pooled over units",
    )  # fmt: skip


def _usual(used: Sequence[Budget], repeats: Repeats, chemistry: str | None) -> Contribution:
    percent, assumed = repeats.percent, repeats.percent is None
    if percent is None:
        percent = LEAD_PERCENT if is_lead(chemistry) else TYPICAL_PERCENT
    source = f"{percent:g} % {'typical, our own choice' if assumed else 'as given'}"
    width = percent / 100.0 * abs(_mean(used))
    return Contribution(
        REPEATS_LINE, width, "Ah", degrees=TYPICAL_DEGREES, source=source, assumed=assumed
    )


def _together(
    units: tuple[Unit, ...], claim_Ah: float | None, confidence: float, within: tuple[float, int]
) -> Evaluation:
    at_least = any(one.verdict.at_least for one in units)
    if len(units) == 1:
        budget, verdict = units[0].budget, units[0].verdict
    else:
        budgets = [one.budget for one in units]
        budget = Budget(_mean(budgets), "Ah", averaged(budgets))
        about = f"the mean of these {len(units)} units"
        verdict = judge(about, budget, claim_Ah, confidence, at_least=at_least)
    reach = budget.expanded(confidence)
    interval = (budget.value - reach, math.inf if at_least else budget.value + reach)
    product = None
    if len(units) > 1 and not at_least:
        product = _product(units, budget, claim_Ah, confidence, within)
    return Evaluation(units, verdict, budget, interval, product)


def _product(
    units: tuple[Unit, ...],
    budget: Budget,
    claim_Ah: float | None,
    confidence: float,
    within: tuple[float, int],
) -> Product:
    """Return what several units say of all units like them.

    Source: docs/theory.md, eq. 27.2, 27.3.
    """
    found = repeated([one.budget.value for one in units])
    shared = tuple(line for line in budget.contributions if line.shared)
    line = Contribution(
        "from unit to unit", found.deviation, "Ah", 1.0 / math.sqrt(found.count), kind=Kind.A,
        degrees=found.count - 1, source="standard deviation of the units' means",
    )  # fmt: skip
    wider = replace(line, sensitivity=math.sqrt(1.0 + 1.0 / found.count))
    of_all, of_next = (Budget(found.mean, "Ah", (*shared, one)) for one in (line, wider))
    instrument = Budget(0.0, "Ah", shared).expanded(confidence, one_sided=True)
    below = tolerance_factor(found.count, MOST_OF_ALL, confidence) * found.deviation
    return Product(
        found.deviation,
        within[0] if within[1] else None,
        judge("the mean of all units like these", of_all, claim_Ah, confidence),
        judge("the next unit like these", of_next, claim_Ah, confidence),
        found.mean - math.hypot(below, instrument),
    )

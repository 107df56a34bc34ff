"""``study sweep``: one or two keys over a range, every point with its own draws."""

import itertools
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from bankSim.errors import ScenarioError
from bankSim.scenario.glossary import QUANTITIES
from bankSim.scenario.lines import Path
from bankSim.scenario.record import Scenario
from bankSim.scenario.variant import Variants
from bankSim.study.answers import BANK, RUNTIME, Answer, answers
from bankSim.study.blocks import Draws, Workers, run_draws
from bankSim.study.outcomes import FIRST
from bankSim.study.plan import DEFAULT_SEED, Plan, make_plan
from bankSim.study.spread import Band, band, central_outcome
from bankSim.study.statistics import Estimate, chance
from bankSim.study.store import Store, StudyError
from bankSim.study.uniforms import Sampling

POINT_DRAWS = 200
BLOCKS_A_POINT = 4
USUAL_COUNT, MOST_COUNT, MOST_POINTS = 11, 200, 2000
FORMS = "KEY=FROM:TO:COUNT with numbers, or KEY=VALUE,VALUE,..."

StoreOf = Callable[[str, Mapping[str, object]], Store]


@dataclass(frozen=True, slots=True)
class SweptKey:
    """One key and the values it takes.

    Parameters
    ----------
    key : str
        As it was asked for.
    path : tuple of str and int
    values : tuple of float, int, str or bool
    unit : str
    """

    key: str
    path: Path
    values: tuple[float | int | str | bool, ...]
    unit: str

    @property
    def is_numbers(self) -> bool:
        """Tell whether the values can be drawn along an axis."""
        plain = (isinstance(one, int | float) and not isinstance(one, bool) for one in self.values)
        return all(plain)


@dataclass(frozen=True, slots=True)
class SweptPoint:
    """What the bank does at one point.

    Parameters
    ----------
    values : tuple
        Of the keys, in their order.
    bank, runtime : Band
    delivered : tuple of Band
        Of every battery. [Ah]
    first : tuple of Estimate
        Chance of every battery to cut out first.
    """

    values: tuple[float | int | str | bool, ...]
    bank: Band
    runtime: Band
    delivered: tuple[Band, ...]
    first: tuple[Estimate, ...]


@dataclass(frozen=True, eq=False)
class SweepResult:
    """All that `study sweep` finds.

    Parameters
    ----------
    scenario : Scenario
        At which the keys are changed.
    keys : tuple of SweptKey
        One or two.
    points : tuple of SweptPoint
        The last key changes fastest.
    draws, seed : int
        Draws of every point; the same random numbers at all of them.
    given : tuple
        What the file has at the keys; None for nothing.
    """

    scenario: Scenario
    keys: tuple[SweptKey, ...]
    points: tuple[SweptPoint, ...]
    draws: int
    seed: int
    given: tuple[object, ...]

    def grid(self, read: Callable[[SweptPoint], float]) -> np.ndarray:
        """Return one number of all points, in the shape of the keys' values."""
        shape = [len(key.values) for key in self.keys]
        return np.array([read(point) for point in self.points]).reshape(shape)


def read_swept(words: Sequence[str], scenario: Scenario) -> tuple[SweptKey, ...]:
    """Read what is to be swept from the words of a command line.

    Parameters
    ----------
    words : sequence of str
        One or two of ``KEY=FROM:TO:COUNT`` or ``KEY=VALUE,VALUE,...``.
    scenario : Scenario

    Raises
    ------
    StudyError, ScenarioError
        When a word is not understood, or its key cannot be one of this file.
    """
    if len(words) not in (1, 2):
        raise StudyError(f"sweep: {len(words)} keys; expected one or two of {FORMS}")
    variants = Variants(scenario)
    keys = tuple(_swept(word, variants) for word in words)
    if len(keys) == 2 and keys[0].path == keys[1].path:
        raise StudyError(f"sweep: {keys[0].key} is given twice; expected two keys")
    if len(list(itertools.product(*(key.values for key in keys)))) > MOST_POINTS:
        raise StudyError(f"sweep: more than {MOST_POINTS} points; expected fewer values")
    return keys


def _swept(word: str, variants: Variants) -> SweptKey:
    key, equals, text = word.partition("=")
    if not equals or not text.strip():
        raise StudyError(f"sweep {word!r}; expected {FORMS}")
    path = variants.path_of(key.strip())
    quantity = QUANTITIES.get(str(path[-1]))
    unit = quantity.unit if quantity is not None else ""
    whole = quantity is not None and quantity.whole
    return SweptKey(key.strip(), path, _values(word, text, whole), unit)


def _values(word: str, text: str, whole: bool) -> tuple[float | int | str | bool, ...]:
    parts = text.split(":")
    if len(parts) == 3 and "," not in text:
        try:
            low, high, count = float(parts[0]), float(parts[1]), int(parts[2])
        except ValueError as error:
            raise StudyError(f"sweep {word!r}; expected {FORMS}") from error
        if not (np.isfinite([low, high]).all() and 2 <= count <= MOST_COUNT):
            raise StudyError(f"sweep {word!r}; expected 2 to {MOST_COUNT} values")
        if low == high:
            raise StudyError(f"sweep {word!r}; expected two ends that differ")
        found = tuple(float(f"{value:.12g}") for value in np.linspace(low, high, count))
        return tuple(map(int, found)) if whole and all(map(float.is_integer, found)) else found
    values = tuple(_plain(part.strip()) for part in text.split(","))
    if len(set(values)) < 2:
        raise StudyError(f"sweep {word!r}; expected at least two values: {FORMS}")
    return values


def _plain(text: str) -> float | int | str | bool:
    """Return what TOML would make of a bare value; anything else is a word."""
    if text in ("true", "false"):
        return text == "true"
    for kind in (int, float):
        try:
            return kind(text)
        except ValueError:
            continue
    return text.strip("\"'")


def study_sweep(
    scenario: Scenario,
    keys: tuple[SweptKey, ...],
    workers: Workers,
    *,
    store_of: StoreOf | None = None,
    draws: int = POINT_DRAWS,
    seed: int = DEFAULT_SEED,
    sampling: Sampling = Sampling.RANDOM,
    progress: Callable[[str, int, int], None] | None = None,
) -> SweepResult:
    """March draws at every point of a range of one or two keys.

    Parameters
    ----------
    scenario : Scenario
    keys : tuple of SweptKey
    workers : Workers
    store_of : callable, optional
        Gives the store of a point, from a name and the description of its draws.
    draws : int
        Of every point; the same random numbers at all of them, so that differences between points
        are sharper than each point itself.
    seed, sampling
        As in `make_plan`.
    progress : callable, optional
        Told what is being done, how many points are finished, and of how many.
    """
    variants = Variants(scenario)
    combinations = list(itertools.product(*(key.values for key in keys)))
    plans = [
        _plan(variants, dict(zip((k.path for k in keys), values, strict=True)), seed, sampling)
        for values in combinations
    ]
    points = []
    for number, (values, plan) in enumerate(zip(combinations, plans, strict=True)):
        sized = replace(plan, block=max(1, -(-draws // BLOCKS_A_POINT)))
        store = store_of(f"point-{number + 1:04d}", sized.description) if store_of else None
        marched = run_draws(sized, draws, workers, store)
        points.append(_point(values, marched))
        if progress is not None:
            progress("points", number + 1, len(plans))
    given = tuple(variants.value_at(key.path) for key in keys)
    return SweepResult(scenario, keys, tuple(points), marched.count, seed, given)


def _plan(variants: Variants, values: Mapping[Path, object], seed: int, sampling: Sampling) -> Plan:
    try:
        scenario = variants.with_values(values)
    except ScenarioError as error:
        raise ScenarioError([f"sweep: {line}" for line in error.faults]) from error
    return make_plan(scenario, seed=seed, sampling=sampling)


def _point(values: tuple[float | int | str | bool, ...], draws: Draws) -> SweptPoint:
    bank = draws.plan.scenario.bank
    central = central_outcome(draws.plan)
    first = draws.column(FIRST)

    def of(answer: Answer) -> Band:
        return band(answer.text, answer.unit, answer.of(draws), central[answer.column])

    delivered = [one for one in answers(bank) if one.word.startswith("Ah:")]
    return SweptPoint(
        values=values,
        bank=of(BANK),
        runtime=of(RUNTIME),
        delivered=tuple(of(answer) for answer in delivered),
        first=tuple(
            chance(int((first == number).sum()), draws.count)
            for number in range(1, len(bank.batteries) + 1)
        ),
    )

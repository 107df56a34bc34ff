"""One function a question of ``banksim study``: asks the study room, wraps the answer."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from bankSim.show.study_files import TABLE, TABLE_ONE, TABLE_OTHER, study_summary
from bankSim.study.plan import Plan, make_plan
from bankSim.study.spread import Precision
from bankSim.study.store import StudyError
from bankSim.study.uniforms import Sampling

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from bankSim.cli.study import Desk, Finding, Options


def sampling(options: "Options") -> Sampling:
    """Return how draws are spread."""
    return Sampling.EVEN if options.even else Sampling.RANDOM


def precision(options: "Options") -> Precision:
    """Return when there are enough draws."""
    asked = Precision()
    if options.precision_Ah_percent is not None:
        asked = replace(asked, Ah=options.precision_Ah_percent / 100.0)
    if options.precision_cases is not None:
        asked = replace(asked, chance=options.precision_cases / 100.0)
    return asked


def _figures(result: object) -> "Callable[[], dict[str, Figure]]":
    """Return what draws the figures of a result, so that nothing is drawn in vain."""

    def draw() -> "dict[str, Figure]":
        from bankSim.show.study_figures import study_figures

        return study_figures(result)

    return draw


def _plan(desk: "Desk") -> Plan:
    return make_plan(desk.scenario, seed=desk.options.seed, sampling=sampling(desk.options))


def spread(desk: "Desk") -> "Finding":
    """What the bank will do when nobody knows its cells exactly."""
    from bankSim.cli.study import Finding
    from bankSim.show.spread_story import tell_spread
    from bankSim.study.spread import MOST_DRAWS, study_spread

    plan = _plan(desk)
    result = study_spread(
        plan,
        desk.workers,
        store=desk.store_of("", plan.description) if desk.store_of else None,
        most=desk.options.draws or MOST_DRAWS,
        precision=precision(desk.options),
        progress=desk.progress,
    )
    return Finding(
        tell_spread(result, briefly=True),
        tell_spread(result),
        study_summary("spread", result),
        _figures(result),
        {TABLE: result.draws},
    )


def sweep(desk: "Desk") -> "Finding":
    """One or two keys over a range."""
    from bankSim.cli.study import Finding
    from bankSim.show.sweep_story import tell_sweep
    from bankSim.study.sweep import POINT_DRAWS, study_sweep
    from bankSim.study.swept_keys import read_swept

    result = study_sweep(
        desk.scenario,
        read_swept(desk.words, desk.scenario),
        desk.workers,
        store_of=desk.store_of,
        draws=desk.options.draws or POINT_DRAWS,
        seed=desk.options.seed,
        sampling=sampling(desk.options),
        progress=desk.progress,
    )
    return Finding(
        tell_sweep(result, briefly=True),
        tell_sweep(result),
        study_summary("sweep", result),
        _figures(result),
        {},
    )


def matters(desk: "Desk") -> "Finding":
    """Which unknown moves the answer most, and what to measure next."""
    from bankSim.cli.study import Finding
    from bankSim.show.matters_story import tell_matters
    from bankSim.study.answers import answer_of, main_answer
    from bankSim.study.matters import BASE_DRAWS, LEAST_BASE, study_matters

    base, bank = desk.options.draws or BASE_DRAWS, desk.scenario.bank
    of = desk.options.of
    if base < LEAST_BASE:
        raise StudyError(f"--draws = {base}; expected {LEAST_BASE} or more for matters")
    result = study_matters(
        _plan(desk),
        desk.workers,
        main_answer(bank) if of is None else answer_of(of, bank),
        store_of=desk.store_of,
        base=base,
        progress=desk.progress,
    )
    return Finding(
        tell_matters(result, briefly=True),
        tell_matters(result),
        study_summary("matters", result),
        _figures(result),
        {},
    )


def versus(desk: "Desk") -> "Finding":
    """Two scenarios on the same draws."""
    from bankSim.cli.study import Finding
    from bankSim.scenario.read import read_scenario
    from bankSim.show.versus_story import tell_versus
    from bankSim.study.versus import MOST_DRAWS, study_versus

    result = study_versus(
        desk.scenario,
        read_scenario(Path(desk.words[0])),
        desk.workers,
        store_of=desk.store_of,
        most=desk.options.draws or MOST_DRAWS,
        precision=precision(desk.options),
        seed=desk.options.seed,
        sampling=sampling(desk.options),
        progress=desk.progress,
    )
    return Finding(
        tell_versus(result, briefly=True),
        tell_versus(result),
        study_summary("versus", result),
        _figures(result),
        {TABLE_ONE: result.one, TABLE_OTHER: result.other},
    )


def sums(desk: "Desk") -> "Finding":
    """The bank against the sum of its batteries alone."""
    from bankSim.cli.study import Finding
    from bankSim.show.sums_story import tell_sums
    from bankSim.study.sums import DRAWS, study_sums

    draws = desk.options.draws or DRAWS
    result = study_sums(_plan(desk), desk.workers, draws=draws, progress=desk.progress)
    return Finding(
        tell_sums(result, briefly=True),
        tell_sums(result),
        study_summary("sums", result),
        _figures(result),
        {},
    )

"""``banksim study``: what if, and how sure."""

from collections.abc import Callable, Iterator, Sequence
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from bankSim.cli.inputs import inputs_of
from bankSim.cli.study_folder import BLOCKS, folder_of, store_of
from bankSim.cli.study_options import (
    MATTERS,
    QUESTIONS,
    SPREAD,
    SUMS,
    SWEEP,
    VERSUS,
    Options,
    check_options,
)
from bankSim.cli.waiting import stages_bar, tell_compiling
from bankSim.show.blocks import Story
from bankSim.show.printing import print_story
from bankSim.show.targets import check_folder, check_json
from bankSim.study.store import StudyError

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from bankSim.scenario.record import Scenario
    from bankSim.study.blocks import Draws, Workers
    from bankSim.study.sweep import StoreOf


@dataclass(frozen=True, eq=False)
class Finding:
    """What a question found: how it is told, and what goes into files."""

    story: Story
    full_story: Story
    summary: dict[str, Any]
    figures: Callable[[], dict[str, "Figure"]]
    tables: dict[str, "Draws"]


@dataclass(frozen=True, eq=False)
class Desk:
    """Everything a question is answered with."""

    scenario: "Scenario"
    words: Sequence[str]
    options: Options
    workers: "Workers"
    store_of: "StoreOf | None"
    progress: Callable[[str, int, int], None] | None


def study(file: Path, question: str, words: Sequence[str], options: Options) -> int:
    """Answer a question with many runs; print, and write what was asked for.

    Parameters
    ----------
    file : Path
        Scenario.
    question : str
        One of `QUESTIONS`.
    words : sequence of str
        What the question needs besides: keys to sweep, the other scenario.
    options : Options

    Returns
    -------
    code : int
        0; everything that is wrong raises.
    """
    answer = _answer_of(question, words)
    check_options(question, options)
    folder, inputs = folder_of(file, question, words, options), inputs_of(file)
    if question == VERSUS:
        _check_other(file, Path(words[0]))
        inputs += inputs_of(Path(words[0]))
    _check_targets(folder, options.json, inputs)
    from bankSim.scenario.read import read_scenario

    scenario = read_scenario(file)
    tell_compiling()
    if options.draw is not None:
        return _tell_draw(scenario, options)
    with ExitStack() as stack:
        desk = Desk(
            scenario, words, options, stack.enter_context(_workers(options)),
            store_of(folder, " ".join([question, *words]), options),
            stack.enter_context(stages_bar()),
        )  # fmt: skip
        found = _answered(answer, desk, folder)
    return _hand_over(found, folder, options)


def _check_other(file: Path, other: Path) -> None:
    if other.exists() and file.exists() and other.samefile(file):
        raise StudyError(f"study versus {other}: the same file; expected another scenario")


def _answered(answer: Callable[[Desk], Finding], desk: Desk, folder: Path | None) -> Finding:
    """Ask the study room; when somebody stops it, say what is kept."""
    try:
        return answer(desk)
    except KeyboardInterrupt as stop:
        if folder is None or not (folder / BLOCKS).is_dir():
            raise
        told = f"Stopped. Finished draws are in {folder / BLOCKS}: the same command goes on there."
        raise KeyboardInterrupt(told) from stop


def _answer_of(question: str, words: Sequence[str]) -> Callable[[Desk], Finding]:
    from bankSim.cli import study_questions as asked

    answers = {
        SPREAD: (asked.spread, 0, "nothing after it"),
        SWEEP: (
            asked.sweep,
            None,
            "KEY=FROM:TO:COUNT or KEY=VALUE,VALUE,... after it, once or twice",
        ),
        MATTERS: (asked.matters, 0, "nothing after it"),
        VERSUS: (asked.versus, 1, "one other scenario file after it"),
        SUMS: (asked.sums, 0, "nothing after it"),
    }
    if question not in answers:
        raise StudyError(f"study {question!r}; expected one of: {', '.join(QUESTIONS)}")
    answer, count, allowed = answers[question]
    fits = 1 <= len(words) <= 2 if count is None else len(words) == count
    if not fits:
        raise StudyError(f"study {' '.join([question, *words])}; expected {allowed}")
    return answer


def _check_targets(folder: Path | None, json: str | None, inputs: list[Path]) -> None:
    """Refuse what cannot or must not be written, before any work."""
    if folder is not None:
        from bankSim.show.study_files import RESULT_FILES

        check_folder(folder, RESULT_FILES, inputs)
    check_json(json, inputs)


@contextmanager
def _workers(options: Options) -> "Iterator[Workers]":
    from bankSim.study.blocks import threads

    if options.cluster is None:
        with threads(options.threads) as workers:
            yield workers
        return
    from bankSim.study.cluster import cluster

    with cluster(options.cluster) as workers:
        yield workers


def _tell_draw(scenario: "Scenario", options: Options) -> int:
    from bankSim.cli.study_questions import sampling
    from bankSim.show.draw_story import tell_draw
    from bankSim.study.plan import make_plan, ready

    draw = options.draw
    if draw is None or draw < 0:
        raise StudyError(f"--draw {draw}; expected 0 or more")
    plan = make_plan(scenario, seed=options.seed, sampling=sampling(options))
    values = plan.values(draw, draw + 1)
    result = ready(plan).story_of(values, draw)
    print_story(tell_draw(result, plan.unknowns, values[0], draw, options.seed))
    return 0


def _hand_over(found: Finding, folder: Path | None, options: Options) -> int:
    from bankSim.cli.hand_over import Target, hand_over_as
    from bankSim.show.study_files import write_study

    def write(folder: Path) -> list[Path]:
        figures = found.figures if options.plots else None
        return write_study(folder, found.full_story, found.summary, figures, found.tables)

    def kept() -> str:
        has_blocks = folder is not None and (folder / BLOCKS).is_dir()
        return f"; finished draws in {folder / BLOCKS}" if folder and has_blocks else ""

    return hand_over_as(found, Target(folder, options.json, options.plots), write, kept)


__all__ = ["QUESTIONS", "Desk", "Finding", "Options", "study"]

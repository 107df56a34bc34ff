"""What the command line says beside the scenario and the question, and what fits which question."""

from dataclasses import dataclass, fields

from bankSim.show.targets import STANDARD_OUTPUT
from bankSim.study.store import StudyError

SPREAD, SWEEP, MATTERS, VERSUS, SUMS = QUESTIONS = (
    "spread",
    "sweep",
    "matters",
    "versus",
    "sums",
)
EVERYWHERE = {"draws", "seed", "out", "json", "plots", "threads", "cluster"}
PRECISION = {"precision_Ah_percent", "precision_cases"}
FITS = {
    SPREAD: EVERYWHERE | PRECISION | {"even", "fresh", "draw"},
    SWEEP: EVERYWHERE | {"even", "fresh"},
    MATTERS: EVERYWHERE | {"of", "fresh"},
    VERSUS: EVERYWHERE | PRECISION | {"even", "fresh"},
    SUMS: EVERYWHERE | {"even"},
}
WITH_ONE_DRAW = {"draw", "seed", "even", "plots"}


@dataclass(frozen=True, kw_only=True)
class Options:
    """What the command line says beside the scenario and the question.

    Parameters
    ----------
    draws : int or None
        At most; None takes what is usual for the question.
    seed : int
    even : bool
    precision_Ah_percent, precision_cases : float or None
        [cases in 100]
    of : str or None
        None asks for what the bank is there for.
    draw : int or None
    out, json : str or None
    plots : bool
    threads : int or None
    cluster : str or None
    fresh : bool
    """

    draws: int | None = None
    seed: int = 1
    even: bool = False
    precision_Ah_percent: float | None = None
    precision_cases: float | None = None
    of: str | None = None
    draw: int | None = None
    out: str | None = None
    json: str | None = None
    plots: bool = True
    threads: int | None = None
    cluster: str | None = None
    fresh: bool = False

    @property
    def given(self) -> list[str]:
        """Names of those that are not as they come."""
        return [one.name for one in fields(self) if getattr(self, one.name) != one.default]


def check_options(question: str, options: Options) -> None:
    """Refuse options that would have no effect.

    Raises
    ------
    StudyError
        Names the option, and what has an effect.
    """
    alone = options.draw is not None
    if alone and question != SPREAD:
        raise StudyError(f"study {question} --draw: one draw is told by the question {SPREAD} only")
    fits = WITH_ONE_DRAW if alone else FITS[question]
    idle = [name for name in options.given if name not in fits]
    if idle:
        what = "--draw" if alone else question
        known = ", ".join(_option(name) for name in sorted(fits))
        raise StudyError(f"study {what}: {_option(idle[0])} has no effect; expected one of {known}")
    if options.cluster is not None and options.threads is not None:
        raise StudyError("--threads: has no effect with --cluster; expected one of both")
    if options.fresh and options.json == STANDARD_OUTPUT and options.out is None:
        raise StudyError("--fresh: has no effect with --json - without --out: no cases are kept")


def _option(name: str) -> str:
    return "--no-plots" if name == "plots" else f"--{name.replace('_', '-')}"

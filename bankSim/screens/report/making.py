"""Makes the report; knows no screen. The same as `banksim report` makes of the same input."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime

from bankSim.screens.report.wish import Wish
from bankSim.show.report import report_html, report_pictures, run_in_full
from bankSim.show.report_data import report_data_zip
from bankSim.show.report_pictures import Picture
from bankSim.sim.result import Result
from bankSim.study.spread import SpreadResult

Progress = Callable[[str, int, int], None]


@dataclass(frozen=True)
class Work:
    """What takes long: draws and figures, and the numbers ready to be sent.

    Parameters
    ----------
    spread : SpreadResult or None
    pictures : mapping
        Figures by name.
    data : bytes
        The zip.
    made_on : datetime
    """

    spread: SpreadResult | None
    pictures: Mapping[str, Picture]
    data: bytes
    made_on: datetime


def do_work(
    result: Result, tables: Mapping[str, bytes], wish: Wish, progress: Progress, now: datetime
) -> Work:
    """Draw, and put the numbers together.

    Parameters
    ----------
    result : Result
        The run itself.
    tables : mapping
        Contents of the scenario's tables by name.
    wish : Wish
    progress : callable
        Told a stage, how much of it is done, and how much there is at most.
    now : datetime
        Stands at the top of the page.
    """
    spread = _spread(result, wish, progress) if wish.draws else None
    progress("drawing the figures", 0, 0)
    pictures = report_pictures(result, spread)
    progress("putting the numbers together", 0, 0)
    data = report_data_zip(result, spread=spread, pictures=pictures, tables=tables)
    return Work(spread, pictures, data, now)


def page_of(result: Result, work: Work, question: str) -> str:
    """Return the page as HTML, with the question at its top."""
    return report_html(
        result,
        spread=work.spread,
        question=question,
        made_on=work.made_on,
        pictures=work.pictures,
    )


def _spread(result: Result, wish: Wish, progress: Progress) -> SpreadResult:
    from bankSim.study.blocks import threads
    from bankSim.study.plan import make_plan
    from bankSim.study.spread import study_spread

    plan = make_plan(result.scenario, seed=wish.seed)
    with threads() as workers:
        return study_spread(
            plan, workers, most=wish.draws, traced=run_in_full(result), progress=progress
        )

"""The figures of a study, whatever its question was."""

from typing import TYPE_CHECKING

from bankSim.show.chances_figure import chances_figure
from bankSim.show.fan_figure import fan_figure, has_lines
from bankSim.show.shares_figure import shares_figure
from bankSim.show.sums_figure import sums_figure
from bankSim.show.sweep_figure import sweep_figure
from bankSim.show.tornado_figure import tornado_figure
from bankSim.show.versus_figure import versus_figure
from bankSim.study.matters import MattersResult
from bankSim.study.spread import SpreadResult
from bankSim.study.sums import SumsResult
from bankSim.study.sweep import SweepResult
from bankSim.study.versus import VersusResult

if TYPE_CHECKING:
    from matplotlib.figure import Figure


def study_figures(result: object) -> dict[str, "Figure"]:
    """Return every figure that a study has something for, by short name, in reading order.

    Parameters
    ----------
    result : SpreadResult, SweepResult, MattersResult, VersusResult or SumsResult
        Draws that end at once have no lines over time; where nothing moves the answer there is
        nothing to rank.

    Raises
    ------
    TypeError
        When it is of no study.
    """
    if isinstance(result, SpreadResult):
        lines = {"fan": fan_figure(result)} if has_lines(result) else {}
        return {**lines, "chances": chances_figure(result), "shares": shares_figure(result)}
    if isinstance(result, SweepResult):
        return {"sweep": sweep_figure(result)}
    if isinstance(result, VersusResult):
        return {"versus": versus_figure(result)}
    if isinstance(result, SumsResult):
        return {"sums": sums_figure(result)}
    if isinstance(result, MattersResult):
        return {} if result.nothing_moves else {"tornado": tornado_figure(result)}
    raise TypeError(f"{type(result).__name__}; expected the result of a study")

"""What a sweep of one key or two finds: lines along a key, or maps over both."""

from typing import TYPE_CHECKING

from bankSim.show.sweep_lines import lines_figure
from bankSim.show.sweep_maps import maps_figure
from bankSim.study.sweep import SweepResult

if TYPE_CHECKING:
    from matplotlib.figure import Figure


def sweep_figure(result: SweepResult) -> "Figure":
    """Lines along one key, or maps over two.

    Parameters
    ----------
    result : SweepResult
        Of one or two keys, numbers or words, and of any number of batteries.

    Returns
    -------
    figure : matplotlib Figure
        Ah of the bank and who cuts out first; with one key also the Ah of every battery.
    """
    return lines_figure(result) if len(result.keys) == 1 else maps_figure(result)

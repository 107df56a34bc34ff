"""Pictures for a screen as plain plotly specifications; nothing here knows a screen.

Every maker returns a dictionary ``{"data": [...], "layout": {...}}``; `figure_of` turns it into a
plotly figure without the slow check of every key. Next to each maker stands its text for people
who cannot see the picture: ``*_words``. Show the figures with ``theme=None`` and `CONFIG`.
"""

from bankSim.screens.charts.charge import charge_bars, charge_words
from bankSim.screens.charts.cut_out import cut_out_chart, cut_out_words
from bankSim.screens.charts.difference import difference_bars, difference_words
from bankSim.screens.charts.frame import Spec, figure_of
from bankSim.screens.charts.look import CONFIG, DARK, LIGHT, Look
from bankSim.screens.charts.map import map_chart, map_words
from bankSim.screens.charts.shares import shares_chart, shares_words
from bankSim.screens.charts.text import safe_text
from bankSim.screens.charts.time import ROWS, mean_words, time_chart, time_words
from bankSim.screens.charts.tornado import tornado_chart, tornado_words

__all__ = [
    "CONFIG",
    "DARK",
    "LIGHT",
    "ROWS",
    "Look",
    "Spec",
    "charge_bars",
    "charge_words",
    "cut_out_chart",
    "cut_out_words",
    "difference_bars",
    "difference_words",
    "figure_of",
    "map_chart",
    "map_words",
    "mean_words",
    "safe_text",
    "shares_chart",
    "shares_words",
    "time_chart",
    "time_words",
    "tornado_chart",
    "tornado_words",
]

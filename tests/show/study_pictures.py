"""What tests read off the figures of studies."""

import warnings

from matplotlib.container import BarContainer
from matplotlib.text import Text

from bankSim.show.study_figures import study_figures


def laid_out(figure):
    """Return a figure with all in its place; nothing is painted. A layout that collapses fails."""
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        warnings.filterwarnings("ignore", message="Glyph")
        warnings.filterwarnings("ignore", message="Attempting to set identical")
        figure.get_layout_engine().execute(figure)
    return figure


def cut_off(figure):
    """Return how far what is drawn reaches beyond the left, lower, right and upper edge. [in]"""
    box = figure.get_tightbbox()
    width, height = figure.get_size_inches()
    return -box.x0, -box.y0, box.x1 - width, box.y1 - height


def texts(figure):
    return [text.get_text() for text in figure.findobj(Text) if text.get_visible()]


def whole(figure):
    return " | ".join(text.replace("\n", " ") for text in texts(figure))


def bars(axes):
    return [bar for one in axes.containers if isinstance(one, BarContainer) for bar in one]


def one(result):
    (figure,) = study_figures(result).values()
    return figure


def lines_of(axes):
    return [line for line in axes.lines if len(line.get_xdata()) > 2]

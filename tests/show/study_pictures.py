"""What tests read off the figures of studies."""

from matplotlib.container import BarContainer
from matplotlib.text import Text

from bankSim.show.study_figures import study_figures


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

"""A map over two keys: the Ah in each field, and who cuts out first."""

from collections.abc import Sequence

from bankSim.kernels.arrays import Floats
from bankSim.screens.charts.frame import Spec
from bankSim.screens.charts.look import LIGHT, Look


def map_chart(
    x_values: Sequence[float],
    y_values: Sequence[float],
    z: Floats,
    labels: tuple[str, str, str],
    *,
    first: Sequence[Sequence[str]] | None = None,
    here: tuple[float, float] | None = None,
    look: Look = LIGHT,
) -> Spec:
    """Draw one number over two keys, darker for more, with the number and a letter in each field.

    Parameters
    ----------
    x_values, y_values : sequence of float
        Rising.
    z : array (len(y_values), len(x_values))
        NaN where there is none.
    labels : (str, str, str)
        Of the x axis, the y axis and z, each with its unit, as in "delivered [Ah]".
    first : sequence (y) of sequence (x) of str, optional
        Name of who cuts out first, "" for nobody; shown as a letter with a key below.
    here : (float, float), optional
        The scenario as it stands, marked.
    look : Look
    """
    raise NotImplementedError


def map_words(
    x_values: Sequence[float],
    y_values: Sequence[float],
    z: Floats,
    labels: tuple[str, str, str],
    *,
    first: Sequence[Sequence[str]] | None = None,
) -> str:
    """Return what `map_chart` shows, in a sentence or two."""
    raise NotImplementedError

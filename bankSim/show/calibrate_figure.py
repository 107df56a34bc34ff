"""Figures of a calibration: curve and resistance found, and what is left over in every log."""

from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from bankSim.measured.calibrate import Calibration
from bankSim.measured.quantities import usual_straps_mohm
from bankSim.measured.told_cells import mean_cell
from bankSim.show.fitting import TITLE_PT, fitted
from bankSim.show.looks import FAINT, INK, QUIET, dress, label, line_look, new_figure, side_legend

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

NAME_IN = 4.0  # of a log's name above its panel
NEAR_MV = 10.0  # a band to read the residuals against


def calibration_figures(found: Calibration) -> "dict[str, Figure]":
    """Return the figures by name."""
    return {"battery": battery_figure(found), "residuals": residual_figure(found)}


def battery_figure(found: Calibration) -> "Figure":
    """Voltage curve and resistance over state of charge, beside the typical ones."""
    figure = new_figure(5.6)
    upper, lower = figure.subplots(2, 1, sharex=True)
    z = np.linspace(0.0, 1.0, 401)
    cell = mean_cell(found.recipe, found.fit.numbers)
    curve, ohmic = cell.ocv_V(z), cell.ohmic_ohm(z)
    typical = found.recipe.typical
    dress(upper, f"{label(found.label.name)}: one cell at rest", "", "voltage [V]")
    dress(
        lower,
        "Resistance at once of one cell with its share of straps, 25 degrees C",
        "state of charge [%]",
        "resistance [mohm]",
    )
    found_look, typical_look = line_look(0), {"color": QUIET, "linestyle": "--", "linewidth": 1.2}
    line = upper.plot(100 * z, curve, **found_look)[0]
    dashed = upper.plot(100 * z, typical.ocv_V(z), **typical_look)[0]
    lower.plot(100 * z, 1e3 * ohmic, **found_look)
    straps_mohm = usual_straps_mohm(found.recipe) / found.label.cells_in_series
    lower.plot(100 * z, 1e3 * typical.ohmic_ohm(z) + straps_mohm, **typical_look)
    lower.set_yscale("log")
    lower.yaxis.set_major_formatter(lambda value, _: f"{value:g}")
    upper.set_xlim(0.0, 100.0)
    side_legend(figure, [line, dashed], ["found", "typical"])
    return figure


def residual_figure(found: Calibration) -> "Figure":
    """Model less measured of every log over its time; of one cell."""
    count = len(found.followed)
    figure = new_figure(1.2 + 1.9 * count)
    rows = figure.subplots(count, 1, squeeze=False)[:, 0]
    for place, (axes, one) in enumerate(zip(rows, found.followed, strict=True)):
        name = fitted(Path(one.file).stem, NAME_IN, size_pt=TITLE_PT)
        dress(axes, f"{name}: model less measured, one cell", "time [h]", "difference [mV]")
        axes.axhspan(-NEAR_MV, NEAR_MV, color=FAINT, alpha=0.6, linewidth=0)
        axes.axhline(0.0, color=INK, linewidth=0.8)
        axes.plot(one.time_s / 3600.0, one.residual_mV, **line_look(place))
        axes.set_xlim(0.0, max(one.hours, 1e-6))
        _bound(axes, one.residual_mV)
    return figure


def _bound(axes: "Axes", residual_mV: "np.typing.NDArray[np.float64]") -> None:
    """Keep the few samples of a knee from flattening the rest; say where they are cut."""
    usual = float(np.percentile(np.abs(residual_mV), 97.0))
    limit = max(2.0 * usual, 1.5 * NEAR_MV)
    most = float(np.abs(residual_mV).max(initial=0.0))
    if most > limit:
        axes.set_ylim(-limit, limit)
        axes.text(
            0.99, 0.04, f"cut; the largest is {most:.0f} mV", transform=axes.transAxes,
            ha="right", va="bottom", fontsize=8.5, color=INK,
        )  # fmt: skip

"""Slopes of a fit read off the curves are those that runs of the solver give."""

import numpy as np
import pytest

from bankSim.measured import fit
from bankSim.measured.calibrate import Told, calibrate
from bankSim.measured.label import Label
from bankSim.measured.log import Log
from bankSim.measured.parameters import Parameter
from bankSim.measured.replay import Course, replay
from bankSim.measured.slopes import slopes_of
from bankSim.model.lfp import LFP

LABEL = Label("made", "LFP", 4, 100.0)
TIME_S = np.arange(0.0, 3.4 * 3600.0, 60.0)


def pulsed(temperature_C):
    """Four unequal cells under 32.5 A with rests: 84 Ah out of some 100."""
    amps = np.where((TIME_S // 900) % 4 < 3, 32.5, 0.0)
    flow = Log("made", TIME_S, np.full(TIME_S.size, 13.0), amps)
    cells = tuple(
        LFP.typical_cell(100.0, Ah * 3600.0, ageing)
        for Ah, ageing in ((100.0, 1.0), (103.0, 1.1), (99.0, 1.0), (108.0, 0.9))
    )
    volts = replay(cells, Course.of(flow, temperature_C), TIME_S)
    warm = np.full(TIME_S.size, temperature_C)
    return Log("made", TIME_S, volts.sum(axis=1), amps, cells_V=volts, temperature_C=warm)


@pytest.mark.parametrize("temperature_C", [25.0, -10.0])
def test_slopes_off_the_curves_are_those_of_runs(temperature_C, monkeypatch):
    monkeypatch.setattr(fit, "MOST_TURNS", 3)  # anywhere will do
    found = calibrate([pulsed(temperature_C)], LABEL, Told(temperature_C=temperature_C))
    numbers, samples = found.fit.numbers, found.fit.samples
    read = slopes_of(found.recipe, numbers, samples)
    along = [one.along_curve for one in found.recipe.parameters()]
    monkeypatch.setattr(Parameter, "along_curve", False)
    run = slopes_of(found.recipe, numbers, samples)
    size = np.maximum(np.linalg.norm(run, axis=0), 1e-6)  # some are not reached
    off = np.linalg.norm(read - run, axis=0) / size
    assert sum(along) == 23
    assert off[along].max() < 5e-3  # what the heat of a changed resistance changes is left out
    assert off[np.logical_not(along)].max() == 0.0

"""Whether a log that ends under load was only cut off; courses made by hand."""

import numpy as np
import pytest

from bankSim.measured.compare_course import Course
from bankSim.measured.compare_horizon import looks_cut_off


def course(volts, *, rest=0):
    """One sample a minute under 30 A, then without current."""
    time = 60.0 * np.arange(len(volts))
    amps = np.full(len(volts), 30.0)
    amps[len(volts) - rest :] = 0.0
    return Course(time, np.asarray(volts, float), amps, np.empty((0, len(volts))))


PREDICTED = course([*np.linspace(13.0, 12.0, 60), 11.0, 10.2, 9.45, 12.0, 12.0], rest=2)
BEFORE = [*np.linspace(13.0, 12.0, 50)]


@pytest.mark.parametrize(
    "knee",
    [[10.46, 10.26, 10.0, 9.01],  # below the predicted end: it was told as 10.00 V
     [10.9, 10.6, 10.2]],  # the next sample would be at 9.8 V
)  # fmt: skip
def test_a_log_that_ends_in_the_knee_is_whole(knee):
    assert looks_cut_off(PREDICTED, course([*BEFORE, *knee]), 0.6) == ()


def test_a_log_that_ends_on_the_plateau_is_told_with_its_last_voltage():
    (told,) = looks_cut_off(PREDICTED, course([*BEFORE, 11.99, 11.98, 11.96]), 0.6)
    assert "ends under load at 11.96 V, the prediction at 9.45 V" in told
    assert "--stopped-early" in told

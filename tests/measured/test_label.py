"""What stands for the label of a battery must be one that a scenario may have."""

import numpy as np
import pytest

from bankSim.measured.label import label_of
from bankSim.measured.log import Log, LogError


def log_of(current_A):
    time = np.arange(0.0, 36_000.0, 60.0)
    return Log("mine.csv", time, np.full(time.size, 13.2), np.full(time.size, current_A))


def test_the_largest_charge_stands_for_the_label():
    assert label_of([log_of(5.0)], "a").rated_Ah == pytest.approx(5.0 * 599 / 60)


def test_a_charge_that_no_battery_holds_is_refused():
    # 0.5 mA over ten hours are 0.005 Ah: read as amperes, it was in mA; a battery file was
    # written with a label that no command reads
    with pytest.raises(
        LogError, match=r"mine.csv: 0.00499 Ah at most in a discharge; expected 0.01"
    ):
        label_of([log_of(0.5e-3)], "a")
    assert label_of([log_of(0.5e-3)], "a", rated_Ah=0.01).rated_Ah == 0.01


@pytest.mark.parametrize("rated_Ah", [0.0, 0.005, -1.0, 2e4, float("nan")])
def test_a_label_out_of_range_is_refused(rated_Ah):
    with pytest.raises(LogError, match=r"--rated-Ah = .*; expected 0.01 to 10000"):
        label_of([log_of(5.0)], "a", rated_Ah=rated_Ah)

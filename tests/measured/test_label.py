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


def standing(volts, cells=0, current_A=5.0):
    """A log at one voltage, with so many columns of cells."""
    time = np.arange(0.0, 36_000.0, 60.0)
    each = np.full((time.size, cells), volts / max(cells, 1))
    return Log("mine.csv", time, np.full(time.size, volts), np.full(time.size, current_A), each)


@pytest.mark.parametrize(
    ("chemistry", "volts", "cells"),
    [
        ("LFP", 3.3, 1), ("LFP", 1.0, 1), ("LFP", 13.2, 4), ("LFP", 16.4, 5), ("LFP", 52.0, 16),
        # batteries of lead as they are sold: 2, 4, 6, 8, 12, 24, 36 and 48 V
        ("AGM", 2.05, 1), ("AGM", 4.1, 2), ("AGM", 6.1, 3), ("AGM", 8.1, 4), ("AGM", 12.2, 6),
        ("AGM", 24.5, 12), ("AGM", 36.5, 18), ("AGM", 48.8, 24), ("AGM", 0.1, 1),
        ("flooded", 10.8, 6), ("gel", 17.5, 12),  # nearest by ratio: 8.75 cells, 6 or 12
    ],
)  # fmt: skip
def test_cells_of_a_chemistry_from_the_middle_voltage(chemistry, volts, cells):
    label = label_of([standing(volts)], "a", chemistry, rated_Ah=50.0)
    assert label.cells_in_series == cells
    (told,) = label.guessed
    assert told == f"No --cells-in-series: {cells} taken, from {volts:.4g} V in the middle."


@pytest.mark.parametrize(
    ("volts", "cells"), [(3.3, 1), (3.16, 1), (3.35, 1), (12.7, 4), (13.4, 4), (26.4, 8)]
)
def test_lfp_alone_is_known_by_its_voltage(volts, cells):
    # the flat part of a cell: 3.15 to 3.36 V
    label = label_of([standing(volts)], "a")
    assert (label.chemistry, label.cells_in_series) == ("LFP", cells)
    assert len(label.guessed) == 3
    assert f"a cell stands at {volts / cells:.3f} V in the middle" in label.guessed[1]


@pytest.mark.parametrize(
    ("volts", "told"),
    [
        (3.14, "3.140 V a cell does not tell"), (3.37, "3.370 V a cell does not tell"),
        (1.6, "1.600 V a cell does not tell"), (4.3, "4.300 V a cell does not tell"),
        (1.4, "1.4 V may be lithium or lead"), (4.5, "4.5 V may be lithium or lead"),
        (12.5, "12.5 V may be lithium or lead"), (13.5, "13.5 V may be lithium or lead"),
        # 18 and 24 lead cells of 2.03 V under load, or 11 and 15 of LFP
        (36.5, "36.5 V may be lithium or lead"), (48.8, "48.8 V may be lithium or lead"),
    ],
)  # fmt: skip
def test_what_the_voltage_does_not_tell_must_be_said(volts, told):
    with pytest.raises(LogError, match=f"mine.csv: {told}"):
        label_of([standing(volts)], "a")


def test_columns_of_cells_are_counted():
    label = label_of([standing(16.5, 5), standing(16.5)], "a", rated_Ah=50.0)
    assert label.cells_in_series == 5
    assert len(label.guessed) == 1  # the chemistry: 3.3 V each
    mixed = [standing(13.2, 4), standing(13.2, 5)]  # logs that contradict each other
    assert label_of(mixed, "a").cells_in_series == 4
    assert "No --cells-in-series" in label_of(mixed, "a").guessed[0]


@pytest.mark.parametrize(("cells", "fine"), [(0, False), (1, True), (32, True), (33, False)])
def test_from_1_to_32_cells(cells, fine):
    if fine:
        label = label_of([standing(3.3)], "a", "LFP", cells, 50.0)
        assert (label.cells_in_series, label.guessed) == (cells, ())
        return
    with pytest.raises(LogError, match=f"--cells-in-series = {cells}; expected 1 to 32"):
        label_of([standing(3.3)], "a", "LFP", cells)


def test_the_middle_is_that_under_load():
    # long rests and a charge stand higher; 2 % of the largest current is none
    log = standing(13.2)
    log.voltage_V[:400], log.current_A[:400] = 13.5, 0.09  # of 5 A: 0.1 A
    log.voltage_V[580:], log.current_A[580:] = 14.2, -5.0
    assert "from 13.2 V" in label_of([log], "a").guessed[0]
    log.current_A[:400] = 0.11
    assert "from 13.5 V" in label_of([log], "a", "LFP").guessed[0]


def test_a_log_that_only_charges_tells_by_its_charge():
    log = standing(13.4, current_A=-5.0)
    log.voltage_V[:400], log.current_A[:400] = 13.2, 0.0
    assert "from 13.4 V" in label_of([log], "a").guessed[0]
    idle = standing(13.3, current_A=0.0)
    assert label_of([idle], "a", rated_Ah=50.0).cells_in_series == 4


def test_the_largest_of_all_logs_stands_for_the_label():
    label = label_of([log_of(2.0), log_of(5.0)], "a", "LFP", 4)
    assert (label.rated_Ah, label.rated_guessed) == (pytest.approx(49.917, abs=1e-3), True)
    assert label.guessed == (
        "No --rated-Ah: the largest charge of a log stands in for the label, 49.92 Ah.",
    )
    given = label_of([log_of(5.0)], "a", "LFP", 4, 100.0)
    assert (given.rated_Ah, given.rated_guessed, given.guessed) == (100.0, False, ())
    with pytest.raises(LogError, match=r"--chemistry = 'NiCd'; expected one of: .*LFP"):
        label_of([log_of(5.0)], "a", "NiCd")

"""Courses of a gauge check from made results and made logs, by hand."""

import numpy as np
import pytest
from made_results import Course as Rows
from made_results import made
from pytest import approx
from simple_banks import affine, affine_cell, bank_of, battery, steady

from bankSim.measured.gauge_courses import course_of_log, course_of_run
from bankSim.measured.log import Log, LogError
from bankSim.model.cell import RelaxationPair
from bankSim.model.charge_lag import ChargeLag
from bankSim.model.chemistry import CHEMISTRIES

pytest.importorskip("pandas")  # timelines are frames
HOURS = [0.0, 3600.0, 7200.0]


def course(one, times_s=HOURS, *, bus_V=13.0, delivered_Ah=0.0, charged_Ah=0.0, **rows):
    """The course of one battery whose rows are given."""
    totals = {"delivered_Ah": delivered_Ah, "charged_Ah": charged_Ah}
    bank = bank_of(one, load=steady(0.0), duration_s=times_s[-1])
    return course_of_run(made(bank, times_s, Rows(**rows), outcomes=[totals], bus_V=bus_V), 0)


@pytest.mark.parametrize(
    ("amps", "delivered_Ah", "charged_Ah", "counted"),
    [
        # lines between rows: 10 and 15 Ah; 1 Ah of jumps between them is put where it flowed
        ([10.0, 10.0, 20.0], 27.0, 1.0, [0.0, 10.0 + 10.0 / 25.0, 26.0]),
        ([10.0, 10.0, 20.0], 25.0, 0.0, [0.0, 10.0, 25.0]),
        # out and in: 0 and -10 Ah net, 10 and 20 Ah flown
        ([10.0, -10.0, -10.0], 5.0, 17.0, [0.0, -1.0, -12.0]),
        ([0.0, 0.0, 0.0], 0.0, 0.0, [0.0, 0.0, 0.0]),
    ],
)
def test_charge_at_the_terminals_ends_where_the_run_counts(amps, delivered_Ah, charged_Ah, counted):
    found = course(affine(), A=amps, delivered_Ah=delivered_Ah, charged_Ah=charged_Ah)
    assert found.counted_Ah == approx(counted)


@pytest.mark.parametrize(
    ("sizes_Ah", "starts", "z", "capacity_Ah", "percent"),
    [
        # the mean holds 5 Ah more than the weaker cell, which ends it
        ((100.0, 100.0), (0.9, 0.8), [0.85, 0.65, 0.45], 100.0, [80.0, 60.0, 40.0]),
        # 85.5 and 81 Ah: 4.5 Ah of the mean stay in the larger cell
        ((100.0, 90.0), (0.9, 0.9), [0.9, 0.5, 0.1], 90.0, [90.0, 43.0 / 0.9, 5.0 / 0.9]),
    ],
)
def test_what_is_left_is_what_the_weakest_cell_lets_out(sizes_Ah, starts, z, capacity_Ah, percent):
    cells = [affine_cell(Ah=Ah, z=start) for Ah, start in zip(sizes_Ah, starts, strict=True)]
    found = course(battery("a", *cells), z=z)
    assert found.capacity_Ah == approx(capacity_Ah)
    assert found.true_percent == approx(percent)
    what = f"100 % is {capacity_Ah:.3g}{'.0' if capacity_Ah < 100 else ''} Ah"
    assert found.basis[0] == (
        f"{what}, what the battery holds in this prediction; the voltage is that of the bus."
    )


def test_of_lead_acid_full_is_what_twenty_hours_give():
    # 108.16 Ah in both wells for a label of 100: half of it is 54.08 - 8.16 = 45.92 Ah
    kind = CHEMISTRIES["AGM"]
    assert kind.capacity_per_rated == approx(1.0816, abs=1e-4)
    cell = kind.typical_cell(100.0, 360e3 * kind.capacity_per_rated)
    found = course(battery("a", cell, chemistry="AGM"), z=[1.0, 0.75, 0.5])
    assert found.capacity_Ah == approx(100.0)
    assert found.true_percent[[0, 2]] == approx([100.0, 45.92], abs=0.01)
    assert found.basis[:2] == (
        "100 % is 100 Ah, what it gives from full in 20 h at 25 degrees C; the voltage is that of "
        "the bus.",
        "Its cells hold 108 Ah in both wells, and the state of charge that a prediction tells is "
        "of that: 50 % at the end is 46 % here.",
    )


def test_what_a_counter_misses_is_told():
    # 50 Ah left the cells, 20 given and 5 taken
    found = course(affine(z=0.9), A=[20.0, 5.0, 0.0], z=[0.9, 0.6, 0.4], delivered_Ah=20.0,
                   charged_Ah=5.0)  # fmt: skip
    assert found.inside_Ah == approx(35.0)
    assert found.basis[1:] == (
        "Given is net at its terminals, as a counter there counts: by the end 20.0 Ah given less "
        "5.00 Ah taken.",
        "Another 35.0 Ah went inside it, by self-discharge and what charging loses. A counter does "
        "not see that: it would show 75 % at the end.",
    )


def test_a_dark_bus_shows_nothing():
    # 1 V is none
    times = [0.0, 600.0, 1200.0, 1800.0]
    found = course(affine(), times, bus_V=[13.0, 1.0, 1.1, 12.0], z=[0.9, 0.8, 0.7, 0.6])
    assert found.time_s.tolist() == [0.0, 1200.0, 1800.0]
    assert found.true_percent == approx([90.0, 70.0, 60.0])
    assert found.basis[-1] == "The time in which the bus is dark is left out."
    assert len(found.counted_Ah) == len(found.current_A) == len(found.charge_V) == 3
    whole = course(affine(), times, z=0.9)
    assert "dark" not in whole.basis[-1]
    with pytest.raises(LogError, match='"a": the bus is dark all the time; nothing to check'):
        course(affine(), times, bus_V=[13.0, 1.0, 1.0, 0.0])
    assert course(affine(), times, bus_V=[13.0, 13.0, 0.0, 0.0]).time_s.size == 2


def test_resistance_is_that_of_cells_straps_and_lead():
    # two cells of 5 mohm and pairs of 20 mohm, 1 mohm inside, 2 mohm of lead
    pair = RelaxationPair(0.02, 60.0)
    cells = [affine_cell(relaxation=(pair,)) for _ in range(2)]
    found = course(battery("a", *cells, internal=0.001, lead=0.002))
    assert found.ohm == approx(2 * 0.025 + 0.003)


def test_what_only_a_charge_meets_adds_up_over_cells():
    # 10 A in, of which 0.9 is stored, on 30 mohm in each of two cells; nothing of a discharge
    pair = RelaxationPair(0.02, 60.0)
    lag = {"relaxation": (pair,), "charge_lag": ChargeLag(0.03), "coulombic_efficiency": 0.9}
    found = course(battery("a", *[affine_cell(z=0.3, **lag) for _ in range(2)]),
                   A=[-10.0, 10.0, 0.0], z=0.3)  # fmt: skip
    assert found.charge_V == approx([2 * 9.0 * 0.03, 0.0, 0.0])
    assert course(affine(), A=-10.0).charge_V.tolist() == [0.0, 0.0, 0.0]


def log_giving(hours, amps=10.0):
    """A steady discharge."""
    return Log("a.csv", np.array([0.0, 3600.0 * hours]), np.full(2, 12.0), np.full(2, amps))


@pytest.mark.parametrize(
    ("hours", "amps", "start", "told"),
    [
        (10.0, 10.0, 100.0, None),
        (10.09, 10.0, 100.0, None),  # -0.9 %
        (10.11, 10.0, 100.0, "-1.10 to 100 %"),
        (1.0, -1.9, 99.0, None),  # 100.9 %
        (1.0, -2.1, 99.0, "99.0 to 101 %"),
    ],
)
def test_a_count_beyond_full_or_empty_is_told(hours, amps, start, told):
    found = course_of_log(log_giving(hours, amps), 100.0, start, None)
    assert found.basis[1] == "100 % is 100 Ah, as given."
    assert found.basis[0].endswith(f"{start:.3g}{'.0' if start < 100 else ''} % (--start-percent).")
    odd = [line for line in found.basis if "which cannot be" in line]
    assert [f"WARNING: by counting it held {told}, which" in line for line in odd] == (
        [] if told is None else [True]
    )


def test_a_count_far_below_empty_is_refused():
    # 2.9 and 3.1 times what counts as 100 %
    assert course_of_log(log_giving(29.0), 100.0, 100.0, None).true_percent[-1] == approx(-190.0)
    with pytest.raises(LogError, match="gives 310 Ah, more than 100 % = 100 Ah can hold"):
        course_of_log(log_giving(31.0), 100.0, 100.0, None)


def test_without_a_label_the_log_ends_empty():
    # 50 Ah from 80 %: 62.5 Ah
    found = course_of_log(log_giving(5.0), None, 80.0, None)
    assert found.capacity_Ah == approx(62.5)
    assert found.true_percent == approx([80.0, 0.0])
    assert "so that 100 % is 62.5 Ah" in found.basis[1]

"""Did a discharge begin at full? Both sides of every limit, on logs of a few samples."""

import math
from dataclasses import replace

import numpy as np
import pytest
from pytest import approx

from bankSim.measured.around import Before
from bankSim.measured.count import Counted, Instrument
from bankSim.measured.discharge import Discharge, Ending
from bankSim.measured.fullness import Said, Start, cells_of, starts_of, why_not_full
from bankSim.measured.knee import Drive, loaded_voltage
from bankSim.measured.log import Log
from bankSim.measured.uncertainty import Budget
from bankSim.model.chemistry import AGM
from bankSim.model.lfp import LFP

TENTH_H = 360.0
NO_CHARGE = Before(0.0, None, 0.0, None, None)
NOBODY = Said(None, None, None, Instrument())


def log_of(current, voltage=12.0, step_s=TENTH_H, **more):
    """A log of these samples."""
    current = np.asarray(current, float)
    volts = np.broadcast_to(np.asarray(voltage, float), current.shape).copy()
    return Log("x", step_s * np.arange(current.size), volts, current, **more)


def part(first, last, ending=Ending.BY_HAND):
    return Discharge(first, last, 1.0, ending, math.nan, ())


def gave(charge_Ah):
    return Counted(Budget(charge_Ah, "Ah", ()), Budget(12.0 * charge_Ah, "Wh", ()), 5.0,
                   charge_Ah / 5.0, 12.0, 13.0, 11.0, 0.0, 0.0, charge_Ah)  # fmt: skip


# 20 A for 0.2 h and two half intervals: 6 Ah; 10 A put back for 0.1 h and two halves: 2 Ah
TWO = [0, 20, 20, 20, 0, -10, -10, 0, 20, 20, 0]


def test_what_was_drawn_before_and_not_put_back():
    first, second = starts_of(log_of(TWO), [part(1, 3), part(8, 9)])
    assert first == Start()
    assert (second.missing_Ah, second.rested, second.unseen_s) == (approx(4.0), False, 0.0)
    assert second.follows


def test_a_log_that_begins_with_a_charge_shows_nothing_missing():
    # 3 Ah put in, 1 Ah drawn as a charger lets go, more put in: nothing drawn since its lowest
    (only,) = starts_of(log_of([-10, -10, -10, -10, -10, 0, 20, 20]), [part(6, 7)])
    assert (only.missing_Ah, only.follows) == (0.0, False)
    (drawn,) = starts_of(log_of([-10, -10, 0, 0.9, 0.9, 0, 20, 20]), [part(6, 7)])
    assert drawn.missing_Ah == approx(0.18)  # 0.9 A, not above 1 A, for 0.2 h


@pytest.mark.parametrize(("charge_A", "rested"), [(0.0, True), (1.9, True), (2.1, False)])
def test_only_rest_lies_between_where_no_hundredth_was_put_back(charge_A, rested):
    # 20 A for 1 h; 1 % are 0.2 Ah, a triangle of 0.2 h base and 2 A
    log = log_of([0, *[20] * 11, 0, -charge_A, 0, 20, 20])
    (_, second) = starts_of(log, [part(1, 11), part(15, 16)])
    assert second.rested == rested
    assert second.missing_Ah == approx(22.0 - 0.1 * charge_A)


@pytest.mark.parametrize(
    ("ending", "charge_A", "unseen_s"),
    [(Ending.BY_HAND, 0.0, 1800.0), (Ending.BY_HAND, 1.9, 1800.0), (Ending.BY_HAND, 2.1, 0.0),
     (Ending.CUT_OUT, 0.0, 0.0)],
)  # fmt: skip
def test_a_charge_that_the_log_does_not_show(ending, charge_A, unseen_s):
    # at rest it stands at 14 V, above 1.01 x 13 V before the load
    log = log_of(
        [0, *[20] * 11, 0, -charge_A, 0, 0, 20, 20], [13] + [12] * 11 + [14] * 4 + [12] * 2
    )
    (_, second) = starts_of(log, [part(1, 11, ending), part(16, 17)])
    assert (second.rested, second.unseen_s, second.missing_Ah) == (False, unseen_s, 0.0)


def test_what_was_drawn_counts_from_the_last_unseen_charge():
    # 14 V behind the first discharge, nothing behind the second: 2 Ah and two halves since then
    current = [0, 20, 20, 20, 0, 0, 20, 20, 0, 0, 20, 20]
    volts = [13, 12, 12, 12, 14, 14, 12, 12, 12.5, 12.5, 12, 12]
    starts = starts_of(log_of(current, volts), [part(1, 3), part(6, 7), part(10, 11)])
    assert [one.missing_Ah for one in starts] == approx([0.0, 0.0, 3.0])
    assert [one.rested for one in starts] == [False, False, True]


ODD = log_of([0, 20, 20, 20], 20.0)  # 20 V under load: no battery that is known by its voltage


def why(log=ODD, one=None, start=None, seen=NO_CHARGE, charge_Ah=100.0, said=NOBODY):
    one = one or part(1, log.count - 1)
    return why_not_full(log, one, start or Start(), seen, gave(charge_Ah), said)


@pytest.mark.parametrize(("missing_Ah", "told"), [(4.9, False), (5.1, True)])
def test_a_twentieth_missing_is_no_full_start(missing_Ah, told):
    text = why(start=Start(missing_Ah))
    assert text.startswith(f"the log shows {missing_Ah:.2f} Ah drawn before it") is told
    assert bool(text) is told
    assert why(start=Start(0.1), charge_Ah=0.0)  # a test that gave nothing


def test_a_discharge_that_was_broken_off_before():
    assert "goes on 30 min after a discharge that was broken off" in why(
        start=Start(0, False, 1800)
    )
    assert why(start=Start(0.0, False, 0.5))


CUT_SHORT = Before(0.0, None, 50.0, 20.0, 13.9, usual_A=20.0)


@pytest.mark.parametrize(
    ("seen", "charge_Ah", "follows", "told"),
    [
        (CUT_SHORT, 100.0, False, True),
        (CUT_SHORT, 100.0, True, False),  # the log shows what was drawn and put back
        (CUT_SHORT, 400.0, False, False),  # 20 A are a twentieth
        (replace(CUT_SHORT, usual_A=None), 100.0, False, False),  # nothing to hold it against
        (replace(CUT_SHORT, tail_A=10.0), 100.0, False, False),  # tapered
    ],
)
def test_a_charge_that_was_stopped_at_its_full_current(seen, charge_Ah, follows, told):
    text = why(seen=seen, charge_Ah=charge_Ah, start=Start(follows=follows))
    assert ("stopped at its full current (20.0 A at 13.90 V)" in text) is told
    assert bool(text) is told


@pytest.mark.parametrize(("tail_V", "told"), [(13.9, True), (14.0, False)])
def test_a_charge_of_lfp_that_reached_its_steep_end_is_full(tail_V, told):
    # 3.5 V in each of 4 cells; of a battery at 13.2 V under load and 13.4 V at rest
    log = log_of([0, 20, 20, 20], [13.4, 13.2, 13.2, 13.2])
    for said in (NOBODY, replace(NOBODY, chemistry="LFP")):
        text = why(log, seen=replace(CUT_SHORT, tail_V=tail_V), said=said)
        assert ("stopped" in text) is told
    lead = why(
        log_of([0, 20, 20, 20], [13.4, 12.4, 12.4, 12.4]),
        seen=replace(CUT_SHORT, tail_V=tail_V),
        said=replace(NOBODY, chemistry="AGM"),
    )
    assert "stopped" in lead


@pytest.mark.parametrize(
    ("middle_V", "guessed"),
    [
        (12.72, False), (12.80, True), (13.40, True), (13.48, False),  # 4 x 3.19 to 3.36 V
        (25.44, False), (25.60, True), (26.80, True), (26.96, False),  # 8
    ],
)  # fmt: skip
def test_lfp_is_known_by_its_middle_voltage_under_load(middle_V, guessed):
    # half a volt of rest before: what is known as LFP cannot be full
    text = why(log_of([0, 20, 20, 20], [0.5, middle_V, middle_V, middle_V]))
    assert ("LFP battery" in text and "(taken from its voltage)" in text) is guessed


@pytest.mark.parametrize(("cell_V", "guessed"), [(3.14, False), (3.16, True), (3.37, False)])
def test_lfp_is_known_by_the_middle_of_its_cells(cell_V, guessed):
    # 5 cells at 12.5 to 16.8 V in all; one reading is missing
    cells = np.full((4, 5), cell_V)
    cells[0], cells[1, 2] = 3.3, math.nan
    log = log_of([0, 20, 20, 20], [0.5, *[5 * cell_V] * 3], cells_V=cells)
    assert ("full LFP battery of 5 cells (taken" in why(log)) is guessed
    blind = log_of([0, 20, 20, 20], [0.5, *[13.2] * 3], cells_V=np.full((4, 4), math.nan))
    assert why(blind) == ""


def cells(middle_V, chemistry, **more):
    log = log_of([0, 20, 20, 20], [99.0, 0.9 * middle_V, middle_V, 1.1 * middle_V], **more)
    return cells_of(log, part(1, 3), chemistry)


def test_as_many_cells_as_the_voltage_asks_for():
    nearly_V = float(LFP.ocv_V()(np.asarray(0.9)))  # no full cell stands lower
    assert [cells(k * nearly_V, LFP) for k in (3.01, 4.01, 4.03, 0.5, 0.0)] == [3, 4, 5, 1, 1]
    assert [cells(volts, AGM) for volts in (12.2, 24.5, 6.1, 0.0)] == [6, 12, 3, 1]
    assert cells(13.2, LFP, cells_V=np.full((4, 16), 3.3)) == 16


METER = Instrument(voltage_percent=1.0, voltage_offset_V=0.1)


@pytest.mark.parametrize(
    ("chemistry", "count", "middle_V", "curve_V"),
    [(LFP, 4, 13.0, 0.015), (AGM, 6, 12.2, 0.15 / 2.0 / 6.0)],
)
@pytest.mark.parametrize(
    ("instrument", "percent", "offset_V"), [(METER, 1.0, 0.1), (Instrument(), 0.5, 0.02)]
)
def test_a_full_battery_at_rest_stands_above_its_curve_less_the_errors(
    chemistry, count, middle_V, curve_V, instrument, percent, offset_V
):
    # nearly full: 90 %. Errors of curve and meter are independent, so by squares
    usual_V = count * float(chemistry.ocv_V()(np.asarray(0.9)))
    least_V = usual_V - math.hypot(count * curve_V, percent / 100.0 * usual_V + offset_V)
    said = Said(chemistry.word, 100.0, 25.0, instrument)
    for volts, told in ((least_V + 1e-3, False), (least_V - 1e-3, True)):
        text = why(log_of([0, 20, 20, 20], [volts, *[middle_V] * 3]), said=said)
        assert bool(text) is told
        if told:
            assert f"it starts at {volts:.2f} V at rest" in text
            assert f"{chemistry.word} battery of {count} cells stands above {least_V:.2f} V" in text


def under_load(per_h, temperature_C):
    """Voltage of 4 cells, 90 % full, under a current, and what it drops there."""
    now = [
        float(loaded_voltage(LFP, np.asarray(0.9),
                             Drive(*(np.asarray(x) for x in (one, 1.0, temperature_C, 0.0)))))
        for one in (per_h, 0.0)
    ]  # fmt: skip
    return 4.0 * now[0], 4.0 * (now[1] - now[0])


@pytest.mark.parametrize(
    ("rated_Ah", "temperature_C", "per_h", "at_C"),
    [(50.0, 5.0, 0.4, 5.0), (None, None, 0.2, 25.0)],  # of what it gave, 100 Ah; at 25 degC
)
def test_without_rest_the_first_load_is_held_against_a_full_battery(
    rated_Ah, temperature_C, per_h, at_C
):
    usual_V, drop_V = under_load(per_h, at_C)
    least_V = usual_V - math.hypot(0.06, 0.01 * usual_V + 0.1, drop_V)
    said = Said("LFP", rated_Ah, temperature_C, METER)
    for volts, told in ((least_V + 1e-3, False), (least_V - 1e-3, True)):
        text = why(log_of([20, 20, 20, 20], [volts, volts, 13.0, 13.0]), part(0, 3), said=said)
        assert bool(text) is told
        if told:
            assert f"it starts at {volts:.2f} V under 20.0 A" in text


def test_the_first_fiftieth_is_looked_at():
    # 2 Ah of 100 at 20 A are 360 s: samples 0 to 7 of 50 s, half of them at 11 V; those of a
    # pause do not count
    volts = [11.0] * 4 + [10.0] * 4 + [13.2] * 40
    text = why(log_of([20] * 48, volts, 50.0), part(0, 47))
    assert "it starts at 10.50 V under 20.0 A" in text
    current = [20] * 4 + [0] * 5 + [20] * 44
    text = why(log_of(current, [11.0] * 4 + [9.0] * 5 + [10.0] * 4 + [13.2] * 40, 50.0),
               part(0, 52))  # fmt: skip
    assert "it starts at 10.50 V under 20.0 A" in text  # samples 0 to 3 and 9 to 12: 1.94 Ah
    one = why(log_of([20, 30, 30], [11.0, 13.0, 13.0], 3600.0), part(0, 2))
    assert "it starts at 11.00 V under 20.0 A" in one


@pytest.mark.parametrize(
    ("before", "step_s", "rest"),
    [([0], 70.0, True), ([0], 50.0, False), ([0, 0], 50.0, True), ([-20, 0], 50.0, False),
     ([20, 0], 50.0, False), ([-20, 0], 70.0, True), ([-20], 70.0, False), ([-1], 70.0, True)],
)  # fmt: skip
def test_a_minute_of_rest_says_more_than_the_load(before, step_s, rest):
    log = log_of([*before, 20, 20, 20], [9.0] * (len(before) - 1) + [8.0, 11.0, 13.2, 13.2], step_s)
    first = len(before)
    text = why(log, part(first, first + 2), charge_Ah=10.0)
    assert ("it starts at 8.00 V at rest" in text) is rest
    assert ("V under 20.0 A" in text) is not rest


def test_a_test_that_gave_nothing_is_not_judged_by_its_voltage():
    log = log_of([0, 20, 20, 20], [0.5, *[13.2] * 3])
    assert why(log, charge_Ah=0.0) == ""
    assert why(log, charge_Ah=0.5)

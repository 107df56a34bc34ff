"""Cells that block the charge of their battery early: who, by how much, and the cure."""

import pytest
from made_results import Course, event, made
from pytest import approx
from simple_banks import affine_cell, bank_of, battery

from bankSim.sim.cautions.uneven import of_uneven
from bankSim.sim.result import RELEASE, TRIP

AHEAD, BEHIND, RESISTS = "cell runs ahead", "cell lags behind", "cell of high resistance"


def trip(volts, name="a", **given):
    told = {"watches": "highest cell voltage", "blocks": "charge", "what": TRIP, "time_s": 90.0}
    told |= {"cell_voltages_V": volts, "currents_A": (-20.0,)} | given
    return event(told.pop("time_s"), told.pop("what"), name, **told)


def found(*events, ohms=(0.001,) * 4, z=0.5):
    one = battery("a", *(affine_cell(ohm) for ohm in ohms))
    # of both rows at 90 s the one just before counts
    course = Course(A=[5.0, -20.0, 5.0, 5.0], z=[0.9, z, 0.1, 0.1])
    result = made(bank_of(one), [0.0, 90.0, 90.0, 200.0], course, events=events)
    return list(of_uneven(result))


# 3.5 V, the mean of the others 3.471 V or 3.469 V: more than 30 mV (AHEAD_V)
@pytest.mark.parametrize(("others", "told"), [(3.471, False), (3.469, True)])
def test_how_far_ahead_is_worth_a_word(others, told):
    assert len(found(trip((3.5, others, others, others)))) == told


@pytest.mark.parametrize(
    "other",
    [
        trip((3.5, 3.3, 3.3, 3.3), watches="battery voltage"),
        trip((3.5, 3.3, 3.3, 3.3), what=RELEASE),
        trip((3.5, 3.3, 3.3, 3.3), blocks="discharge"),
        trip((3.5,)),
        trip(None),
        trip((3.5, 3.3, 3.3, 3.3), name=None),
    ],
)
def test_what_else_happens_tells_nothing(other):
    assert found(other) == []
    assert [one.topic for one in found(other, trip((3.5, 3.3, 3.3, 3.3)))] == [AHEAD]


# within 30 mV of the highest is high: where those are more than the others, the others lag
@pytest.mark.parametrize(
    ("volts", "topic", "start"),
    [
        ((3.3, 3.5, 3.3, 3.3), AHEAD, 'Cell 2 of "a" runs ahead (3.500 V, the others 3.300 V)'),
        (
            (3.48, 3.5, 3.3, 3.32), AHEAD,
            'Cells 1 and 2 of "a" run ahead (3.490 V, the others 3.310 V)',
        ),
        ((3.5, 3.49, 3.48, 3.2), BEHIND, 'Cell 4 of "a" lags behind (3.200 V, the others 3.490 V)'),
    ],
)  # fmt: skip
def test_who_runs_ahead_or_lags(volts, topic, start):
    (one,) = found(trip(volts))
    highest = max(volts)
    others = (sum(volts) - highest) / 3.0
    assert (one.topic, one.severity, one.limit, one.unit) == (topic, "warning", 0.03, "V")
    assert one.value == approx(highest - others)
    assert one.text == f"{start}: charge is blocked early, after 1.50 min, before all are full."


def test_two_that_lag_of_five():
    (one,) = found(trip((3.5, 3.2, 3.5, 3.3, 3.5)), ohms=(0.001,) * 5)
    assert one.text.startswith('Cells 2 and 4 of "a" lag behind (3.250 V, the others 3.500 V)')
    assert one.advice.startswith("Charge those cells by themselves to where the others are")


def test_what_evens_them_out():
    (one,) = found(trip((3.3, 3.5, 3.3, 3.3)))
    assert one.advice.startswith('Balance the cells of "a" first')
    (one,) = found(trip((3.5, 3.5, 3.5, 3.2)))
    assert one.advice.startswith("Charge that cell by itself to where the others are")


def test_two_cells_are_enough():
    (one,) = found(trip((3.3, 3.5)), ohms=(0.001,) * 2)
    assert (one.topic, one.value) == (AHEAD, approx(0.2))


@pytest.mark.parametrize("sizes", [(0.1, 0.2), (0.2, 0.1)])
def test_the_worst_time_is_told(sizes):
    (one,) = found(*(trip((3.5, 3.5 - by, 3.5 - by, 3.5 - by)) for by in sizes))
    assert one.value == approx(0.2)


# of 0.1 V ahead half is gone without 20 A over 2.5 mohm more than the 1 mohm of the others
@pytest.mark.parametrize(("milliohm", "topic"), [(3.4, AHEAD), (3.6, RESISTS)])
def test_a_lead_that_is_mostly_the_current_s(milliohm, topic):
    ohms = (0.001, milliohm * 1e-3, 0.001, 0.001)
    (one,) = found(trip((3.4, 3.5, 3.4, 3.4)), ohms=ohms)
    assert one.topic == topic


def test_how_a_cell_of_high_resistance_is_told():
    # 20 A over 6 mohm are 0.12 V, over 1 mohm 0.02 V: without them 3.38 V each
    (one,) = found(trip((3.4, 3.5, 3.4, 3.4)), ohms=(0.001, 0.006, 0.001, 0.001), z=0.876)
    assert (one.severity, one.value, one.limit) == ("warning", approx(0.1), 0.03)
    assert one.text == (
        'Cell 2 of "a" reads 3.500 V, the others 3.400 V, while 20.0 A flow in: it is its higher '
        "resistance, without current all would read about 3.38 V. Charge is blocked early, after "
        '1.50 min, with "a" at 88 %.'
    )
    assert one.advice.startswith('Charge "a" with less current; a cell that resists')


def test_two_cells_of_high_resistance():
    # 3.5 - 0.12, 3.49 - 0.12, 3.4 - 0.02, 3.35 - 0.02 V: the highest 3.38 V, the mean of the others
    # 3.36 V
    (one,) = found(trip((3.5, 3.49, 3.4, 3.35)), ohms=(0.006, 0.006, 0.001, 0.001))
    assert one.topic == RESISTS
    assert 'Cells 1 and 2 of "a" read 3.495 V, the others 3.375 V, while 20.0 A' in one.text
    assert "it is their higher resistance, without current only 0.020 V of that difference" in (
        one.text
    )


def test_of_which_none_would_stay():
    # 3.5 - 0.18 = 3.32 V, below the others' 3.38 V
    (one,) = found(trip((3.5, 3.4, 3.4, 3.4)), ohms=(0.009, 0.001, 0.001, 0.001))
    assert "without current only 0.000 V of that difference would stay" in one.text

"""Lone rows of a current that the voltage ignores: each threshold on both sides, by hand."""

import numpy as np
import pytest
from pytest import approx

from bankSim.measured.current_spikes import find_spikes, spikes_finding
from bankSim.measured.log import WARNING

COUNT = 400
ROWS = np.arange(COUNT) + 2


def spikes_of(amps, *, ohm=0.05, digit_V=0.001, answer=0.0, at=50, base_A=10.0, step=True):
    """10 A and 50 mohm, a step to rest at the end; at one row the current alone is `amps`.

    The voltage toggles by `digit_V`, but near row 50 and near the step; `answer` is the part of the
    drop at the spike that it shows.
    """
    current = np.full(COUNT, base_A)
    if step:
        current[-50:] = 0.0
    noise = digit_V * (np.arange(COUNT) % 2)
    noise[45:56] = noise[345:356] = 0.0
    volts = 13.0 - ohm * current + noise
    spiked = current.copy()
    for place in np.atleast_1d(at):
        spiked[place] = amps
        volts[place] -= answer * ohm * (amps - current[place])
    return find_spikes(10.0 * np.arange(COUNT), volts, spiked)


@pytest.mark.parametrize("way", [1.0, -1.0])
@pytest.mark.parametrize(
    ("amps", "found"),
    [(21.0, True), (19.0, False), (-12.0, True), (-9.0, False), (0.0, False), (5000.0, True)],
)
def test_a_spike_stands_at_twice_its_neighbours(way, amps, found):
    spikes = spikes_of(way * amps, base_A=way * 10.0)
    assert spikes.at.tolist() == ([50] if found else [])
    assert spikes.calm_A[50] == approx(way * (10.0 if found else amps))


def test_charge_that_hangs_on_it():
    # 90 A above the line between its neighbours, over two steps of 10 s, by halves: a triangle
    spikes = spikes_of(100.0)
    assert spikes.each_Ah == approx([90.0 * 20.0 / 7200.0])
    assert spikes.charge_Ah(50, 50) == spikes.charge_Ah(0, 399) == approx(0.25)
    assert spikes.charge_Ah(0, 49) == spikes.charge_Ah(51, 399) == 0.0


@pytest.mark.parametrize(
    ("answer", "found"), [(0.0, True), (0.2, True), (0.3, False), (1.0, False)]
)
def test_the_voltage_answers_a_load_as_it_answers_its_steps(answer, found):
    # less than a quarter of what the step at the end shows: 50 mohm
    assert bool(spikes_of(100.0, answer=answer).at.size) is found


@pytest.mark.parametrize(("digit_V", "found"), [(0.24, True), (0.26, False)])
def test_a_coarse_voltage_cannot_answer(digit_V, found):
    # 15 A more on 50 mohm: 0.75 V, against three times the usual change
    assert bool(spikes_of(25.0, digit_V=digit_V).at.size) is found


@pytest.mark.parametrize(("digit_V", "found"), [(0.032, True), (0.033, False)])
def test_without_steps_a_two_hundredth_of_the_voltage_is_expected(digit_V, found):
    # 0.005 x 13 V for a usual large current, 10 A: 6.5 mohm; 15 A more: 0.0975 V
    spikes = spikes_of(25.0, ohm=0.0, digit_V=digit_V, step=False)
    assert bool(spikes.at.size) is found


@pytest.mark.parametrize(
    ("places", "found"),
    [([50, 150], True), ([50, 150, 250], False)],
)
def test_many_are_the_habit_of_a_load(places, found):
    # a two hundredth of 400 rows
    assert bool(spikes_of(100.0, at=places).at.size) is found


def test_one_spike_of_a_short_log():
    amps = np.array([10.0, 10, 10, 60, 10, 10, 10, 0])
    volts = 13.0 - 0.05 * np.where(amps > 10.0, 10.0, amps) + 0.001 * (np.arange(8) % 2)
    assert find_spikes(np.arange(8.0), volts, amps).at.tolist() == [3]
    assert find_spikes(np.arange(7.0), volts[1:], amps[1:]).at.size == 0


@pytest.mark.parametrize(("after_A", "found"), [(11.7, True), (12.0, False)])
def test_on_both_sides_the_current_is_alike(after_A, found):
    # within 0.15 of the larger neighbour: 1.755 and 1.8 A
    amps = np.full(COUNT, 10.0)
    amps[50], amps[51:] = 100.0, after_A
    amps[-50:] = 0.0
    calm = np.where(amps > 50.0, 10.0, amps)
    volts = 13.0 - 0.05 * calm + 0.001 * (np.arange(COUNT) % 2)
    assert bool(find_spikes(10.0 * np.arange(COUNT), volts, amps).at.size) is found


def test_a_spike_out_of_rest():
    # of no current: more than 0.3 of the usual large one
    for amps, found in ((3.1, True), (2.9, False)):
        assert bool(spikes_of(amps, at=380).at.size) is found


def test_what_is_told():
    amps = np.full(COUNT, 10.0)
    amps[[50, 150]] = 100.0
    (one,) = spikes_finding(spikes_of(100.0), amps, ROWS)
    assert one.text == (
        "Row 52: the current leaps for one row to 100 A between 10.0 and 10.0 A, and the voltage "
        "does not answer: rather a fault of the meter than a load. Kept; 0.25 Ah hang on it."
    )
    assert (one.rows, one.count, one.severity) == ((52,), 1, WARNING)
    (two,) = spikes_finding(spikes_of(100.0, at=[50, 150]), amps, ROWS)
    assert two.text.startswith(
        "2 rows (52, 152): the current leaps for one row each, the first time to 100 A between "
    )
    assert two.text.endswith("Kept; 0.50 Ah hang on them.")
    assert spikes_finding(spikes_of(10.0), amps, ROWS) == []

"""Rows in which a logger dropped out: each threshold on both sides, by hand."""

import numpy as np
import pytest
from pytest import approx

from bankSim.measured.log import Gap
from bankSim.measured.lost_rows import find_lost

COUNT = 400
NO_CELLS = np.empty((COUNT, 0))


def lost_of(*silent, volts=12.5, amps=10.0, cells=NO_CELLS, change=None):
    """A steady log of 10 s steps with rows that read 0; `change(volts, amps)` may do more."""
    voltage, current = np.full(COUNT, volts), np.full(COUNT, amps)
    for place in silent:
        voltage[place] = current[place] = 0.0
    if change is not None:
        change(voltage, current)
    return find_lost(10.0 * np.arange(COUNT), voltage, current, cells)


def places(lost):
    return np.flatnonzero(~lost.keep).tolist()


@pytest.mark.parametrize("amps", [10.0, -10.0])
def test_a_silent_row_is_bridged(amps):
    # 10 A over the two steps of 10 s
    lost = lost_of(50, amps=amps)
    assert places(lost) == [50]
    assert lost.after == (49,)
    assert lost.charge_Ah == approx(10.0 * 20.0 / 3600.0)


def test_several_stretches():
    # 30 and 20 s; of the rows that are left 49 and 98 come before them
    lost = lost_of(50, 51, 100)
    assert places(lost) == [50, 51, 100]
    assert lost.after == (49, 97)
    assert lost.charge_Ah == approx(10.0 * 50.0 / 3600.0)
    kept = (10.0 * np.arange(COUNT))[lost.keep]
    own = Gap(200, 60.0, 10.0)
    gaps = lost.gaps(kept, (own,))
    assert [(one.before, one.length_s, one.usual_s) for one in gaps] == [
        (49, 30.0, 10.0), (97, 20.0, 10.0), (200, 60.0, 10.0)
    ]  # fmt: skip
    # a gap that was found already is not told twice
    same = Gap(49, 30.0, 11.0)
    assert lost.gaps(kept, (same,))[0] is same


def test_the_line_across_takes_both_neighbours():
    def change(_, amps):
        amps[:50], amps[51:] = 10.0, 9.0

    assert lost_of(50, change=change).charge_Ah == approx(9.5 * 20.0 / 3600.0)


@pytest.mark.parametrize(("length", "found"), [(5, True), (6, False)])
def test_five_rows_at_most(length, found):
    assert places(lost_of(*range(50, 50 + length))) == (
        list(range(50, 50 + length)) if found else []
    )


@pytest.mark.parametrize(("stretches", "found"), [(8, True), (9, False)])
def test_a_fiftieth_of_all_rows_at_most(stretches, found):
    silent = [30 + 40 * n for n in range(stretches)]
    assert places(lost_of(*silent)) == (silent if found else [])


@pytest.mark.parametrize(("other", "found"), [(60, False), (61, True)])
def test_ten_sound_rows_lie_between(other, found):
    # rows 51 to 60 are ten
    assert places(lost_of(50, other)) == ([50, other] if found else [])


@pytest.mark.parametrize(("place", "found"), [(9, False), (10, True), (389, True), (390, False)])
def test_ten_sound_rows_lie_before_and_after(place, found):
    assert places(lost_of(place)) == ([place] if found else [])


@pytest.mark.parametrize("way", [1.0, -1.0])
@pytest.mark.parametrize(
    ("volts", "amps", "found"),
    [(0.24, 0.19, True), (0.26, 0.0, False), (0.0, 0.21, False)],
)
def test_nothing_is_a_fiftieth(way, volts, amps, found):
    # of 12.5 V: 0.25 V; of 10 A: 0.2 A
    def change(voltage, current):
        voltage[50], current[50] = way * volts, way * amps

    assert places(lost_of(change=change)) == ([50] if found else [])


@pytest.mark.parametrize(
    ("volts", "amps", "found"),
    [
        (12.5 * 1.014, 10.0, True), (12.5 * 0.986, 10.0, True), (12.5 * 1.016, 10.0, False),
        (12.5 * 0.984, 10.0, False),
        # 0.15 of the larger: 8.51 of 10, 11.7 of it
        (12.5, 8.51, True), (12.5, 8.49, False), (12.5, 11.7, True), (12.5, 11.8, False),
    ],
)  # fmt: skip
def test_what_goes_on_as_before(volts, amps, found):
    def change(voltage, current):
        voltage[51:], current[51:] = volts, amps

    assert places(lost_of(50, change=change)) == ([50] if found else [])


def test_three_rows_beside_it_tell_the_level():
    # one of the three may be off
    def change(voltage, current):
        voltage[51], current[49] = 13.5, 3.0

    assert places(lost_of(50, change=change)) == [50]


def test_currents_next_to_nothing_are_alike():
    # at rest in a log of 10 A: -0.1 and 0.08 A are both within 0.2 A
    def change(_, current):
        current[40:50], current[51:61] = -0.1, 0.08

    assert places(lost_of(50, change=change)) == [50]


@pytest.mark.parametrize(("cell_V", "found"), [(3.1, False), (0.2, True), (np.nan, True)])
def test_live_cells_show_an_open_switch(cell_V, found):
    cells = np.full((COUNT, 4), 3.1)
    cells[50] = cell_V
    assert places(lost_of(50, cells=cells)) == ([50] if found else [])


def test_a_log_of_zeros_has_lost_nothing():
    assert places(lost_of(volts=0.0, amps=0.0)) == []


def test_what_is_told():
    rows = np.arange(COUNT) + 2
    (one,) = lost_of(50).finding(rows)
    assert one.text == (
        "Row 52: voltage and current both read 0, and go on as before in the next row: taken as a "
        "drop-out of the logger or of a lead, left out, and bridged by a straight line; 0.0556 Ah "
        "hang on it."
    )
    (two,) = lost_of(50, 51, amps=0.0).finding(rows)
    assert two.text.startswith("2 rows (52, 53): voltage and current both read 0, and go on as be")
    assert "in the next rows: taken" in two.text
    assert two.text.endswith("bridged by a straight line.")
    assert lost_of().finding(rows) == []
